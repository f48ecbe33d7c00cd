"""How fast centring drifts from round to round, and when the next round is due.

Taken: each axis of each spindle wanders by chance, so that the variance of its change grows evenly with time, by the
rate D. Between two rounds the changes about their side's mean then have the variance

    D x time + (reading error of the first round) + (reading error of the second),

and the share of spindles that stand beyond a tolerance t, offsets on both axes being normal with variance v, is
exp(-t^2 / 2 v): it reaches the allowed share p at v = t^2 / (2 ln 1/p). Derived here. Two rounds cannot tell a chance
wander from a steady one; for a time ahead no longer than that between the rounds both say nearly the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from ringwright.centring.correcting import Gauge, moves_of, tolerance_of
from ringwright.centring.judging import Judged
from ringwright.centring.scatter import VARIANCE_ERROR, mean_and_deviation
from ringwright.physics.real import Array

__all__ = ["Dated", "Drift", "SideDrift", "drift_of", "due_variance"]

FEWEST: Final = 30
"""Spindles that must be read in both rounds."""

_Z: Final = 1.96


@dataclass(frozen=True, slots=True, kw_only=True)
class Dated:
    """A round judged and when it was read (µs UTC)."""

    judged: Judged
    read_us: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SideDrift:
    """By how much a whole side moved between the last two rounds (along, out) [m], with standard errors [m]."""

    side: int
    moved: Array
    error: Array

    @property
    def certain(self) -> bool:
        """Whether it is more than chance (three standard errors on either axis)."""
        return bool(np.any(np.abs(self.moved) > 3 * self.error))


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """The drift of one part: variance per time on each axis [m2/s] with its 95 % interval, and what follows.

    ``spindles`` are the changes behind it, ``span`` [s] the time between first and last round. ``now`` is the variance
    [m2] of what stays once the last round's list is done; ``wait`` [s] from the last round to the next with its ends,
    inf where no end can be given, 0 where it is due at once.
    """

    part: str
    rounds: int
    spindles: int
    span: float
    rate: float
    rate_low: float
    rate_high: float
    now: float
    wait: float
    wait_low: float
    wait_high: float
    sides: tuple[SideDrift, ...]


def due_variance(tolerance: float, share: float) -> float:
    """Return the variance on each axis [m2] at which this share of spindles stands beyond the tolerance [m]."""
    return float(tolerance**2 / (2 * np.log(1 / share)))


def drift_of(rounds: Sequence[Dated], part: str) -> Drift | None:
    """Tell the drift of a part from two or more rounds of one frame, in the order read.

    None where fewer than two rounds read at least 30 of the same spindles at different times. Spindles that the
    earlier round of a pair names are left out of the pair, since they may have been corrected in between.
    """
    held = [one for one in rounds if part in one.judged.left]
    pairs = [pair for early, late in pairwise(held) if (pair := _pair(early, late, part)) is not None]
    if not pairs:
        return None
    span = np.array([pair.span for pair in pairs])
    excess = np.array([pair.variance - pair.error for pair in pairs])
    deviation = np.array([pair.variance * VARIANCE_ERROR / np.sqrt(pair.values) for pair in pairs])
    weight = span / deviation**2
    rate = float((weight * excess).sum() / (weight * span).sum())
    error = float(1 / np.sqrt((span**2 / deviation**2).sum()))
    low, high = max(rate - _Z * error, 0.0), max(rate + _Z * error, 0.0)
    frame = held[-1].judged.frame
    now = _left_over(held[-1].judged, part)
    room = due_variance(tolerance_of(frame, part), frame.centring.share_outside) - now

    def wait(at: float) -> float:
        return 0.0 if room <= 0 else (room / at if at > 0 else float("inf"))

    return Drift(
        part=part, rounds=len(pairs) + 1, spindles=sum(pair.values for pair in pairs) // 2, span=float(span.sum()),
        rate=max(rate, 0.0), rate_low=low, rate_high=high, now=now, wait=wait(max(rate, 0.0)), wait_low=wait(high),
        wait_high=wait(low), sides=pairs[-1].sides,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Pair:
    """What two rounds say of a part: time between [s], variance of the changes and of the readings [m2], numbers."""

    span: float
    variance: float
    error: float
    values: int
    sides: tuple[SideDrift, ...]


def _pair(early: Dated, late: Dated, part: str) -> _Pair | None:
    span = (late.read_us - early.read_us) / 1e6
    first, second = (one.judged.round.offsets[part] for one in (early, late))
    change = second.vectors - first.vectors
    there = np.isfinite(change[:, 0])
    mended = [one.spindle - 1 for one in early.judged.corrections]
    there[mended] = False
    if span <= 0 or there.sum() < FEWEST:
        return None
    sides = early.judged.sides
    side_drifts, rest = [], np.full_like(change, np.nan)
    for side in range(1, sides.sides + 1):
        at = sides.numbers(side) - 1
        mine = at[there[at]]
        if len(mine) < 2:
            continue
        found = [mean_and_deviation(change[mine, axis]) for axis in (0, 1)]
        moved, scatter = (np.array([one[k] for one in found]) for k in (0, 1))
        rest[mine] = change[mine] - moved
        side_drifts.append(SideDrift(side=side, moved=moved, error=scatter / np.sqrt(len(mine))))
    values = rest[np.isfinite(rest)]
    reading = [
        Gauge(deviation=one.judged.round.repeatability, tests=1).deviation_of(of) ** 2
        for one, of in ((early, first), (late, second))
    ]
    error = float(np.mean((reading[0] + reading[1])[there]))
    variance = mean_and_deviation(values)[1] ** 2
    return _Pair(span, variance, error, len(values), tuple(side_drifts))


def _left_over(judged: Judged, part: str) -> float:
    """Give the variance on each axis [m2] of what stays once the list is done, the reading error taken off."""
    one = judged.left[part]
    gauge = Gauge(deviation=judged.round.repeatability, tests=judged.round.readings)
    keep = np.isfinite(one.along)
    keep[[spindle - 1 for spindle in moves_of(judged.left, judged.frame, gauge)]] = False
    if not keep.any():
        return 0.0
    error = float(np.mean(gauge.deviation_of(one)[keep] ** 2))
    return max(0.0, float(np.mean(one.amount[keep] ** 2) / 2) - error)
