"""What chance makes of neighbours that break together, in closed form: clusters, extra breaks, and when it is seen.

A broken end is down while it strikes, so a cluster spreads away from its first break to both sides and never turns
back: on each side its length is geometric. Left out: a neighbour that is down already (rate x down time of all, some
1 in 300), and strikes that run into each other.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

import numpy as np
import numpy.typing as npt
from scipy import stats

from ringwright.physics.real import Array

__all__ = [
    "Watch", "chance_named", "close_share", "cluster_mean", "cluster_variance", "extra_breaks", "false_names",
    "pairs_wanted", "steps_to_name",
]  # fmt: skip

Counts = npt.NDArray[np.int64]

_MOST_STEPS = 1024
_TAIL = 1e-9
"""Chances under which a count is not looked at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """How records are watched: boundaries asked together, spindles of a side, window [s], and when a name is given.

    A boundary is named with at least ``least_pairs`` close pairs and an adjusted chance of at most ``false_share``,
    and not before the side has ``least_breaks`` breaks for each spindle.
    """

    boundaries: int
    spindles: int
    window: float
    false_share: float
    least_pairs: int = 2
    least_breaks: float = 1.0


def cluster_mean(chance: float) -> float:
    """Return the mean number of breaks [1] that one own break makes where every boundary has this chance: (1+p)/(1-p).

    Range: 0 to under 1, a long side. Derived: one break, and on each side a geometric run of mean p / (1 - p).
    """
    return (1 + chance) / (1 - chance)


def cluster_variance(chance: float) -> float:
    """Return the variance of that number: 2 p / (1 - p)^2, two geometric runs."""
    return 2 * chance / (1 - chance) ** 2


def extra_breaks(rate: float, chance: float) -> float:
    """Return the extra breaks [1/s] that one boundary makes at its two spindles together: 2 x rate x chance.

    ``rate`` [1/s] of own breaks of one spindle; plates that hold stand on both sides.
    """
    return 2 * rate * chance


def close_share(window: float, delay: float) -> float:
    """Return the share of strikes [1] that fall within a window [s] when their delay is exponential of a mean [s]."""
    return 1 - exp(-window / delay)


def pairs_wanted(by_chance: Array, watch: Watch) -> Counts:
    """Return the close pairs at which a boundary is named where it is the only one, any shape.

    The chance of so many must be at most share / boundaries, as in the rule of Benjamini and Hochberg for one name.
    """
    # isf gives the largest count whose tail is still over the level; one pair more is needed.
    wanted = stats.poisson.isf(watch.false_share / watch.boundaries, by_chance) + 1
    return np.asarray(np.maximum(wanted, watch.least_pairs), dtype=np.int64)


def chance_named(rate: float, chance: float, delay: float, length: float, watch: Watch) -> float:
    """Return the chance [1] that a boundary with this chance of a strike is named after a time [s].

    Own breaks n of the two spindles are Poisson, strikes within the window binomial of n, and pairs by chance Poisson
    with mean y1 y2 2 window / length, where y1 y2 = ((n + s)^2 - n) / 4 in the mean. The side must have breaks enough.
    """
    mean = 2 * rate * length
    seen = chance * close_share(watch.window, delay)
    own = np.arange(int(stats.poisson.ppf(_TAIL, mean)), int(stats.poisson.isf(_TAIL, mean)) + 2)[:, None]
    struck = np.arange(int(stats.poisson.isf(_TAIL, mean * seen)) + 2)[None, :]
    weight = stats.poisson.pmf(own, mean) * stats.binom.pmf(struck, own, seen)
    by_chance = np.maximum((own + struck) ** 2 - own, 0.0) / 4 * 2 * watch.window / length
    short = pairs_wanted(by_chance, watch) - struck
    named = np.where(short <= 0, 1.0, stats.poisson.sf(short - 1, by_chance))
    enough = stats.poisson.sf(watch.least_breaks * watch.spindles - 1, rate * length * watch.spindles)
    return float(enough * np.sum(weight * named))


def false_names(rate: float, chance: float, delay: float, length: float, watch: Watch) -> float:
    """Return the boundaries named by mistake [1] in a time [s] where all have the chance of a plate that holds."""
    return watch.boundaries * chance_named(rate, chance, delay, length, watch)


def steps_to_name(rate: float, chance: float, delay: float, step: float, watch: Watch, *, wanted: float = 0.8) -> int:
    """Return the steps of time [s] (shifts) after which a boundary is named with a wanted chance; 0 if over 1 000."""

    def named(steps: int) -> bool:
        return chance_named(rate, chance, delay, steps * step, watch) >= wanted

    high = 1
    while not named(high):
        high *= 2
        if high > _MOST_STEPS:
            return 0
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if named(middle) else (middle, high)
    return high
