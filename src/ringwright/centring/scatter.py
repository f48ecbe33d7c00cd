"""Mean and scatter of values among which some stray: values beyond three deviations are left out, again and again."""

from __future__ import annotations

from typing import Final

import numpy as np

from ringwright.physics.real import Array

__all__ = ["VARIANCE_ERROR", "mean_and_deviation"]

_CUT: Final = 3.0
_INSIDE: Final = 0.973337
"""Variance of a normal distribution cut at three deviations, as a share of the whole one's: 1 - 2 c f(c) / P(c)."""
_MAD: Final = 1.4826  # median of absolute deviations to standard deviation, normal scatter
_ROUNDS: Final = 60

VARIANCE_ERROR: Final = 1.53
"""Relative standard error of the variance found from n normal values, times sqrt n; simulated by us, 1.41 uncut."""


def mean_and_deviation(values: Array) -> tuple[float, float]:
    """Give mean and standard deviation of the values (n,) that do not stray, right for a normal scatter of the rest.

    Starts from the median and the median of deviations; unlike these, the end does not hang on the gauge's steps.
    """
    mean = float(np.median(values))
    deviation = _MAD * float(np.median(np.abs(values - mean)))
    if deviation == 0:  # more than half are alike: nothing tells what strays
        return float(np.mean(values)), float(np.std(values))
    for _ in range(_ROUNDS):
        inside = values[np.abs(values - mean) <= _CUT * deviation]
        last = deviation
        mean, deviation = float(np.mean(inside)), float(np.sqrt(np.var(inside) / _INSIDE))
        if abs(deviation - last) <= 1e-9 * last:
            break
    return mean, deviation
