"""Where a rate changed: the likelihood ratio of one change, its false-alarm chance, and changes after changes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

__all__ = ["Change", "changes", "one_change", "scatter_of"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A change after the first ``after`` of the counts: twice the log likelihood gained, rates before and after.

    ``earliest`` and ``latest`` bound ``after`` (95 %, by likelihood); ``p`` is the chance of such a gain anywhere in
    counts that do not change.
    """

    after: int
    gain: float
    before_rate: float
    after_rate: float
    earliest: int
    latest: int
    p: float


def scatter_of(counts: npt.ArrayLike, expected: npt.ArrayLike) -> float:
    """Return the dispersion of counts from differences of neighbours in time, so that a change does not widen it."""
    y, mu = np.asarray(counts, np.float64), np.asarray(expected, np.float64)
    steps = np.diff((y - mu) / np.sqrt(mu))
    return max(1.0, float((steps**2).mean() / 2))


def one_change(counts: npt.ArrayLike, expected: npt.ArrayLike, scatter: float = 1.0) -> Change:
    """Find the one change of rate (per unit of ``expected``) that the counts speak for most.

    The gain is divided by the scatter, as counts of shifts vary by more than chance.
    """
    y, e = np.asarray(counts, np.float64), np.asarray(expected, np.float64)
    before, exposure = np.cumsum(y)[:-1], np.cumsum(e)[:-1]
    after, rest = y.sum() - before, e.sum() - exposure
    gains = 2 * (_lump(before, exposure) + _lump(after, rest) - _lump(y.sum(), e.sum())) / scatter
    at = int(np.argmax(gains))
    near = np.flatnonzero(gains >= gains[at] - 3.841)  # chi-square of one degree at 95 %
    return Change(
        after=at + 1, gain=float(gains[at]), before_rate=float(before[at] / exposure[at]),
        after_rate=float(after[at] / rest[at]), earliest=int(near[0]) + 1, latest=int(near[-1]) + 1,
        p=float((1 + (_null(len(y)) >= gains[at]).sum()) / (1 + len(_null(len(y))))),
    )  # fmt: skip


def changes(
    counts: npt.ArrayLike, expected: npt.ArrayLike, scatter: float, level: float, least: int = 6
) -> list[Change]:
    """Find changes, then changes within the parts between them, while each is beyond the level; in order of time."""
    y, e = np.asarray(counts, np.float64), np.asarray(expected, np.float64)
    if len(y) < least:
        return []
    found = one_change(y, e, scatter)
    if found.p > level:
        return []
    at = found.after
    earlier = changes(y[:at], e[:at], scatter, level, least)
    later = [_moved(one, at) for one in changes(y[at:], e[at:], scatter, level, least)]
    return [*earlier, found, *later]


def _moved(one: Change, by: int) -> Change:
    return Change(
        after=one.after + by, gain=one.gain, before_rate=one.before_rate, after_rate=one.after_rate,
        earliest=one.earliest + by, latest=one.latest + by, p=one.p,
    )  # fmt: skip


def _lump(count: npt.ArrayLike, exposure: npt.ArrayLike) -> Array:
    y, e = np.asarray(count, np.float64), np.asarray(exposure, np.float64)
    safe = np.where(y > 0, y, 1.0)
    return np.where(y > 0, y * np.log(safe / e), 0.0)


@cache
def _null(length: int, walks: int = 9999) -> Array:
    """Draw the greatest gain in counts that do not change: the largest of a standardised bridge, seeded."""
    rng = np.random.default_rng(1891)
    greatest = np.empty(walks)
    share = np.arange(1, length) / length
    for start in range(0, walks, 1000):
        walk = np.cumsum(rng.standard_normal((min(1000, walks - start), length)), axis=1) / np.sqrt(length)
        bridge = walk[:, :-1] - share * walk[:, -1:]
        greatest[start : start + len(walk)] = (bridge**2 / (share * (1 - share))).max(axis=1)
    return greatest
