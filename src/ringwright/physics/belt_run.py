"""One belt or tape round its drum and past its wharves: tension, creep, slip and speed from place to place, and losses.

The belt comes slack off the drum, takes up pull at every wharve, and comes tight on to the drum again. The mass of belt
that passes is the same everywhere, so that it runs faster where it is stretched more: v = u (1 + T / E A), u the speed
of the belt unstretched. A surface goes with the belt where the belt comes on to it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.physics.belt import (
    Strip,
    belt_law,
    bend,
    bending_pull,
    creep,
    effective_radius,
    grip,
    shaft_load,
    wrap_of,
)
from ringwright.physics.real import Array

__all__ = ["Anchor", "BeltRun", "Drum", "Running", "Wharves", "run_belt"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drum:
    """The drum or pulley that drives the belt: diameter [m], wrap [rad], friction with the belt [1]."""

    diameter: float
    wrap: float
    friction: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Wharves:
    """The n wharves of one belt in the order in which the belt passes them, coming slack off the drum; each (n,).

    ``diameter`` [m]; ``laid`` the wrap that the belt's path gives [rad]; ``press`` the force across the belt that
    rollers put on each [N]; ``friction`` [1]; ``drag`` the pull that rollers after the wharve take [N]. ``power`` [W]
    is what the spindle takes at ``speed`` [rad/s]; it grows with the speed to the power ``exponent`` (above 1).
    ``bearing_arm`` is the moment in the bolster for each newton of the belt's load on it [m].
    """

    diameter: Array
    laid: Array
    press: Array
    friction: Array
    drag: Array
    power: Array
    speed: float
    exponent: float
    bearing_arm: float = 0.0

    def power_at(self, speed: Array) -> Array:
        """Return the power [W] that the spindles take at speeds [rad/s], the belt's load on the bolster left out."""
        return np.asarray(self.power * (speed / self.speed) ** self.exponent, dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """What holds the belt tight: fixed centres, or a weight or spring.

    Fixed: ``tension`` [N] is the pull in the belt at rest, and the belt keeps its length as it runs; ``slack_idle``
    and ``tight_idle`` are the lengths [m] without wharves before the first and after the last, ``pitch`` [m] the length
    from wharve to wharve. Loaded: ``tension`` is the contact tension that weight or spring holds, after the belt has
    passed ``place`` wharves.
    """

    tension: float
    fixed: bool
    place: int = 0
    pitch: float = 0.0
    slack_idle: float = 0.0
    tight_idle: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BeltRun:
    """A belt, its drum, its wharves and what holds it tight."""

    strip: Strip
    drum: Drum
    wharves: Wharves
    anchor: Anchor
    end_drag: float = 0.0
    """Pull taken by the belt's bends round drum and idle pulleys [N]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """A belt that runs; arrays are (n,), in the belt's order.

    ``slack`` and ``tight`` are contact tensions before and after each wharve [N], ``belt_speed`` where the belt comes
    on [m/s], ``spindle_speed`` [rad/s] and ``free_speed`` without slip, ``pull`` what each wharve takes [N], ``wanted``
    what it would take without slip, ``most_pull`` what friction can give. ``drum_speed`` [rad/s]. ``on_drum`` and
    ``off_drum`` are the contact tensions [N] of the belt that comes on to and goes off the drum; ``drum_margin`` is the
    most pull of the drum over what it gives.
    Powers [W]: ``load`` the spindles', ``bearing`` what the belt's load on the bolsters costs, ``sliding`` creep and
    slip at the wharves, ``drum_sliding``, ``bending`` and ``rollers`` in the belt's way, ``drawn`` at the drum.
    ``steady`` is False where no steady run was found: the drum slips, or the belt goes slack.
    """

    slack: Array
    tight: Array
    belt_speed: Array
    spindle_speed: Array
    free_speed: Array
    pull: Array
    wanted: Array
    most_pull: Array
    curvature: Array
    drum_speed: float
    neutral_height: float
    on_drum: float
    off_drum: float
    drum_margin: float
    load: Array
    bearing: Array
    sliding: Array
    drum_sliding: float
    bending: Array
    rollers: Array
    drawn: float
    steady: bool

    @property
    def margin(self) -> Array:
        """Most pull over the pull wanted at each wharve [1]; under 1 it slips."""
        return np.asarray(self.most_pull / self.wanted, dtype=np.float64)


def run_belt(run: BeltRun, drum_speed: float) -> Running:
    """Return how the belt runs at a drum speed [rad/s], by turns of tension and speed until neither moves.

    Range: a belt that is everywhere taut and a drum that does not slip (``steady`` says so); wharves may slip.
    """
    on_speed = drum_speed * (run.drum.diameter / 2 + run.strip.neutral_height)
    none = np.zeros(len(run.wharves.diameter))
    state = _step(run, on_speed, (none, none, run.anchor.tension))
    for _ in range(200):  # some fifteen are usual
        last, state = state, _step(run, on_speed, (state.pull, state.bends, state.slack_end))
        if abs(state.mark - last.mark) <= 1e-13 * abs(state.mark):
            break
    return _told(run, drum_speed, on_speed, state)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Round:
    """One round: what the belt does with the pulls of the round before, and the pulls that follow from it."""

    pull: Array
    bends: Array
    slack_end: float
    slack: Array
    speed: Array
    spindle: Array
    free: Array
    wanted: Array
    most: Array
    curvature: Array
    wrap: Array

    @property
    def mark(self) -> float:
        """A number that moves as long as the rounds do."""
        return float(np.sum(self.pull) + self.slack_end + np.mean(self.spindle) * 1e-3)


def _step(run: BeltRun, on_speed: float, before: tuple[Array, Array, float]) -> _Round:
    strip, wharves = run.strip, run.wharves
    pull, bends, slack_end = before
    risen = np.concatenate(([0.0], np.cumsum(pull + bends + wharves.drag)))
    flow = _unstretched(strip, on_speed, slack_end + risen[-1] + run.end_drag)
    slack_end = _slack_end(run, risen, flow)
    slack = np.maximum(slack_end + risen[:-1], 1e-9)
    speed = np.maximum(_speed(strip, flow, slack), 1e-9)
    wrap = wrap_of(slack, wharves.laid, wharves.press)
    curvature = bend(strip, slack, wrap, wharves.diameter / 2)
    arm = effective_radius(strip, curvature, wharves.diameter / 2)
    free = speed / arm
    bolster = wharves.bearing_arm * shaft_load(slack, slack + pull, wrap)
    wanted = wharves.power_at(free) / speed + bolster / arm
    most = grip(slack, wharves.friction, wrap)
    spindle = free.copy()
    slips = wanted > most
    driven = np.maximum(most * arm - bolster, 0.0)[slips] * wharves.speed / wharves.power[slips]
    spindle[slips] = np.minimum(wharves.speed * driven ** (1 / (wharves.exponent - 1)), free[slips])
    return _Round(
        pull=np.minimum(wanted, most), bends=bending_pull(strip, curvature), slack_end=slack_end, slack=slack,
        speed=speed, spindle=spindle, free=free, wanted=wanted, most=most,
        curvature=curvature, wrap=wrap,
    )  # fmt: skip


def _unstretched(strip: Strip, on_speed: float, on_tension: float) -> float:
    """Return the speed of the belt unstretched [m/s], which is the flow of belt, from its speed on to the drum."""
    flow = on_speed
    for _ in range(4):  # the stretch is small, so each turn gains its own square
        flow = on_speed / (1 + float(_strain(strip, flow, np.asarray(on_tension))))
    return flow


def _strain(strip: Strip, flow: float, contact: Array) -> Array:
    """Return the stretch of a belt in contact tension: with T the pull and q = m u2, contact = T - q (1 + T / E A)."""
    q = strip.mass * flow**2
    return creep((contact + q) / (1 - q / strip.stiffness), strip.stiffness)


def _speed(strip: Strip, flow: float, contact: Array) -> Array:
    return flow * (1 + _strain(strip, flow, contact))


def _slack_end(run: BeltRun, risen: Array, flow: float) -> float:
    """Return the contact tension [N] of the belt that comes off the drum."""
    anchor = run.anchor
    if not anchor.fixed:
        return anchor.tension - float(risen[anchor.place])
    # The belt keeps its length, so the mean of 1 / (1 + strain) over its path stays what it was at rest.
    stretches = np.concatenate((risen, [risen[-1] + run.end_drag]))
    lengths = np.full(len(stretches), anchor.pitch)
    lengths[[0, -2]] = anchor.pitch / 2  # half a pitch before the first and after the last wharve
    lengths[0] += anchor.slack_idle
    lengths[-1] = anchor.tight_idle
    share = lengths / lengths.sum()
    at_rest = 1 / (1 + anchor.tension / run.strip.stiffness)
    slack_end = anchor.tension - float(share @ stretches)
    for _ in range(6):
        strain = _strain(run.strip, flow, slack_end + stretches)
        error = float(share @ (1 / (1 + strain))) - at_rest
        slack_end += error * run.strip.stiffness
    return slack_end


def _told(run: BeltRun, drum_speed: float, on_speed: float, state: _Round) -> Running:
    strip, wharves, drum, tight = run.strip, run.wharves, run.drum, state.slack + state.pull
    on = float(tight[-1] + state.bends[-1] + wharves.drag[-1] + run.end_drag)
    flow = _unstretched(strip, on_speed, on)
    given, after = on - state.slack_end, _speed(strip, flow, tight + (state.bends + wharves.drag) / 2)
    arm = effective_radius(strip, state.curvature, wharves.diameter / 2)
    load = shaft_load(state.slack, tight, state.wrap)
    ends = run.end_drag * (float(_speed(strip, flow, np.asarray(on - run.end_drag))) + on_speed) / 2
    off_speed = float(_speed(strip, flow, np.asarray(state.slack_end)))
    margin = state.slack_end * float(belt_law(drum.friction, drum.wrap) - 1) / given
    return Running(
        slack=state.slack, tight=tight, belt_speed=state.speed, spindle_speed=state.spindle,
        free_speed=state.free, pull=state.pull,
        wanted=state.wanted, most_pull=state.most, curvature=state.curvature, drum_speed=drum_speed,
        neutral_height=strip.neutral_height, on_drum=on, off_drum=state.slack_end, drum_margin=margin,
        load=wharves.power_at(state.spindle),
        bearing=wharves.bearing_arm * load * state.spindle,
        sliding=state.pull * ((state.speed + _speed(strip, flow, tight)) / 2 - state.spindle * arm),
        drum_sliding=given * (on_speed - off_speed) / 2,
        bending=state.bends * after + ends / len(tight),
        rollers=wharves.drag * after, drawn=given * on_speed, steady=bool(state.slack_end > 0 and margin > 1),
    )  # fmt: skip
