"""Neighbours that break together: close pairs of timed breaks, and joins in a row of broken ends found at a patrol."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import stats
from scipy.special import comb

__all__ = ["ClosePairs", "close_pairs", "join_law", "joins_of", "many_joins", "shared_stamps"]

Ints = npt.NDArray[np.int64]
Array = npt.NDArray[np.float64]

_PERMUTE_ABOVE: Final = 50.0
"""Expected pairs above which the law of the whole side is found by shuffling, as small errors of a Poisson law add."""

_LOOK_CLOSER: Final = 0.01
"""Chance by the Poisson law under which shuffling is worth its time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosePairs:
    """Pairs of breaks within the window on one side of a frame, by boundary (between spindle k and k + 1 of the side).

    ``expected`` is what chance makes of the same breaks and the same times; ``p`` the chance of so many or more pairs
    at each boundary; ``p_all`` that of so many on the whole side.
    """

    pairs: Ints
    expected: Array
    p: Array
    p_all: float

    @property
    def total(self) -> tuple[int, float]:
        """Pairs of the whole side, and those that chance makes."""
        return int(self.pairs.sum()), float(self.expected.sum())


def close_pairs(
    places: npt.ArrayLike, times: npt.ArrayLike, spindles: int, window: int, seed: int = 0, shuffles: int = 199
) -> ClosePairs:
    """Count pairs of breaks of next neighbours no more than a window apart, and hold them against chance.

    ``places`` are 1 to ``spindles`` along one side, ``times`` whole numbers in the unit of ``window``. Given both
    margins, chance makes E = [pairs within the window] [sum y_k y_(k+1)] / [n (n - 1) / 2] pairs (Knox 1964, from
    memory; next neighbours only, and no repeats of a spindle).
    """
    order = np.argsort(np.asarray(times), kind="stable")
    place, time = np.asarray(places, np.int64)[order], np.asarray(times, np.int64)[order]
    first, second = _within(time, window)
    found = _by_boundary(place, first, second, spindles)
    counts = np.bincount(place, minlength=spindles + 1)[1:]
    n = len(place)
    products = counts[:-1] * counts[1:].astype(np.float64)
    expected = len(first) * products / max(n * (n - 1) / 2, 1.0)
    p = np.where(found > 0, stats.poisson.sf(found - 1, expected), 1.0)
    total, mean = int(found.sum()), float(expected.sum())
    p_all = float(stats.poisson.sf(total - 1, mean)) if total else 1.0
    if mean > _PERMUTE_ABOVE and p_all < _LOOK_CLOSER:
        rng = np.random.default_rng(seed)
        shuffled = [_count(rng.permutation(place), first, second) for _ in range(shuffles)]
        # A shuffle cannot tell chances under 1 in 1000; its own mean and spread carry the tail on.
        p_all = float(stats.norm.sf(total - 0.5, np.mean(shuffled), np.std(shuffled, ddof=1)))
    return ClosePairs(pairs=found, expected=expected, p=p, p_all=p_all)


def _within(time: Ints, window: int) -> tuple[Ints, Ints]:
    """List all pairs of sorted times that are no more than a window apart."""
    last = np.searchsorted(time, time + window, side="right")
    many = last - np.arange(len(time)) - 1
    first = np.repeat(np.arange(len(time)), many)
    step = np.arange(len(first)) - np.repeat(np.cumsum(many) - many, many)
    return first, first + step + 1


def _by_boundary(place: Ints, first: Ints, second: Ints, spindles: int) -> Ints:
    low = np.minimum(place[first], place[second])
    next_to = np.abs(place[first] - place[second]) == 1
    return np.bincount(low[next_to], minlength=spindles)[1:spindles]


def _count(place: Ints, first: Ints, second: Ints) -> int:
    return int((np.abs(place[first] - place[second]) == 1).sum())


def shared_stamps(times: npt.ArrayLike) -> float:
    """Return the share of breaks whose time is also that of another: near 0 for timed breaks, high for patrols."""
    stamps = np.sort(np.asarray(times))
    same = stamps[1:] == stamps[:-1]
    shared = np.append(same, False) | np.append(False, same) if len(stamps) else same
    return float(shared.sum() / max(len(stamps), 1))


def joins_of(places: npt.ArrayLike) -> int:
    """Count the joins of a patrol: neighbours both found broken."""
    return int((np.diff(np.unique(np.asarray(places))) == 1).sum())


def join_law(spindles: int, broken: int) -> Array:
    """Return the chances of 0, 1, ... n - 1 joins when n of S in a line are broken at random.

    P(runs = r) = C(n-1, r-1) C(S-n+1, r) / C(S, n), joins = n - r. Exact, counted; checked by enumeration.
    """
    if broken < 2:
        return np.ones(1)
    runs = broken - np.arange(broken)
    ways = [comb(broken - 1, r - 1, exact=True) * comb(spindles - broken + 1, r, exact=True) for r in runs.tolist()]
    whole = comb(spindles, broken, exact=True)
    return np.array([way / whole for way in ways])


def many_joins(broken: npt.ArrayLike, joins: int, spindles: int) -> tuple[float, float]:
    """Return the joins that chance makes in all patrols together, and the chance of so many or more (exact)."""
    law = np.ones(1)
    for n in np.asarray(broken, np.int64).tolist():
        law = np.convolve(law, join_law(spindles, n))
        law = law[: max(np.flatnonzero(law > 1e-300)[-1] + 1, 1)]
    return float(np.arange(len(law)) @ law), float(law[joins:].sum())
