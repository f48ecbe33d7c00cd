"""What the tried candidates say: the front, what one part alone would do, and what each limit would pay."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from ringwright.improve.course import RELAXED
from ringwright.improve.front import AGAINST, least_at, mean_speed
from ringwright.improve.parts import Axis, Pick, changes
from ringwright.improve.search import Found
from ringwright.improve.tried import SHAPES, Tried
from ringwright.mill import Limit
from ringwright.physics.real import Array

__all__ = ["Front", "FrontPoint", "Relaxed", "Single", "fronts", "relaxed_limits", "shortlist", "single_changes"]

LEVELS = (0.82, 0.85, 0.88, 0.91, 0.94, 0.97, 1.0)
"""Productions of the front, as shares of the most."""
PER_LEVEL = 3
ALIKE = 1.01
SEPARATOR = SHAPES.index("separator")


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontPoint:
    """At a mean speed [rad/s], the least peak tension [N] or heat [W] of all candidates, and what it changes."""

    speed: float
    least: float
    pick: Pick
    changed: tuple[tuple[Axis, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Front:
    """The trade-off of production against "tension" or "heat", slowest first; ``present`` is that of the parts as set.

    ``present`` holds the value at each point's speed; inf where the parts as set cannot run it within the limits.
    """

    against: str
    points: tuple[FrontPoint, ...]
    present: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Single:
    """What one part alone would do, at its best step: the mean speed at the limits, the least tension and heat there.

    ``tension`` and ``heat`` are those at the speed at which all are compared; ``mends`` names the limits of shape that
    the parts as set break and this change mends.
    """

    axis: Axis
    step: int
    speed: float
    tension: float
    heat: float
    mends: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxed:
    """What a limit relaxed by 5 % would gain at least: share of production, or of tension saved at equal production."""

    name: str
    gain: float


def _speeds(tried: Tried, weights: Array, relaxed: Mapping[str, float] | None = None) -> Array:
    return np.where(tried.keeps, mean_speed(tried.envelope(relaxed), weights), 0.0)


def shortlist(found: Found, speed: float) -> list[int]:
    """Give the candidates worth a full doff: the present one, the best at several productions, the best alone."""
    most = float(found.speed.max())
    chosen = {0, int(np.argmax(found.speed))}
    for level in sorted({speed, *(share * most for share in LEVELS)}):
        for against in AGAINST.values():
            least = least_at(found.tried, found.weights, min(level, most), against)
            order = np.argsort(least, kind="stable")
            chosen.update(int(number) for number in order[:PER_LEVEL] if np.isfinite(least[number]))
            alike = np.flatnonzero(least <= ALIKE * float(least.min()))
            plain = sorted(alike, key=lambda number: len(changes(found.axes, found.picks[number])))
            chosen.update(int(number) for number in plain[:PER_LEVEL])
    return sorted(chosen)


def fronts(fine: Found) -> tuple[Front, ...]:
    """Give the front of production against tension and against heat, from candidates solved over the full doff."""
    most = float(fine.speed.max())
    found = []
    for name, against in AGAINST.items():
        points, present = [], []
        for level in LEVELS:
            least = least_at(fine.tried, fine.weights, level * most, against)
            number = plainest(fine, least)
            pick = fine.picks[number]
            points.append(
                FrontPoint(speed=level * most, least=float(least[number]), pick=pick, changed=changes(fine.axes, pick))
            )
            present.append(float(least[0]))
        found.append(Front(against=name, points=tuple(points), present=tuple(present)))
    return tuple(found)


def plainest(found: Found, least: Array, alike: float = 1 + 1e-4) -> int:
    """Give, of the candidates alike to the best, the one that changes fewest parts, and of these the best."""
    near = np.flatnonzero(least <= alike * float(least.min()))
    return int(min(near, key=lambda number: (len(changes(found.axes, found.picks[number])), least[number])))


def single_changes(found: Found, speed: float) -> tuple[Single, ...]:
    """Give for each part its best step alone, those first that mend a limit, then those that save most tension."""
    tension, heat = (least_at(found.tried, found.weights, speed, against) for against in AGAINST.values())
    broken = found.tried.room[0] < 0
    singles = []
    for axis in found.axes:
        alone = [
            (number, step)
            for number, pick in enumerate(found.picks)
            for other, step in changes(found.axes, pick)
            if other is axis and len(changes(found.axes, pick)) == 1 and found.tried.keeps[number]
        ]
        if not alone:
            continue
        number, step = min(alone, key=lambda one: (tension[one[0]], -found.speed[one[0]]))
        mends = tuple(name for name, bad in zip(SHAPES, broken, strict=True) if bad)
        singles.append(
            Single(
                axis=axis,
                step=step,
                speed=float(found.speed[number]),
                tension=float(tension[number]),
                heat=float(heat[number]),
                mends=mends,
            )
        )
    return tuple(sorted(singles, key=lambda one: (not one.mends, one.tension)))


def relaxed_limits(
    found: Found, limits: Mapping[str, Limit], speed: float, *, by_production: bool
) -> tuple[Relaxed, ...]:
    """Give what each limit would pay if it were relaxed by 5 %, over the candidates tried; most first.

    A wider search under the relaxed limit might find more, so each gain is the least to be had.
    """
    cases = [
        (demand.kind.name, found.tried, {demand.kind.key: 1 + RELAXED})
        for demand in found.tried.demands
        if demand.limit is not None
    ]
    room = limits.get("separator_room")
    if room is not None:
        wider = found.tried.room.copy()
        wider[:, SEPARATOR] += RELAXED * room.value
        cases.append(("Separator, least room", replace(found.tried, room=wider), {}))
    gains = []
    for name, tried, relaxed in cases:
        if by_production:
            gain = float(_speeds(tried, found.weights, relaxed).max() / found.speed.max()) - 1
        else:
            before = least_at(found.tried, found.weights, speed, AGAINST["tension"]).min()
            after = least_at(tried, found.weights, speed, AGAINST["tension"], relaxed).min()
            gain = 1 - float(after / before)
        gains.append(Relaxed(name=name, gain=max(gain, 0.0)))
    return tuple(sorted(gains, key=lambda one: -one.gain))
