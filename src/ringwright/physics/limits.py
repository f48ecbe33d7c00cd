"""The limits of the taut branch: the traveller masses at which it folds, necks, lifts off, or touches the separator."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from ringwright.physics.branch import Event, advance, finer_where_rough, taut_start
from ringwright.physics.cases import Array, Cases, Index
from ringwright.physics.family import Point, correct, empty_point, locate
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


@dataclass(slots=True)
class _Crossed:
    """Strides on which a limit is met, in the order of the walk: the cases, where each began and how far it went."""

    value: Callable[[Cases, Point], Array]
    which: list[Index] = field(default_factory=list)
    begin: list[Point] = field(default_factory=list)
    reach: list[Array] = field(default_factory=list)

    def add(self, which: Index, begin: Point, reach: Array) -> None:
        """Note strides; their limits are found later, all together, which is much quicker than one by one."""
        self.which.append(which)
        self.begin.append(begin)
        self.reach.append(reach)

    def settle(self, cases: Cases, into: Array) -> None:
        """Find with fine steps the mass at which ``value`` changes sign on each stride; the first of a case counts."""
        if not self.which:
            return
        which, reach = np.concatenate(self.which), np.concatenate(self.reach)
        begin, start = empty_point(which.size), 0
        for part in self.begin:
            begin.put(np.arange(start, start + part.mass.size), part)
            start += part.mass.size
        here = cases.take(which)
        begin = correct(here, begin.w, begin.ahead, begin.contact, np.maximum(begin.steps, FINE))
        far = correct(here, begin.w + reach * begin.ahead, begin.ahead, begin.contact, begin.steps)
        brackets = np.flatnonzero(self.value(here, begin) * self.value(here, far) < 0.0)
        if brackets.size:
            point, _ = locate(here.take(brackets), begin.take(brackets), reach[brackets], self.value)
            into[which[brackets[::-1]]] = point.mass[::-1]


def trace_limits(cases: Cases) -> Limits:
    """Walk each branch from its taut end to its end (all cases with a control ring, or none).

    The cases' own traveller masses play no part. Where a case's wall is nan, ``touch`` is not looked for.
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
    crossed = {name: _Crossed(value) for name, value in _VALUES.items()}
    active: Index = np.flatnonzero(walker.good & ~at_once)
    for _ in range(STRIDES_MOST):
        if not active.size:
            break
        active = _go_on(cases, (found, crossed), walker, wide, active)
    for name, strides in crossed.items():
        strides.settle(cases, getattr(found, name))
    return found


def _go_on(cases: Cases, notes: tuple[Limits, dict[str, _Crossed]], walker: Point, wide: Array, active: Index) -> Index:
    """Take one stride with the active cases, note the limits met on it, and say which go on."""
    found, crossed = notes
    here = cases.take(active)
    start = finer_where_rough(here, walker.take(active))
    point, taken, events = advance(here, start, np.full(active.size, STRIDE))
    met = {"neck": (start.turn < 0.0) & (point.turn >= 0.0)}
    walled = np.flatnonzero(np.isfinite(here.wall) & point.good)
    if walled.size:
        now = wide[active]
        now[walled] = shape(here.take(walled), point.take(walled)).widest
        met["touch"] = (wide[active] < here.wall) & (now >= here.wall)
        wide[active] = now
    for name, event in (("fold", Event.FOLD), ("lift_off", Event.LIFT_OFF)):
        met[name] = events == event
        getattr(found, name)[active[met[name]]] = point.mass[met[name]]
    for name, here_met in met.items():
        which = np.flatnonzero(here_met)
        if which.size:
            # At the end of a branch the stride ends at the event: look a little beyond it.
            reach = taken[which] if name in {"neck", "touch"} else 1.02 * taken[which] + 1e-6
            crossed[name].add(active[which], start.take(which), reach)
    walker.put(active, point)
    found.lightest[active] = point.mass
    ended = (events == Event.FOLD) | (events == Event.LIFT_OFF) | (point.mass < LIGHTEST)
    found.followed[active[ended]] = 1.0
    going: Index = active[~ended & (events != Event.STUCK)]
    return going


_VALUES: dict[str, Callable[[Cases, Point], Array]] = {
    "fold": lambda _, point: point.slope,
    "lift_off": lambda _, point: point.lift,
    "neck": lambda _, point: point.turn,
    "touch": lambda cases, point: cases.wall - shape(cases, point).widest,
}
