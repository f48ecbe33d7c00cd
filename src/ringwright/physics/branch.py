"""Walk the taut branch: from a tight, nearly straight balloon towards lighter travellers, one event at a time."""

from __future__ import annotations

from collections.abc import Callable
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.cases import Array, Cases
from ringwright.physics.family import SMALL, WALKING, Point, correct, locate
from ringwright.physics.shoot import ANGLE, BEND
from ringwright.physics.traveller import balance
from ringwright.physics.triples import dot, length

__all__ = ["Event", "advance", "finer_where_rough", "hides_a_turn", "taut_start"]

# Guide tension TAUT h^2 + TIGHT from which the walk starts: about where the balloon is widest just at the ring, and
# twice the tension of the earliest folds (0.25 h^2 at h = 4, 0.15 h^2 at h = 14, without air).
TAUT = 0.36
TIGHT = 1.0
LEAST_STRIDE = 1e-5
AGAIN = 12
# Drift of the invariant, over T0, above which a walk goes on with twice the steps of integration.
ROUGH = 1e-7
STEPS_MOST = 64
# A stride that turns by more than 20 degrees is halved, lest a fold and the turn back hide in it.
STRAIGHT = 0.94
# A stride is chosen so that the way turns by about this angle (rad), if it goes on turning as it did.
TURN = 0.25
# The corrected point lies this near to the guess, in strides; farther off it belongs to another part of the curve.
ASIDE = 0.35
_ONE_WAY = np.array([[-1.0], [0.0], [0.0]])


class Event(IntEnum):
    """What ended a stride."""

    NONE = 0
    FOLD = 1
    LIFT_OFF = 2
    CONTACT = 3
    """The balloon comes to the control ring."""
    RELEASE = 4
    """The balloon leaves the control ring."""
    STUCK = 5


def _straight(cases: Cases, tension: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Guess unknowns for a taut balloon of that guide tension (no air, small slopes), and whether it meets the ring."""
    length = np.sqrt(tension)
    whole, upper = cases.height / length, cases.control_depth / length
    with np.errstate(all="ignore"):
        free = np.sin(upper) / np.sin(whole)
    contact = (cases.control_radius > 0.0) & (free > cases.control_radius)
    with np.errstate(all="ignore"):
        b, lower = cases.control_radius, whole - upper
        angle = np.where(contact, b / np.sin(upper), 1.0 / np.sin(whole)) / length
        before = b / np.tan(upper) / length
        after = (1.0 - b * np.cos(lower)) / np.sin(lower) / length
        bend = np.where(contact, np.arctan(after) - np.arctan(before), 0.0)
    return np.stack([np.log(tension), ANGLE * np.arctan(angle), BEND * np.maximum(bend, 0.0)]), contact


def _tension_for(cases: Cases) -> Array:
    """Estimate the guide tension that the traveller gives a straight yarn; balances there are linear in tension."""
    along = np.hypot(1.0, cases.height)
    pull = np.stack([1.0 / along, np.zeros_like(along), cases.height / along])
    mass = balance(cases, pull).mass
    return np.where(mass > 0.0, cases.mass / np.where(mass > 0.0, mass, 1.0), 0.0)


def taut_start(cases: Cases, steps: NDArray[np.int_]) -> Point:
    """Find, for each case, a taut balloon that asks for at least the case's own traveller mass."""
    tension = np.maximum(TAUT * cases.height**2 + TIGHT, 1.3 * _tension_for(cases))
    start = _taut(cases, tension, steps)
    for _ in range(12):
        light = np.flatnonzero(start.good & (start.mass < cases.mass))
        if not light.size:
            break
        tension[light] *= np.clip(1.2 * cases.mass[light] / start.mass[light], 1.2, 4.0)
        start.put(light, _taut(cases.take(light), tension[light], steps[light]))
    return start


def _taut(cases: Cases, tension: Array, steps: NDArray[np.int_]) -> Point:
    guess, contact = _straight(cases, tension)
    like = np.broadcast_to(_ONE_WAY, guess.shape)
    point = correct(cases, guess, like, contact, steps)
    wrong = (~contact & (point.gap > 0.0)) | (contact & (point.w[2] < 0.0))
    if wrong.any():  # the guess erred on whether the control ring is met: try the other way
        i = np.flatnonzero(wrong)
        point.put(i, correct(cases.take(i), guess[:, i], like[:, i], ~contact[i], steps[i]))
    return point


def hides_a_turn(before: Point, after: Point, stride: Array) -> NDArray[np.bool_]:
    """Say whether the mass, falling at both ends of a stride, may have risen between them (cubic through both)."""
    with np.errstate(all="ignore"):  # past lift-off the slope is no number; no turn is claimed there
        first, last = before.slope * stride, after.slope * stride
        change = after.mass - before.mass
        curve, bow = 3.0 * change - 2.0 * first - last, first + last - 2.0 * change
        at = np.clip(-curve / (3.0 * bow), 0.0, 1.0)
        at = np.where(np.isfinite(at), at, 0.5)
        most = np.maximum(first + 2.0 * at * curve + 3.0 * at * at * bow, np.maximum(first, last))
    return (most > 0.0) & (first < 0.0) & (last < 0.0)


def _stride(cases: Cases, start: Point, stride: Array) -> tuple[Point, Array]:
    """Take a stride; halve it where the corrector fails, the way turns sharply, or a turn of the mass may hide."""
    bend = length(start.curve)
    stride = np.minimum(stride, TURN / np.maximum(bend, TURN))
    guess = start.w + stride * start.ahead + 0.5 * stride**2 * start.curve
    point = correct(cases, guess, start.ahead, start.contact, start.steps, WALKING)
    for _ in range(14):
        straight = dot(point.ahead, start.ahead) > STRAIGHT
        aside = point.w - start.w - stride * start.ahead
        near = dot(aside, aside) < (ASIDE * stride) ** 2
        poor = (
            ~point.good
            | ~straight
            | ~near
            | (point.side != start.side)
            | (hides_a_turn(start, point, stride) & (stride > 0.02))
        )
        again = np.flatnonzero(poor & (stride > LEAST_STRIDE))
        if not again.size:
            break
        stride[again] *= 0.5
        part = start.take(again)
        guess = part.w + stride[again] * part.ahead + 0.5 * stride[again] ** 2 * part.curve
        point.put(again, correct(cases.take(again), guess, part.ahead, part.contact, part.steps, WALKING))
    # Kept across the way ahead, so that a guess with it lies in the same plane as one without.
    curve = (point.ahead - start.ahead) / stride
    point.curve = curve - dot(curve, point.ahead) * point.ahead
    return point, stride


Value = Callable[[Cases, Point], Array]
_VALUES: dict[Event, Value] = {
    Event.FOLD: lambda _, p: p.slope,
    Event.LIFT_OFF: lambda _, p: p.lift,
    Event.CONTACT: lambda _, p: p.gap,
    Event.RELEASE: lambda _, p: p.w[2],
}


# The mass is stationary at a fold, and contact only begins at its place: neither need be known closely.
_SMALL = {Event.FOLD: 1e-6, Event.CONTACT: 1e-5}


def finer_where_rough(cases: Cases, point: Point) -> Point:
    """Double the steps of points whose integration errs visibly, as wide and necked balloons do."""
    rough = np.flatnonzero((point.drift > ROUGH) & (point.steps < STEPS_MOST))
    if rough.size:
        part = point.take(rough)
        steps = np.minimum(2 * part.steps, STEPS_MOST)
        finer = correct(cases.take(rough), part.w, part.ahead, part.contact, steps)
        finer.curve = part.curve
        point.put(rough[finer.good], finer.take(finer.good))
    return point


def advance(cases: Cases, start: Point, stride: Array) -> tuple[Point, Array, NDArray[np.int_]]:
    """Move along the branch by ``stride`` or to the first event before it.

    Gives the new points, the strides taken, and the events.  At CONTACT and RELEASE the point is already on the
    family beyond; at FOLD and LIFT_OFF it stands at the event.
    """
    return _checked(cases, start, *_advance(cases, start, stride))


def _checked(
    cases: Cases, start: Point, point: Point, taken: Array, events: NDArray[np.int_]
) -> tuple[Point, Array, NDArray[np.int_]]:
    """Take again, by half the stride, what ended on another curve: there the way turns over or the mass is greater."""
    for _ in range(AGAIN):
        ended = (events != Event.NONE) & (events != Event.STUCK)
        astray = (point.side != start.side) | (point.mass > start.mass * (1.0 + 1e-9)) | ~point.good
        wrong = np.flatnonzero(ended & astray & (taken > LEAST_STRIDE))
        if not wrong.size:
            break
        part = start.take(wrong)
        again, lengths, ends = _advance(cases.take(wrong), part, 0.5 * taken[wrong])
        point.put(wrong, again)
        taken[wrong], events[wrong] = lengths, ends
    return _go_over(cases, point, taken, events)


def _advance(cases: Cases, start: Point, stride: Array) -> tuple[Point, Array, NDArray[np.int_]]:
    """Move to the end of the stride or to the first event, on the family of the start."""
    point, taken = _stride(cases, start, stride)
    events = np.where(point.good, Event.NONE, Event.STUCK).astype(np.int_)
    happened = {
        Event.LIFT_OFF: point.lift <= 0.0,
        Event.FOLD: point.slope >= 0.0,
        Event.CONTACT: ~start.contact & (point.gap > 0.0),
        Event.RELEASE: start.contact & (point.w[2] < 0.0),
    }
    reach = taken.copy()
    for event, flag in happened.items():
        where = np.flatnonzero(flag & point.good)
        if not where.size:
            continue
        here, part = cases.take(where), start.take(where)
        found, at = locate(here, part, reach[where], _VALUES[event], small=_SMALL.get(event, SMALL))
        first = at <= taken[where]
        chosen = where[first]
        point.put(chosen, found.take(first))
        taken[chosen], events[chosen] = at[first], event
    return point, taken, events


def _go_over(
    cases: Cases, point: Point, taken: Array, events: NDArray[np.int_]
) -> tuple[Point, Array, NDArray[np.int_]]:
    """Go over to the other family where the balloon comes to the control ring or leaves it."""
    for event in (Event.CONTACT, Event.RELEASE):
        where = np.flatnonzero(events == event)
        if where.size:
            point.put(where, _switch(cases.take(where), point.take(where), event))
            turned = where[point.slope[where] >= 0.0]
            events[turned] = Event.FOLD
    return point, taken, events


def _switch(cases: Cases, at: Point, event: Event) -> Point:
    """Go over between the free family and the one that touches the control ring, at their common balloon."""
    w = at.w.copy()
    w[2] = 0.0
    contact = np.full(len(cases), event is Event.CONTACT)
    like = np.zeros_like(w)
    if event is Event.CONTACT:
        like[2] = 1.0
        return correct(cases, w, like, contact, at.steps)
    like = at.ahead.copy()
    like[2] = 0.0
    point = correct(cases, w, like, contact, at.steps)
    tried = correct(cases, point.w + 1e-3 * point.ahead, point.ahead, contact, at.steps)
    point.ahead = np.where(tried.gap > point.gap, -point.ahead, point.ahead)
    point.slope = np.where(tried.gap > point.gap, -point.slope, point.slope)
    point.side = np.where(tried.gap > point.gap, -point.side, point.side)
    return point
