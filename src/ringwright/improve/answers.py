"""What the tried candidates say: the front, what one part alone would do, and what each limit would pay."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from ringwright.improve.course import RELAXED
from ringwright.improve.front import AGAINST, least_at, mean_speed
from ringwright.improve.parts import Axis, Pick, changes
from ringwright.improve.pricing import Pricing
from ringwright.improve.search import Found
from ringwright.improve.tried import SHAPES, Tried
from ringwright.mill import Limit
from ringwright.physics.real import Array

__all__ = ["Front", "FrontPoint", "Relaxed", "Single", "fronts", "relaxed_limits", "shortlist", "single_changes"]

LEVELS = (0.82, 0.85, 0.88, 0.91, 0.94, 0.97, 1.0)
"""Productions of the front, as shares of the most."""
PER_LEVEL = 3
ALIKE = 1.01
CHEAPEST, NEARLY = 10, 1.002
SEPARATOR = SHAPES.index("separator")


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontPoint:
    """At a mean speed [rad/s], the least peak tension [N], heat [W] or cost of 1 kg of all, and what it changes."""

    speed: float
    least: float
    pick: Pick
    changed: tuple[tuple[Axis, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Front:
    """The trade-off of production against "tension", "heat" or "cost", slowest first; ``present``: the parts as set.

    ``present`` holds the value at each point's speed; inf where the parts as set cannot run it within the limits.
    """

    against: str
    points: tuple[FrontPoint, ...]
    present: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Single:
    """What one part alone would do, at its best step: the mean speed at the limits, the least tension and heat there.

    ``tension`` and ``heat`` are those at the speed at which all are compared; ``mends`` names the limits of shape that
    the parts as set break and this change mends. ``cost`` is the least of 1 kg with the speeds set anew; None where it
    was not asked.
    """

    axis: Axis
    step: int
    speed: float
    tension: float
    heat: float
    mends: tuple[str, ...]
    cost: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxed:
    """What a limit relaxed by 5 % would gain at least: share of production, or of tension or cost saved."""

    name: str
    gain: float


def _speeds(tried: Tried, weights: Array, relaxed: Mapping[str, float] | None = None) -> Array:
    return np.where(tried.keeps, mean_speed(tried.envelope(relaxed), weights), 0.0)


def shortlist(found: Found, speed: float | None, prices: Array | None = None) -> list[int]:
    """Give the candidates worth a full doff: the present one, the best at several productions, the best alone.

    Without a mean speed [rad/s] the fronts are left out. With ``prices`` (c,) also the cheapest of all, of those alike
    the plainest, and the cheapest of each part alone.
    """
    most = float(found.speed.max())
    chosen = {0, int(np.argmax(found.speed))}
    for level in () if speed is None else sorted({speed, *(share * most for share in LEVELS)}):
        for against in AGAINST.values():
            least = least_at(found.tried, found.weights, min(level, most), against)
            order = np.argsort(least, kind="stable")
            chosen.update(int(number) for number in order[:PER_LEVEL] if np.isfinite(least[number]))
            alike = np.flatnonzero(least <= ALIKE * float(least.min()))
            plain = sorted(alike, key=lambda number: len(changes(found.axes, found.picks[number])))
            chosen.update(int(number) for number in plain[:PER_LEVEL])
    if prices is not None:
        chosen.update(int(number) for number in np.argsort(prices, kind="stable")[:CHEAPEST])
        alike = np.flatnonzero(prices <= NEARLY * float(prices.min()))
        plain = sorted(alike, key=lambda number: (len(changes(found.axes, found.picks[number])), prices[number]))
        chosen.update(int(number) for number in plain[:PER_LEVEL])
        chosen.update(min(numbers, key=lambda number: prices[number]) for numbers in _alone(found).values())
    return sorted(chosen)


def _alone(found: Found) -> dict[str, list[int]]:
    """Give the candidates that keep every limit and change one part only, by that part's key."""
    alone: dict[str, list[int]] = {}
    for number, pick in enumerate(found.picks):
        changed = changes(found.axes, pick)
        if len(changed) == 1 and found.tried.keeps[number]:
            alone.setdefault(changed[0][0].key, []).append(number)
    return alone


def fronts(fine: Found, pricing: Pricing | None = None) -> tuple[Front, ...]:
    """Give the fronts of production against tension and heat, and cost where asked, from full doffs."""
    most = float(fine.speed.max())
    asks: dict[str, Callable[[float], Array]] = {
        name: partial(least_at, fine.tried, fine.weights, against=against) for name, against in AGAINST.items()
    }
    if pricing is not None:
        asks["cost"] = partial(pricing.least_at, fine.tried)
    found = []
    for name, ask in asks.items():
        points, present = [], []
        for level in LEVELS:
            least = ask(level * most)
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


def single_changes(found: Found, speed: float, prices: Array | None = None) -> tuple[Single, ...]:
    """Give for each part its best step alone: those first that mend a limit, then those that save most tension.

    With ``prices`` (c,), the least cost of each candidate, the cheapest stand first instead.
    """
    tension, heat = (least_at(found.tried, found.weights, speed, against) for against in AGAINST.values())
    broken = found.tried.room[0] < 0
    singles = []
    for alone in _alone(found).values():
        number = min(alone, key=lambda one: (prices[one] if prices is not None else tension[one], -found.speed[one]))
        ((axis, step),) = changes(found.axes, found.picks[number])
        mends = tuple(name for name, bad in zip(SHAPES, broken, strict=True) if bad)
        singles.append(
            Single(
                axis=axis,
                step=step,
                speed=float(found.speed[number]),
                tension=float(tension[number]),
                heat=float(heat[number]),
                mends=mends,
                cost=None if prices is None else float(prices[number]),
            )
        )
    return tuple(sorted(singles, key=lambda one: (not one.mends, one.tension if one.cost is None else one.cost)))


def relaxed_limits(
    found: Found, limits: Mapping[str, Limit], speed: float, aim: str, pricing: Pricing | None = None
) -> tuple[Relaxed, ...]:
    """Give what each limit would pay for an aim if it were relaxed by 5 %, over the candidates tried; most first.

    A wider search under the relaxed limit might find more, so each gain is the least to be had.
    """
    before = _worth(found, found.tried, {}, speed, (aim, pricing))
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
    gains = [
        Relaxed(name=name, gain=max(_worth(found, tried, relaxed, speed, (aim, pricing)) / before - 1, 0.0))
        if aim == "production"
        else Relaxed(name=name, gain=max(1 - _worth(found, tried, relaxed, speed, (aim, pricing)) / before, 0.0))
        for name, tried, relaxed in cases
    ]
    return tuple(sorted(gains, key=lambda one: -one.gain))


def _worth(
    found: Found, tried: Tried, relaxed: Mapping[str, float], speed: float, asked: tuple[str, Pricing | None]
) -> float:
    """Give the best of all candidates under limits relaxed: mean speed, peak tension at a speed, or cost of 1 kg."""
    aim, pricing = asked
    if aim == "production":
        return float(_speeds(tried, found.weights, relaxed).max())
    if pricing is not None:
        return float(pricing.least(tried, relaxed).min())
    return float(least_at(tried, found.weights, speed, AGAINST["tension"], relaxed).min())
