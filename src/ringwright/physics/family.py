"""The family of balloons that reach the ring, one curve for each case, and how to move along it.

At fixed geometry the balloons through the ring form one curve in the unknowns w (tension, guide angle, bend); the
traveller's mass only picks a point on it.  A ``Point`` is a place on that curve with the way ahead.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.cases import Array, Cases, Index
from ringwright.physics.shoot import Shot, shoot
from ringwright.physics.triples import cross, dot, length, solve

__all__ = ["SMALL", "WALKING", "Point", "correct", "empty_point", "locate", "miss", "polish", "slope_along"]

Flags = NDArray[np.bool_]
CLOSE = 1e-11
"""Miss of the ring, over the larger of 1 and h, at which a point counts as on the curve."""
WALKING = 1e-6
"""The same for points that a walk only passes through."""
SOLVED = 2e-11
"""Largest residual at which a case counts as solved."""
NEWTONS = 8
SMALL = 1e-12
"""Value, over its value at the ends of the bracket, at which a search along the curve rests."""


@dataclass(slots=True, kw_only=True)
class Point:
    """Places on the curves of n cases; changed in place by ``put`` as a walk goes on."""

    w: Array
    """(3, n) unknowns."""
    ahead: Array
    """(3, n) unit direction along the curve, away from the taut end."""
    contact: Flags
    """Whether the control ring presses."""
    steps: NDArray[np.int_]
    mass: Array
    """M0 that the balloon asks for."""
    slope: Array
    """Its slope along the curve: negative on the taut branch."""
    lift: Array
    """N - q_z: nought at lift-off."""
    gap: Array
    """Radius less control ring's, at its height."""
    turn: Array
    """q_r at the traveller: its sign is that of r'."""
    curve: Array
    """(3, n) curvature of the way so far (change of ``ahead`` over the last stride), nought where not known."""
    side: Array
    """+1 or -1: the sign of the way ahead against the cross product of the two gradients.

    It cannot change along one unbroken curve, so that a change betrays a jump across a near crossing of two curves.
    """
    drift: Array
    """Error of the integration, seen by the drift of its invariant, relative."""
    good: Flags
    """Whether the corrector came to rest."""

    def take(self, index: Index | Flags) -> Point:
        """Pick some of the points."""
        return Point(**{name: getattr(self, name)[..., index] for name in self.__slots__})

    def put(self, index: Index | Flags, other: Point) -> None:
        """Replace some of the points."""
        for name in self.__slots__:
            getattr(self, name)[..., index] = getattr(other, name)


def empty_point(count: int) -> Point:
    """Make room for ``count`` points."""
    w, ahead, curve = np.zeros((3, 3, count))
    mass, slope, lift, gap, turn, side, drift = np.full((7, count), np.nan)
    contact, good = np.zeros((2, count), dtype=bool)
    return Point(
        w=w,
        ahead=ahead,
        contact=contact,
        steps=np.zeros(count, dtype=np.int_),
        mass=mass,
        slope=slope,
        lift=lift,
        gap=gap,
        turn=turn,
        curve=curve,
        side=side,
        drift=drift,
        good=good,
    )


def slope_along(shot: Shot, ahead: Array) -> Array:
    """Give the slope of the asked-for mass along ``ahead``."""
    return dot(shot.mass_slope, ahead)


def _point(w: Array, shot: Shot, like: Array, contact: Flags, steps: NDArray[np.int_], good: Flags) -> Point:
    """Make the points of a shot; ``like`` (3, n) is a direction that the way ahead must not oppose."""
    ahead = cross(shot.meet_slope[0], shot.meet_slope[1])
    with np.errstate(all="ignore"):
        ahead /= length(ahead)
        side = np.where(dot(ahead, like) < 0.0, -1.0, 1.0)
        ahead = side * ahead
        slope = slope_along(shot, ahead)
    return Point(
        w=w,
        ahead=ahead,
        contact=contact.copy(),
        steps=steps.copy(),
        mass=shot.mass.copy(),
        slope=slope,
        lift=shot.lift,
        gap=shot.control_gap.copy(),
        turn=shot.pull[0].copy(),
        curve=np.zeros_like(w),
        side=side,
        drift=shot.drift.copy(),
        good=good,
    )


def correct(
    cases: Cases, guess: Array, like: Array, contact: Flags, steps: NDArray[np.int_], close: float = CLOSE
) -> Point:
    """Bring ``guess`` onto the curve, in the plane through it across ``like`` (Newton, all cases together)."""
    w = guess.copy()
    shot = shoot(cases, w, contact, steps)
    active = np.arange(len(cases))
    good = np.zeros(len(cases), dtype=bool)
    parts = shot
    for _ in range(NEWTONS):
        size = np.maximum(np.abs(parts.meet[0]), np.abs(parts.meet[1]))
        rest = size < close * np.maximum(cases.height[active], 1.0)
        good[active[rest]] = True
        going = ~rest & np.isfinite(size)
        if not going.any():
            break
        active = active[going]
        across = like[:, active]
        right = (-parts.meet[0][going], -parts.meet[1][going], dot(across, guess[:, active] - w[:, active]))
        move = solve(parts.meet_slope[0][:, going], parts.meet_slope[1][:, going], across, right)
        w[:, active] += np.clip(move, -0.5, 0.5)
        parts = shoot(cases.take(active), w[:, active], contact[active], steps[active])
        shot.rows[:, active] = parts.rows
    return _point(w, shot, like, contact, steps, good)


def polish(cases: Cases, guess: Array, like: Array, contact: Flags, steps: NDArray[np.int_]) -> tuple[Point, Array]:
    """Solve for the case's own traveller mass by Newton from ``guess``; gives points and rows of their shots."""
    w = guess.copy()
    shot = shoot(cases, w, contact, steps)
    active = np.arange(len(cases))
    parts = shot
    size = miss(shot)
    for _ in range(NEWTONS + 2):
        going = (size[active] > SOLVED) & np.isfinite(size[active])
        if not going.any():
            break
        active = active[going]
        right = (-parts.meet[0][going], -parts.meet[1][going], -parts.residual[going])
        move = solve(
            parts.meet_slope[0][:, going], parts.meet_slope[1][:, going], parts.residual_slope[:, going], right
        )
        w[:, active] += np.clip(move, -0.3, 0.3)
        parts = shoot(cases.take(active), w[:, active], contact[active], steps[active])
        shot.rows[:, active] = parts.rows
        size[active] = miss(parts)
    good = np.isfinite(size) & (size < 1e-8)
    return _point(w, shot, like, contact, steps, good), shot.rows


def miss(shot: Shot) -> Array:
    """Give the largest residual of the solved equations."""
    at_rings = np.maximum(np.abs(shot.meet[0]), np.abs(shot.meet[1]))
    size: Array = np.maximum(at_rings, np.abs(shot.residual))
    return size


def locate(
    cases: Cases,
    start: Point,
    reach: Array,
    value: Callable[[Cases, Point], Array],
    *,
    rounds: int = 40,
    small: float = SMALL,
) -> tuple[Point, Array]:
    """Find where ``value`` changes sign between ``start`` and the point ``reach`` further along its tangent.

    Anderson and Bjorck's bracketing secant, all cases together.  Where the two ends have the same sign, as a far end
    within rounding of the root may, the far end is given.
    Gives the points and the distances at which they lie.
    """
    low, high = np.zeros_like(reach), reach.copy()
    at_low = value(cases, start).copy()
    best = correct(cases, start.w + reach * start.ahead, start.ahead, start.contact, start.steps)
    at_high = value(cases, best).copy()
    found = high.copy()
    rest_at = small * np.maximum(np.abs(at_low), np.abs(at_high))
    active = np.flatnonzero((np.abs(at_high) > rest_at) & (at_low * at_high < 0.0))
    for _ in range(rounds):
        if not active.size:
            break
        with np.errstate(all="ignore"):
            middle = high - at_high * (high - low) / (at_high - at_low)
        inside = (middle > np.minimum(low, high)) & (middle < np.maximum(low, high))
        middle = np.where(inside, middle, 0.5 * (low + high))
        part = start.take(active)
        here = cases.take(active)
        point = correct(here, part.w + middle[active] * part.ahead, part.ahead, part.contact, part.steps)
        at = value(here, point)
        best.put(active, point)
        found[active] = middle[active]
        crosses = at * at_high[active] <= 0.0
        moved, kept = active[crosses], active[~crosses]
        low[moved], at_low[moved] = high[moved], at_high[moved]
        with np.errstate(all="ignore"):
            share = 1.0 - at[~crosses] / at_high[kept]
        at_low[kept] *= np.where(share > 0.0, share, 0.5)
        rest = np.abs(middle[active] - high[active]) < 1e-13
        high[active], at_high[active] = middle[active], at
        done = rest | (np.abs(at) <= rest_at[active]) | ~np.isfinite(at)
        active = active[~done]
    return best, found
