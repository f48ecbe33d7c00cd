"""The best course of speeds through a doff, with what it gains, which limit holds it where, and what each would pay."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ringwright.improve.corners import Road, quickest
from ringwright.improve.demand import Demand, demands, spun_doff
from ringwright.improve.drive import RPM, Drive, SpeedCourse, constant, course_as_set
from ringwright.improve.envelope import Envelope, doff_envelope
from ringwright.improve.shape import Breach, refuse_unsteady, shape_breaches
from ringwright.judgement.room import Authority, Kind, told
from ringwright.mill import Limit
from ringwright.physics.production import production_rate
from ringwright.refusal import Fault, Refusal
from ringwright.setting.doff import Doff
from ringwright.units import show

__all__ = ["RELAXED", "CourseStudy", "Hold", "Relaxation", "best_course", "in_steps", "rounded", "study_course"]

RELAXED = 0.05
"""Share by which each limit is relaxed to see what it would pay."""
BINDS = 0.998
"""Share of a limit's speed from which the limit is said to hold the course there."""
PASSED = 1.001
"""Share of a limit used from which it counts as passed; a thousandth is the rounding of what is shown."""
WORTH_MOVING = 1e-3
"""Gain in doff time below which the corners stay where the mill has them."""
SHARE_STEP, SPEED_STEP = 1e-3, 10 * RPM
ROUNDING = 0.01
"""Share of a step of speed that the search may leave: 0.1 rpm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """How a limit stands against a course: its value where it is nearest, and where it holds the course.

    ``minute`` is the time [s] into the doff at which it is nearest. ``holds`` are the spans of time [s] in which the
    course runs at the limit; empty where it never does. ``limit`` is None where none is stated.
    """

    kind: Kind
    authority: Authority | None
    value: float
    limit: float | None
    time: float
    holds: tuple[tuple[float, float], ...]

    @property
    def used(self) -> float | None:
        """Share of the limit that is used where it is nearest."""
        return None if self.limit is None else self.value / self.limit

    @property
    def words(self) -> str:
        """Tell the value, the limit and the minute."""
        if self.limit is None:
            return f"at most {told(self.value, self.kind)}, minute {self.time / 60:.0f}; no limit is stated"
        return f"{told(self.value, self.kind)} of {told(self.limit, self.kind)}, minute {self.time / 60:.0f}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxation:
    """What a limit relaxed by 5 % would gain, as a share of production."""

    kind: Kind
    gain: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseStudy:
    """The best course of a doff beside the present one and the best constant speed.

    ``turns`` are the spindle's turns in the doff. ``breaches`` are limits of the balloon's shape that no speed mends.
    """

    doff: Doff
    drive: Drive
    demands: tuple[Demand, ...]
    """Those with a limit, in the order of the envelope's rows."""
    envelope: Envelope
    turns: float
    present: SpeedCourse
    flat: SpeedCourse
    best: SpeedCourse
    holds: tuple[Hold, ...]
    present_holds: tuple[Hold, ...]
    relaxations: tuple[Relaxation, ...]
    breaches: tuple[Breach, ...]
    at_high_friction: tuple[Hold, ...] = ()
    """Limits that the best course passes if the ring's friction is at the high end of its band."""

    def production(self, course: SpeedCourse) -> float:
        """Yarn made by one spindle [kg/s], at the setting's efficiency."""
        choice = self.doff.choice
        mean = course.mean_speed(self.turns)
        return float(production_rate(mean, self.doff.problem.twist, choice.yarn.count, choice.setting.efficiency))

    def gain(self, over: SpeedCourse) -> float:
        """Share by which the best course makes more than another."""
        return over.doff_time(self.turns) / self.best.doff_time(self.turns) - 1


def study_course(
    doff: Doff, limits: Mapping[str, Limit], drive: Drive, at_high_friction: Doff | None = None
) -> CourseStudy:
    """Find the best course of a doff under its limits and its drive.

    The doff's own speeds play no part. ``at_high_friction`` is the same doff at the high end of the ring's friction,
    to say which limits the best course would pass there. Raises Refusal where a place has no steady balloon, and where
    a limit asks for less than the drive's least speed.
    """
    refuse_unsteady(doff)
    everything = demands(spun_doff(doff), doff.choice.frame, doff.choice.yarn, limits)
    held = tuple(demand for demand in everything if demand.limit is not None)
    envelope = doff_envelope(doff, held)
    turns = float(doff.problem.twist * doff.problem.yarn_length)
    present = course_as_set(doff.choice.setting)
    _refuse_contradiction(doff, held, envelope, drive)
    best = best_course(envelope, drive, turns, present)
    flat = constant(_floor(float(_road(envelope, drive, turns).most(envelope.share).min()), drive))
    return CourseStudy(
        doff=doff,
        drive=drive,
        demands=held,
        envelope=envelope,
        turns=turns,
        present=present,
        flat=flat,
        best=best,
        holds=tuple(_hold(doff, demand, best, turns) for demand in everything),
        present_holds=tuple(_hold(doff, demand, present, turns) for demand in everything),
        relaxations=_relaxations((envelope, drive, turns), held),
        breaches=shape_breaches(doff, limits),
        at_high_friction=() if at_high_friction is None else _passed(at_high_friction, limits, best, turns),
    )


def best_course(envelope: Envelope, drive: Drive, turns: float, present: SpeedCourse) -> SpeedCourse:
    """Give the quickest course, told in steps of 0.1 % of the doff and 10 rpm, rounded down.

    Corners of a setting's course stay where ``present`` has them if moving them would gain less than 0.1 %.
    """
    road = _road(envelope, drive, turns)
    found = quickest(road)
    if found is None:
        raise ValueError("a course at the least speed of the envelope can always be driven; none was found")
    if drive.corners == 0:
        kept = quickest(road, present.shares)
        if kept is not None and kept.doff_time(turns) <= found.doff_time(turns) * (1 + WORTH_MOVING):
            return _told(kept, drive)
    return in_steps(road, found)


def in_steps(road: Road, found: SpeedCourse) -> SpeedCourse:
    """Tell a course in steps of 0.1 % of the doff and 10 rpm, its speeds found anew for the rounded places."""
    stepped = quickest(road, _stepped(found.shares, as_setting=road.drive.corners == 0))
    return _told(stepped or found, road.drive)


def _road(envelope: Envelope, drive: Drive, turns: float) -> Road:
    return Road(share=envelope.share, speed=envelope.speed, drive=drive, angle=2 * np.pi * turns)


def _stepped(shares: Sequence[float], *, as_setting: bool) -> tuple[float, ...]:
    """Round shares to whole steps, a setting's base to two of them so that its middle is one."""
    rounded = [round(share / SHARE_STEP) * SHARE_STEP for share in shares]
    if as_setting:
        rounded[2] = round(shares[2] / (2 * SHARE_STEP)) * 2 * SHARE_STEP
        rounded[1] = rounded[2] / 2
    return tuple(rounded)


def _floor(speed: float, drive: Drive) -> float:
    return max(float(np.floor(speed / SPEED_STEP + ROUNDING)) * SPEED_STEP, drive.least)


def rounded(course: SpeedCourse, drive: Drive) -> SpeedCourse:
    """Tell a course in steps of 0.1 % of the doff and 10 rpm, its speeds rounded down where they stand."""
    shares = _stepped(course.shares, as_setting=drive.corners == 0)
    return _told(replace(course, shares=shares), drive)


def _told(course: SpeedCourse, drive: Drive) -> SpeedCourse:
    return SpeedCourse(shares=course.shares, speeds=tuple(_floor(speed, drive) for speed in course.speeds))


def _relaxations(way: tuple[Envelope, Drive, float], held: Sequence[Demand]) -> tuple[Relaxation, ...]:
    """Solve again with each limit relaxed that sets the envelope anywhere; the others can pay nothing alone."""
    envelope, drive, turns = way
    before = quickest(_road(envelope, drive, turns))
    rows = np.unique(envelope.binding)
    found = []
    for number in rows:
        wider = envelope.by_limit.copy()
        wider[number] *= (1 + RELAXED) ** (1 / held[number].power)
        after = quickest(_road(replace(envelope, by_limit=wider), drive, turns))
        if before is not None and after is not None:
            gain = before.doff_time(turns) / after.doff_time(turns) - 1
            found.append(Relaxation(kind=held[number].kind, gain=max(gain, 0.0)))
    return tuple(sorted(found, key=lambda one: -one.gain))


def _hold(doff: Doff, demand: Demand, course: SpeedCourse, turns: float) -> Hold:
    """Hold a course against one limit, place by place."""
    share, row = doff.places.share, doff.places_per_stroke
    value = demand.per_speed * course.at(share) ** demand.power
    worst = int(np.argmax(value))
    times = course.time(share, turns)
    holds: list[tuple[float, float]] = []
    if demand.limit is not None:
        near = (course.at(share) >= BINDS * demand.speed).reshape(-1, row).any(axis=1)
        starts = times[::row]
        ends = np.append(starts[1:], course.doff_time(turns))
        for number in np.flatnonzero(near):
            if holds and holds[-1][1] == starts[number]:
                holds[-1] = (holds[-1][0], float(ends[number]))
            else:
                holds.append((float(starts[number]), float(ends[number])))
    return Hold(
        kind=demand.kind,
        authority=demand.authority,
        value=float(value[worst]),
        limit=demand.limit,
        time=float(times[worst]),
        holds=tuple(holds),
    )


def _passed(doff: Doff, limits: Mapping[str, Limit], course: SpeedCourse, turns: float) -> tuple[Hold, ...]:
    steady = np.isfinite(doff.forces.triangle_most)
    if not steady.all():
        return ()
    everything = demands(spun_doff(doff), doff.choice.frame, doff.choice.yarn, limits)
    holds = (_hold(doff, demand, course, turns) for demand in everything)
    return tuple(hold for hold in holds if hold.used is not None and hold.used > PASSED)


def _refuse_contradiction(doff: Doff, held: Sequence[Demand], envelope: Envelope, drive: Drive) -> None:
    """Raise Refusal where the limits ask for less speed than the drive's least: say which, where and by how much."""
    worst = int(np.argmin(envelope.speed))
    if envelope.speed[worst] >= drive.least:
        return
    demand = held[int(envelope.binding[worst])]
    minute = float(doff.places.time[np.argmin(np.abs(doff.places.share - envelope.share[worst]))]) / 60
    most = show(float(envelope.speed[worst]), "rotation", "rpm", 0)
    limit = told(demand.limit or 0.0, demand.kind)
    raise Refusal(
        Fault(
            where="the least speed of the drive",
            got=f"{show(drive.least, 'rotation', 'rpm')}, which fights the limit {demand.kind.name} ({limit}) "
            f"at minute {minute:.0f} of the present doff",
            wants=f"at most {most}, the highest speed that keeps this limit there",
            mend="Lower the least speed, or raise the limit if its owner agrees.",
        )
    )
