"""Which offsets are beyond their tolerance for certain: a test that knows the gauge."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Final

import numpy as np
from scipy import stats

from ringwright.physics.real import Array

__all__ = ["AT_TOLERANCE", "WHOLE_ROUND", "beyond", "threshold"]

AT_TOLERANCE: Final = 0.025
"""Chance that a part is named which stands just at its tolerance."""
WHOLE_ROUND: Final = 0.05
"""Chance that a round of which every part is centred names any at all."""


def threshold(tolerance: float, deviation: float, tests: int) -> float:
    """Give the amount [m] from which a read vector is named.

    A part that truly stands at the tolerance [m] is named with a chance of at most 2.5 %, and a round of ``tests``
    parts that are all centred names any with at most 5 %; both hold for errors of the gauge that are normal, alike and
    free on both axes, with the standard deviation [m] given. The amount over the deviation is then a noncentral chi
    with two degrees of freedom.
    """
    return _threshold(round(tolerance, 12), round(deviation, 12), max(tests, 1))


@cache
def _threshold(tolerance: float, deviation: float, tests: int) -> float:
    ratio = tolerance / deviation
    if ratio > 1000:  # the gauge is exact beside such a tolerance; one axis decides
        return tolerance + float(stats.norm.isf(AT_TOLERANCE)) * deviation
    at_edge = float(np.sqrt(stats.ncx2.isf(AT_TOLERANCE, 2, ratio**2)))
    whole = float(np.sqrt(-2 * np.log1p(-((1 - WHOLE_ROUND) ** (1 / tests)))))
    return deviation * max(at_edge, whole)


def beyond(vectors: Array, deviation: Array, tolerance: float, tests: int) -> Array:
    """Say which vectors (spindles, 2) [m] are named; ``deviation`` (spindles,) [m] of each; a vector not read is not.

    Gives the amount over its threshold (spindles,), 0 where the part was not read.
    """
    amount = np.hypot(vectors[:, 0], vectors[:, 1])
    at: Callable[[float], float] = lambda one: threshold(tolerance, one, tests)  # noqa: E731
    known = {float(one): at(float(one)) for one in np.unique(deviation[np.isfinite(deviation)])}
    limit = np.array([known.get(float(one), np.inf) for one in deviation])
    return np.asarray(np.nan_to_num(amount / limit), dtype=np.float64)
