"""One run: a doff's parts with a course of speeds, and what it makes and asks of yarn and traveller."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import minimize, minimize_scalar

from ringwright.economy.cost import Cost, Ground, cost_per_kg, ground
from ringwright.economy.counting import Counted
from ringwright.improve.corners import Road, drivable, quickest
from ringwright.improve.course import in_steps, rounded
from ringwright.improve.demand import Demand, demands, spun_doff
from ringwright.improve.drive import Drive, SpeedCourse, course_as_set
from ringwright.improve.envelope import doff_envelope
from ringwright.improve.respun import respun
from ringwright.judgement.stated import HEAT, STRENGTH
from ringwright.mill import Limit, Mill
from ringwright.physics.production import production_rate
from ringwright.physics.real import Array
from ringwright.setting.choice import Choice, Trial
from ringwright.setting.doff import Doff, solve_doff
from ringwright.setting.places import Sampling

__all__ = ["Priced", "Run", "cost_of", "flattest_course", "priced", "run_of", "whole_doff"]

TRIES = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Parts and speeds together, with the mean speed [rad/s] and the highest tension [N] and heat [W] of the doff."""

    choice: Choice
    course: SpeedCourse
    mean_speed: float
    production: float
    """Yarn made by one spindle [kg/s] at the setting's efficiency."""
    doff_time: float
    tension: float
    """Largest tension at the spinning triangle [N]."""
    heat: float
    """Largest rubbing power of the traveller on the ring [W]."""
    cost: Cost | None = None


def whole_doff(mill: Mill, choice: Choice, sampling: Sampling | None = None) -> Doff:
    """Solve the doff of a choice whose parts or speeds are not those of the mill's files."""
    frame, setting = choice.frame, choice.setting
    changed = mill.model_copy(
        update={
            "frames": mill.frames | {frame.name: frame},
            "settings": mill.settings | {setting.name: setting},
        }
    )
    tried = Trial(traveller_mass=choice.traveller.mass)
    return solve_doff(changed, frame.name, choice.yarn.name, tried, sampling)


def run_of(doff: Doff, course: SpeedCourse, limits: Mapping[str, Limit], cost: Cost | None = None) -> Run:
    """Run a solved doff at a course of speeds, by similarity."""
    problem, choice = doff.problem, doff.choice
    turns = float(problem.twist * problem.yarn_length)
    mean = course.mean_speed(turns)
    found = {d.kind.key: d for d in demands(spun_doff(doff), choice.frame, choice.yarn, limits)}
    return Run(
        choice=choice,
        course=course,
        mean_speed=mean,
        production=float(production_rate(mean, problem.twist, choice.yarn.count, choice.setting.efficiency)),
        doff_time=course.doff_time(turns),
        tension=_most(doff, found[STRENGTH.key], course),
        heat=_most(doff, found[HEAT.key], course),
        cost=cost,
    )


def _most(doff: Doff, demand: Demand, course: SpeedCourse) -> float:
    return float(np.nanmax(demand.per_speed * course.at(doff.places.share) ** demand.power))


def flattest_course(doff: Doff, limits: Mapping[str, Limit], drive: Drive, speed: float) -> SpeedCourse | None:
    """Give the course of least peak tension at a mean speed [rad/s] under the limits; None if it is out of reach.

    The envelope is pressed down to one tension throughout, and the tension is halved in on.
    """
    choice, turns = doff.choice, float(doff.problem.twist * doff.problem.yarn_length)
    found = [d for d in demands(spun_doff(doff), choice.frame, choice.yarn, limits) if d.limit is not None]
    strength = next(d for d in demands(spun_doff(doff), choice.frame, choice.yarn, limits) if d.kind is STRENGTH)

    def under(tension: float) -> Road:
        envelope = doff_envelope(doff, (*found, replace(strength, limit=tension)))
        return Road(share=envelope.share, speed=envelope.speed, drive=drive, angle=2 * np.pi * turns)

    ask = strength.per_speed
    top = float(np.nanmax(ask)) * float(doff_envelope(doff, found).speed.max()) ** 2
    best = quickest(under(top))
    if best is None or best.mean_speed(turns) < speed * (1 - 1e-4):
        return None
    low, high = 0.5 * float(np.nanmin(ask)) * speed**2, top
    for _ in range(TRIES):
        middle = (low + high) / 2
        course = quickest(under(middle))
        if course is not None and course.mean_speed(turns) >= speed * (1 - 1e-4):
            best, high = course, middle
        else:
            low = middle
    return in_steps(under(high), best)


SLOWEST = 0.3
"""Lowest counting tension that is priced, as a share of the highest at the limits; the speed goes with its root."""
POLISH, POLISH_TRIES = 0.01, 60
"""First move of the speeds that are polished, as a share of them, and how many courses are tried."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """What a run costs, reckoned from the ground of the present setting."""

    ground: Ground

    def cost(self, doff: Doff, course: SpeedCourse) -> Cost:
        """Give the cost of a kilogram of a doff at a course of speeds, by similarity."""
        return cost_per_kg(respun(doff, course), self.ground)

    def as_set(self, run: Run, doff: Doff) -> Run:
        """Give the present run with its cost."""
        return replace(run, cost=cost_per_kg(doff, self.ground))

    def cheapest(self, doff: Doff, limits: Mapping[str, Limit], drive: Drive) -> Run:
        """Give the run of least cost per kg: the envelope pressed down to one counting tension, which is sought.

        It is sought for a drive that follows every stroke; the course of this drive then starts from the quickest under
        it, and its speeds are moved to where they cost least.
        """
        turns = float(doff.problem.twist * doff.problem.yarn_length)
        held = [d for d in demands(spun_doff(doff), doff.choice.frame, doff.choice.yarn, limits) if d.limit is not None]
        counting = _counting_demand(doff, self.ground.stress.shape)

        def under(tension: float) -> Road:
            envelope = doff_envelope(doff, (*held, replace(counting, limit=tension)))
            return Road(share=envelope.share, speed=envelope.speed, drive=drive, angle=2 * np.pi * turns)

        def loss(tension: float) -> float:
            road = under(tension)
            speeds = tuple(float(speed) for speed in np.maximum(road.most(road.share), drive.least))
            return self.cost(doff, SpeedCourse(shares=tuple(map(float, road.share)), speeds=speeds)).total

        top = float(np.max(counting.per_speed)) * float(doff_envelope(doff, held).speed.max()) ** 2
        sought = minimize_scalar(loss, bounds=(SLOWEST * top, top), method="bounded", options={"xatol": 2e-3 * top})
        road = under(float(sought.x))
        found = quickest(road)
        if found is None:  # the limits leave no more than the drive's least speed: study_course has refused it already
            raise ValueError("no course under the limits can be driven")
        envelope = doff_envelope(doff, held)
        free = replace(road, share=envelope.share, speed=envelope.speed)
        course = rounded(self._polished(doff, free, found), drive)
        run = run_of(doff, course, limits, self.cost(doff, course))
        return min([run, *self._own_course(doff, held, limits)], key=cost_of)

    def _polished(self, doff: Doff, road: Road, course: SpeedCourse) -> SpeedCourse:
        """Move the speeds of a course to where it costs least; main stays one speed in a setting's course."""
        level = road.drive.corners == 0

        def moved(factors: Array) -> SpeedCourse:
            each = np.insert(factors, 3, factors[2]) if level else factors
            return replace(course, speeds=tuple(float(s * f) for s, f in zip(course.speeds, each, strict=True)))

        def loss(factors: Array) -> float:
            trial = moved(factors)
            return self.cost(doff, trial).total if drivable(road, trial) else np.inf

        size = len(course.speeds) - level
        simplex = np.vstack([np.ones(size), np.ones(size) + POLISH * np.eye(size)])
        options = {"maxfev": POLISH_TRIES, "initial_simplex": simplex, "xatol": 1e-4, "fatol": 1e-7}
        found = minimize(loss, np.ones(size), method="Nelder-Mead", options=options)
        return moved(found.x)

    def _own_course(self, doff: Doff, held: Sequence[Demand], limits: Mapping[str, Limit]) -> list[Run]:
        """Give the run at the setting's own course, if that keeps every limit."""
        envelope, course = doff_envelope(doff, held), course_as_set(doff.choice.setting)
        if np.any(course.at(envelope.share) > envelope.speed * (1 + 1e-9)):
            return []
        return [run_of(doff, course, limits, self.cost(doff, course))]


def cost_of(run: Run) -> float:
    """Give what a priced run costs for 1 kg; inf for one that has no price."""
    return np.inf if run.cost is None else run.cost.total


def _counting_demand(doff: Doff, shape: float) -> Demand:
    """Give the tension that counts for breaks in each stroke as a demand: the root of the mean of T^m over its yarn."""
    per_speed = doff.forces.triangle_tension / doff.places.spindle_speed**2
    top = float(np.max(per_speed))
    strokes = top * np.mean((per_speed / top).reshape(-1, doff.places_per_stroke) ** shape, axis=1) ** (1 / shape)
    return Demand(kind=STRENGTH, power=2, per_speed=np.repeat(strokes, doff.places_per_stroke), limit=None)


def priced(mill: Mill, present: Doff, counted: Counted | None = None) -> Priced:
    """Give what runs are priced by; Refusal where the present doff has places without a steady balloon."""
    if counted is None:
        return Priced(ground=ground(mill, present))
    return Priced(ground=ground(mill, present, counted.rate, slope=counted.slope, counted=True))
