"""Fibres in the yarn's section, the least irregularity they allow, and the wavelength of a roller's fault."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from ringwright.physics.constants import CV_FROM_U, LIMIT_IRREGULARITY, MINIMUM_FIBRES
from ringwright.physics.real import Real

__all__ = [
    "cv_from_u",
    "fault_wavelength",
    "fibres_by_mean_fineness",
    "fibres_in_section",
    "finest_linear_density",
    "index_of_irregularity",
    "limit_irregularity",
    "limit_irregularity_of_wool",
]

FibreKind = Literal["synthetic", "cotton", "wool"]
Process = Literal["combed", "carded", "synthetic", "blend"]


def fibres_in_section(linear_density: float, shares: Sequence[float], finenesses: Sequence[float]) -> float:
    """Return the mean number of fibres in the section of a yarn [kg/m] from mass shares [1] and finenesses [kg/m].

    n = m sum(share / fineness), exact: each kind of fibre counts by its own fineness. Shares add to one.
    Source: the harmonic mean of fineness of GATE TF 2020, question 46.
    """
    pairs = zip(shares, finenesses, strict=True)
    return linear_density * sum(share / fineness for share, fineness in pairs) / sum(shares)


def fibres_by_mean_fineness(linear_density: float, shares: Sequence[float], finenesses: Sequence[float]) -> float:
    """Return the number of fibres by the handbook's rule, with the fineness averaged by mass; see the caution.

    n = m / sum(share fineness). Exact for one fibre; for a blend of unlike finenesses it gives too few, never too
    many. Source: Klein 1987, number of fibres in the yarn cross-section.
    """
    pairs = zip(shares, finenesses, strict=True)
    return linear_density * sum(shares) / sum(share * fineness for share, fineness in pairs)


def finest_linear_density(process: Process, mean_fineness: float) -> float:
    """Return the spinning limit [kg/m], the least number of fibres times their mean fineness [kg/m] by number.

    Range: normal conditions of ring spinning; length, friction and crimp are left out. Source: Klein 1987.
    """
    return float(MINIMUM_FIBRES[process]) * mean_fineness


def limit_irregularity(fibres: Real, kind: FibreKind = "cotton") -> Real:
    """Return the least CV of mass [1] of a yarn with so many fibres in its section, laid at random.

    CV = k / root n; k = 1.00 synthetic, 1.06 cotton, 1.12 wool. Source: Das, lecture 32.
    """
    limit: Real = float(LIMIT_IRREGULARITY[kind]) / np.sqrt(fibres)
    return limit


def limit_irregularity_of_wool(fibres: Real, diameter_cv: float) -> Real:
    """Return the least CV of mass [1] of a yarn of fibres whose diameter varies by ``diameter_cv`` [1].

    CV^2 = (1 + 0.0004 V^2) / n with V in %, so 1 + 4 v^2 with v as a share. Source: Das, lecture 32.
    """
    limit: Real = np.sqrt((1 + 4 * diameter_cv**2) / fibres)
    return limit


def index_of_irregularity(cv: Real, limit: Real) -> Real:
    """Return the index of irregularity [1]: the CV of mass found over the least one, both for one sensing length."""
    return cv / limit


def cv_from_u(u: Real) -> Real:
    """Return the CV of mass [1] from the mean deviation U [1]; CV = 1.25 U where the mass is normally spread."""
    return float(CV_FROM_U) * u


def fault_wavelength(roller_diameter: Real, draft_to_front: Real) -> Real:
    """Return the wavelength [m] in the strand of a fault of one roller [m], drafted so many times [1] after it.

    wavelength = pi D x draft from that roller to the front roller. Twist contraction shortens it by 1 - C in the yarn.
    """
    return np.pi * roller_diameter * draft_to_front
