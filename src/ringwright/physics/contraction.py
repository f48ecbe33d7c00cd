"""Twist contraction: twisting shortens the strand that the front rollers deliver.

C = (length delivered - length of yarn) / length delivered. So the strand at the front rollers is finer than the yarn
by the factor 1 - C, and the turns inserted for each metre delivered are fewer than those in a metre of yarn by the
same factor.
"""

from __future__ import annotations

import numpy as np

from ringwright.physics.constants import CONTRACTION_OFFSET, CONTRACTION_RANGE, CONTRACTION_SLOPE
from ringwright.physics.real import Real
from ringwright.physics.twist import surface_angle, twist_multiplier_in

__all__ = [
    "contraction",
    "contraction_in_range",
    "helix_contraction",
    "machine_twist",
    "untwisted_linear_density",
]


def contraction(twist_multiplier: Real) -> Real:
    """Return the twist contraction [1] of a cotton ring yarn from its twist multiplier [turns/m (kg/m)^0.5].

    C = 0.0267 TM - 0.0493 with the English multiplier TM. Ask ``contraction_in_range`` first: the line is used here
    for TM 3 to 5, and below TM 1.85 it would give less than nothing. Source: teaching sheet "TPI, TPM".
    """
    return float(CONTRACTION_SLOPE) * twist_multiplier_in(twist_multiplier, "English") - float(CONTRACTION_OFFSET)


def contraction_in_range(twist_multiplier: float) -> bool:
    """Say whether the contraction formula is inside the twists it is used for, English multiplier 3 to 5."""
    english = twist_multiplier_in(twist_multiplier, "English")
    slack = 1e-9  # so that a multiplier typed as 3 or 5 is inside after its way through SI
    return CONTRACTION_RANGE["lowest"] - slack <= english <= CONTRACTION_RANGE["highest"] + slack


def helix_contraction(twist: Real, diameter: Real) -> Real:
    """Return the contraction [1] of an ideal helix yarn from twist [turns/m] and yarn diameter [m].

    C = tan^2(angle / 2), angle = surface angle: fibres of equal length share all radii of a yarn of even packing, and
    the yarn keeps its diameter. Source: Hearle, Grosberg and Backer 1969, from memory. A rival to ``contraction``.
    """
    shortening: Real = np.tan(surface_angle(twist, diameter) / 2) ** 2
    return shortening


def untwisted_linear_density(linear_density: Real, contraction: Real) -> Real:
    """Return the linear density [kg/m] of the strand at the front rollers from the yarn's [kg/m] and contraction [1].

    m0 = m (1 - C), as tex2 = tex1 / (1 - C). Source: study cards "Math for Test 3".
    """
    return linear_density * (1 - contraction)


def machine_twist(twist: Real, contraction: Real) -> Real:
    """Return the turns for each metre that the front rollers deliver [turns/m] from the yarn's twist and contraction.

    T0 = T (1 - C), as t2 = t1 / (1 - C). Source: study cards "Math for Test 3".
    """
    return twist * (1 - contraction)
