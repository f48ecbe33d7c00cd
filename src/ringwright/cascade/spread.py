"""One side of a frame by chance: ends break of their own, and a broken one may strike its neighbours.

Own breaks come evenly at one rate. A broken end strikes each neighbour with the chance of the boundary between, after
a time drawn from an exponential law; the neighbour breaks if it is up then, and strikes on. A broken end waits for the
piecer evenly between nothing and twice the mean, as an end does that breaks at any moment of an even round.
Left out: piecers who are late where many ends are down, and rates that differ by spindle and by shift.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ringwright.physics.real import Array

__all__ = ["SideRun", "run_side"]

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class SideRun:
    """The breaks of one side in the order of time (n,).

    ``place`` 1 to the side's spindles; ``time`` [s]; ``cluster`` the number of the own break that it goes back to.
    """

    spindles: int
    length: float
    place: Ints
    time: Array
    cluster: Ints

    @property
    def own(self) -> int:
        """Breaks that no neighbour caused."""
        return int(np.unique(self.cluster).size)

    @property
    def cluster_sizes(self) -> Ints:
        """Breaks in each cluster, the own one and all that it struck."""
        return np.asarray(np.unique(self.cluster, return_counts=True)[1], dtype=np.int64)

    def until(self, time: float) -> SideRun:
        """Give the run as it stands at an earlier time [s]."""
        seen = self.time < time
        return SideRun(spindles=self.spindles, length=time, place=self.place[seen], time=self.time[seen],
                       cluster=self.cluster[seen])  # fmt: skip


def run_side(
    chances: Array, rate: float, length: float, rng: np.random.Generator, *, delay: float, down_time: float
) -> SideRun:
    """Draw the breaks of one side.

    ``chances`` (spindles - 1,) that a break strikes over each boundary; ``rate`` of own breaks [1/s] of a spindle that
    runs; ``length`` [s]; mean ``delay`` of a strike and mean ``down_time`` until an end is pieced [s].
    """
    spindles = len(chances) + 1
    many = int(rng.poisson(rate * spindles * length))
    times, places = np.sort(rng.uniform(0.0, length, many)), rng.integers(0, spindles, many)
    over = [0.0, *chances.tolist(), 0.0]
    waiting: list[tuple[float, int, int]] = []
    up_from = [0.0] * spindles
    found: list[tuple[float, int, int]] = []

    def breaks(time: float, place: int, cluster: int) -> None:
        if time < up_from[place]:
            return
        found.append((time, place + 1, cluster))
        up_from[place] = time + rng.uniform(0.0, 2 * down_time)
        for chance, other in ((over[place], place - 1), (over[place + 1], place + 1)):
            if chance > 0 and rng.random() < chance:
                heapq.heappush(waiting, (time + rng.exponential(delay), other, cluster))

    for cluster, (time, place) in enumerate(zip(times.tolist(), places.tolist(), strict=True)):
        while waiting and waiting[0][0] <= time:
            breaks(*heapq.heappop(waiting))
        breaks(time, place, cluster)
    while waiting and waiting[0][0] <= length:
        breaks(*heapq.heappop(waiting))
    time_, place_, cluster_ = zip(*found, strict=True) if found else ((), (), ())
    return SideRun(
        spindles=spindles, length=length, place=np.array(place_, dtype=np.int64),
        time=np.array(time_, dtype=np.float64), cluster=np.array(cluster_, dtype=np.int64),
    )  # fmt: skip
