"""The search over the parts: from the best candidates so far to their neighbours, until none of them is better."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from ringwright.improve.front import AGAINST, least_at, mean_speed
from ringwright.improve.parts import Axis, Pick, fits, with_parts
from ringwright.improve.tried import Bench, Tried, join, try_out
from ringwright.improve.watch import NOBODY, STOPPED, Watch
from ringwright.physics.real import Array

__all__ = ["MOST", "Also", "Found", "every_pick", "keepers", "search", "singles", "try_picks"]

MOST = 1500
"""Candidates after which the search ends in any case."""
LOT = 48
LOTS = 2
"""Lots between two questions to the watcher, for two processors."""
LEVELS = (0.94, 0.97, 1.0)
"""Productions, as shares of the most found, at which the best candidates are kept."""
TOGETHER = (
    ("traveller", "guide.height"),
    ("traveller", "control_ring.diameter"),
    ("traveller", "control_ring.height"),
    ("guide.height", "control_ring.height"),
    ("guide.height", "guide.lift"),
    ("control_ring.height", "control_ring.lift"),
    ("guide.lift", "control_ring.lift"),
)
"""Parts that are moved together, because moving one alone often breaks a limit that the other mends."""

Also = Callable[["Found"], Sequence[int]]
"""Names further candidates to go on from, such as the cheapest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Every candidate tried, in the order of trial: its pick, and what it asks; ``ended`` says why the search ended."""

    axes: tuple[Axis, ...]
    picks: tuple[Pick, ...]
    tried: Tried
    weights: Array
    ended: str

    @property
    def speed(self) -> Array:
        """Mean speed at the limits [rad/s], (c,); 0 for a candidate that breaks a limit of shape."""
        return np.where(self.tried.keeps, mean_speed(self.tried.envelope(), self.weights), 0.0)


def search(
    bench: Bench, axes: tuple[Axis, ...], watch: Watch = NOBODY, most: int = MOST, also: Also | None = None
) -> Found:
    """Search the parts from where they are; the watcher may end it with what was found by then.

    ``also`` names candidates to go on from beside those of most production, least tension and least heat.
    """
    start = tuple(axis.present for axis in axes)
    picks = [start]
    fresh = [pick for pick in singles(axes, start) if fits(with_parts(bench.choice, axes, pick).frame)]
    tried, asked = try_picks(bench, axes, picks), {start, *fresh}

    def so_far(ended: str) -> Found:
        return Found(axes=axes, picks=tuple(picks), tried=tried, weights=bench.weights, ended=ended)

    while fresh:
        for at in range(0, len(fresh), LOT * LOTS):
            if watch.stopped():
                return so_far(STOPPED)
            lot = fresh[at : at + LOT * LOTS]
            tried = join(tried, try_picks(bench, axes, lot))
            picks += lot
            watch.tell(f"{len(picks)} candidates tried, {int(tried.keeps.sum())} keep every limit")
        found = so_far("no neighbour of the best candidates is better")
        fresh = _fresh(found, asked, bench, () if also is None else also(found))
        if len(picks) + len(fresh) > most:
            return so_far(f"{len(picks)} candidates were tried, the most that were asked for")
    return so_far("no neighbour of the best candidates is better")


def try_picks(bench: Bench, axes: tuple[Axis, ...], picks: Sequence[Pick]) -> Tried:
    """Try picks that fit the frame, in lots side by side on the processors."""
    choices = [with_parts(bench.choice, axes, pick) for pick in picks]
    lots = [choices[at : at + LOT] for at in range(0, len(choices), LOT)]
    with ThreadPoolExecutor(max_workers=min(len(lots), os.cpu_count() or 1)) as pool:
        results = list(pool.map(lambda lot: try_out(bench, lot), lots))
    whole = results[0]
    for result in results[1:]:
        whole = join(whole, result)
    return whole


def every_pick(bench: Bench, axes: tuple[Axis, ...]) -> list[Pick]:
    """List every candidate that fits the frame, in an order in which neighbours are alike."""
    steps = np.stack(np.meshgrid(*(np.arange(len(axis.steps)) for axis in axes), indexing="ij"), axis=-1)
    picks = [tuple(int(step) for step in row) for row in steps.reshape(-1, len(axes))]
    return [pick for pick in picks if fits(with_parts(bench.choice, axes, pick).frame)]


def singles(axes: tuple[Axis, ...], pick: Pick) -> list[Pick]:
    """List the candidates that differ from one in a single part, every step of it."""
    return [
        (*pick[:number], step, *pick[number + 1 :])
        for number, axis in enumerate(axes)
        for step in range(len(axis.steps))
        if step != pick[number]
    ]


def keepers(found: Found) -> list[int]:
    """Give the candidates to go on from: the best at some productions, or those that lack least if none keeps all."""
    if not found.tried.keeps.any():
        return [int(number) for number in np.argsort(found.tried.shortfall, kind="stable")[:4]]
    most = float(found.speed.max())
    best = {int(np.argmax(found.speed))}
    for level in LEVELS:
        for against in AGAINST.values():
            least = least_at(found.tried, found.weights, level * most, against)
            if np.isfinite(least).any():
                best.add(int(np.argmin(least)))
    return sorted(best)


def _fresh(found: Found, asked: set[Pick], bench: Bench, also: Sequence[int]) -> list[Pick]:
    """Give the neighbours of the keepers that were not tried yet and fit the frame, and note them as asked."""
    near = {
        pick for number in {*keepers(found), *also} for pick in _neighbours(found.axes, found.picks[number])
    } - asked
    asked |= near
    return [pick for pick in sorted(near) if fits(with_parts(bench.choice, found.axes, pick).frame)]


def _neighbours(axes: tuple[Axis, ...], pick: Pick) -> set[Pick]:
    moves = [{number: step} for number in range(len(axes)) for step in (-2, -1, 1, 2)]
    place = {axis.key: number for number, axis in enumerate(axes)}
    for one, other in TOGETHER:
        if one in place and other in place:
            moves += [{place[one]: a, place[other]: b} for a in (-1, 1) for b in (-1, 1)]
    near = set()
    for move in moves:
        moved = tuple(step + move.get(number, 0) for number, step in enumerate(pick))
        if all(0 <= step < len(axis.steps) for step, axis in zip(moved, axes, strict=True)):
            near.add(moved)
    return near
