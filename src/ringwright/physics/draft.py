"""Draft: how many times longer the rollers draw the roving.

Two drafts must not be mixed. The rollers' draft is the ratio of surface speeds, and by mass it is roving / untwisted
strand. The draft by counts is roving / yarn; it is smaller by 1 - C because twisting makes the strand shorter and
coarser again after the rollers.
"""

from __future__ import annotations

from ringwright.physics.real import Real

__all__ = ["draft_by_counts", "linear_density_after", "main_draft", "roller_draft", "total_draft"]


def total_draft(roving_linear_density: Real, yarn_linear_density: Real, contraction: float = 0.0) -> Real:
    """Return the draft [1] the rollers must give to spin a yarn [kg/m] from a roving [kg/m] with contraction [1].

    D = m_roving / (m_yarn (1 - C)): mass in = mass out, and m_yarn (1 - C) is the strand that leaves the rollers.
    Range: no fibre lost between the rollers. Source: Lord 2003, Appendix 2, Q8 and Q9.
    """
    return roving_linear_density / (yarn_linear_density * (1 - contraction))


def linear_density_after(roving_linear_density: Real, draft: Real, contraction: float = 0.0) -> Real:
    """Return the yarn's linear density [kg/m] that a roller draft [1] gives; the inverse of ``total_draft``."""
    return roving_linear_density / (draft * (1 - contraction))


def draft_by_counts(roving_linear_density: Real, yarn_linear_density: Real) -> Real:
    """Return the draft [1] as roving over finished yarn, both [kg/m]; the trade's draft when contraction is ignored."""
    return roving_linear_density / yarn_linear_density


def main_draft(total_draft: Real, break_draft: Real) -> Real:
    """Return the main draft [1], middle to front roller, from the total and the break draft [1]: D = D_break D_main."""
    return total_draft / break_draft


def roller_draft(speed_ratio: Real, delivering_diameter: Real, feeding_diameter: Real) -> Real:
    """Return the draft [1] between two rollers from their speed ratio [1] and their diameters [m].

    D = (n2 d2) / (n1 d1), with roller 2 the delivering one. No slip. Source: Lord 2003, Appendix 2, Q7 and Q8.
    """
    return speed_ratio * delivering_diameter / feeding_diameter
