"""The limits of the taut branch: the traveller masses at which it folds, necks, lifts off, or touches the separator."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.branch import Event, advance, finer_where_rough, taut_start
from ringwright.physics.cases import Array, Cases, Index
from ringwright.physics.family import Point, correct, locate
from ringwright.physics.shape import shape

__all__ = ["LIGHTEST", "Limits", "trace_limits"]

STRIDE = 0.3
STEPS = 12
FINE = 40
STRIDES_MOST = 200
LIGHTEST = 0.5
"""M0 below which the walk ends: lighter than any traveller made for the yarn."""


@dataclass(slots=True)
class Limits:
    """M0 at each limit of each case, nan where the branch ends before it is met."""

    fold: Array
    lift_off: Array
    neck: Array
    touch: Array
    lightest: Array
    """M0 at the end of the walk."""
    followed: Array
    """1.0 where the branch was followed to its end (or below LIGHTEST), else 0.0."""


def trace_limits(cases: Cases) -> Limits:
    """Walk each branch from its taut end to its end (all cases with a control ring, or none).

    The cases' own traveller masses play no part.
    """
    count = len(cases)
    cases = replace(cases, mass=np.ones(count))
    fold, lift_off, neck, touch, lightest = np.full((5, count), np.nan)
    found = Limits(fold, lift_off, neck, touch, lightest, followed=np.zeros(count))
    walker = taut_start(cases, np.full(count, STEPS))
    wide = np.ones(count)
    found.lightest[:] = walker.mass
    at_once = walker.good & (walker.lift <= 0.0)
    found.lift_off[at_once] = walker.mass[at_once]
    found.followed[at_once] = 1.0
    active: Index = np.flatnonzero(walker.good & ~at_once)
    for _ in range(STRIDES_MOST):
        if not active.size:
            break
        active = _go_on(cases, found, walker, wide, active)
    return found


def _go_on(cases: Cases, found: Limits, walker: Point, wide: Array, active: Index) -> Index:
    """Take one stride with the active cases, note the limits met on it, and say which go on."""
    here = cases.take(active)
    start = finer_where_rough(here, walker.take(active))
    point, taken, events = advance(here, start, np.full(active.size, STRIDE))
    _note(here, start, taken, (start.turn < 0.0) & (point.turn >= 0.0), found.neck, active, _turn)
    walled = np.flatnonzero(np.isfinite(here.wall) & point.good)
    if walled.size:
        now = wide[active]
        now[walled] = shape(here.take(walled), point.take(walled)).widest
        _note(here, start, taken, (wide[active] < here.wall) & (now >= here.wall), found.touch, active, _clearance)
        wide[active] = now
    _note(here, start, taken, events == Event.FOLD, found.fold, active, _slope, at_end=point)
    _note(here, start, taken, events == Event.LIFT_OFF, found.lift_off, active, _lift, at_end=point)
    walker.put(active, point)
    found.lightest[active] = point.mass
    ended = (events == Event.FOLD) | (events == Event.LIFT_OFF) | (point.mass < LIGHTEST)
    found.followed[active[ended]] = 1.0
    going: Index = active[~ended & (events != Event.STUCK)]
    return going


def _turn(_: Cases, point: Point) -> Array:
    return point.turn


def _slope(_: Cases, point: Point) -> Array:
    return point.slope


def _lift(_: Cases, point: Point) -> Array:
    return point.lift


def _clearance(cases: Cases, point: Point) -> Array:
    return cases.wall - shape(cases, point).widest


def _note(
    here: Cases,
    start: Point,
    taken: Array,
    met: NDArray[np.bool_],
    into: Array,
    active: Index,
    value: Callable[[Cases, Point], Array],
    at_end: Point | None = None,
) -> None:
    """Find, with fine steps, the mass at which ``value`` changes sign on this stride, where ``met`` says it does."""
    which = np.flatnonzero(met & np.isnan(into[active]))  # a limit counts where it is met first
    if not which.size:
        return
    part, begin = here.take(which), start.take(which)
    begin.steps = np.maximum(begin.steps, FINE)
    begin = correct(part, begin.w, begin.ahead, begin.contact, begin.steps)
    reach = taken[which].copy()
    if at_end is not None:  # the stride ends at the event: look a little beyond it
        into[active[which]] = at_end.mass[which]
        reach *= 1.02
        reach += 1e-6
    far = correct(part, begin.w + reach * begin.ahead, begin.ahead, begin.contact, begin.steps)
    brackets = np.flatnonzero(value(part, begin) * value(part, far) < 0.0)
    if brackets.size:
        point, _ = locate(part.take(brackets), begin.take(brackets), reach[brackets], value)
        into[active[which[brackets]]] = point.mass
