"""What a whole side has in common: a rail that stands off, and its trend along the frame, against single spindles."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import stats

from ringwright.centring.offsets import Offsets
from ringwright.centring.scatter import mean_and_deviation
from ringwright.centring.side import Sides
from ringwright.physics.real import Array

__all__ = ["FEWEST", "RailOffset", "rail_of"]

FEWEST: Final = 20
"""Spindles that must be read on a side before anything is said of its rail."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RailOffset:
    """What the parts of one side have in common, as a line along it; vectors are (along, out) [m].

    ``middle`` is the offset at the middle of the side with its standard error, ``trend`` how much it changes from the
    first to the last spindle with the ends of its 95 % interval, ``scatter`` the standard deviation of single spindles
    about the line on each axis, ``line`` the common offset at each spindle of the side (spindles of a side, 2).
    """

    part: str
    side: int
    read: int
    middle: Array
    error: Array
    trend: Array
    trend_low: Array
    trend_high: Array
    scatter: Array
    line: Array

    @property
    def leans(self) -> bool:
        """Whether the trend is more than chance on either axis (95 %)."""
        return bool(np.any((self.trend_low > 0) | (self.trend_high < 0)))


def rail_of(offsets: Offsets, side: int, sides: Sides) -> RailOffset | None:
    """Fit the common line of a side; its trend by Theil and Sen's median, which strayed spindles do not draw away.

    The middle is the mean of the spindles that do not stray from the line. None with fewer than 20 spindles read. The
    trend is kept in the line only where it is more than chance.
    """
    numbers = sides.numbers(side)
    vectors = offsets.vectors[numbers - 1]
    there = np.isfinite(vectors[:, 0])
    if there.sum() < FEWEST:
        return None
    across = np.linspace(-0.5, 0.5, len(numbers)) if len(numbers) > 1 else np.zeros(1)
    fits = [stats.theilslopes(vectors[there, axis], across[there], alpha=0.95) for axis in (0, 1)]
    trend = np.array([fit.slope for fit in fits])
    low, high = np.array([fit.low_slope for fit in fits]), np.array([fit.high_slope for fit in fits])
    kept = np.where((low > 0) | (high < 0), trend, 0.0)
    level = vectors[there] - kept * across[there, None]
    found = [mean_and_deviation(level[:, axis]) for axis in (0, 1)]
    middle, scatter = np.array([mean for mean, _ in found]), np.array([deviation for _, deviation in found])
    return RailOffset(
        part=offsets.part, side=side, read=int(there.sum()), middle=middle,
        error=scatter / np.sqrt(there.sum()), trend=trend, trend_low=low, trend_high=high, scatter=scatter,
        line=middle + kept * across[:, None],
    )  # fmt: skip
