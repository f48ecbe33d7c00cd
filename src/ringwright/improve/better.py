"""Better parts for a setting: what to change, what it is worth, the front, and the limits that hold it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ringwright.economy.counting import Counted
from ringwright.improve.answers import (
    Front,
    Relaxed,
    Single,
    fronts,
    plainest,
    relaxed_limits,
    shortlist,
    single_changes,
)
from ringwright.improve.course import CourseStudy, study_course
from ringwright.improve.drive import Drive, course_as_set
from ringwright.improve.front import AGAINST, least_at
from ringwright.improve.parts import Axis, Reach, axes_for, changes, with_parts
from ringwright.improve.pricing import Pricing, pricing_for
from ringwright.improve.refused import refuse_none, refuse_out_of_reach, told_lack
from ringwright.improve.run import Priced, Run, cost_of, flattest_course, priced, run_of, whole_doff
from ringwright.improve.search import MOST, Also, Found, search, try_picks
from ringwright.improve.shape import Breach, shape_breaches
from ringwright.improve.tried import Bench, bench_for
from ringwright.improve.watch import NOBODY, Watch
from ringwright.mill import Mill
from ringwright.physics.outcome import Outcome
from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal, nearest
from ringwright.setting.choice import AS_SET, Choice, Trial, choose
from ringwright.setting.doff import Doff, solve_doff
from ringwright.setting.places import Sampling

__all__ = ["AIMS", "PartsStudy", "Question", "seek"]

AIMS = ("production", "cost", "tension")
FINE = Sampling(strokes=40, places=13)
ENOUGH = 0.999
"""Share of the most production that counts as the most; the rest is given for less tension."""
ALIKE = 1.01
"""Two answers within 1 % count as alike: the one that changes fewer parts is taken."""
ALIKE_COST = 1.001
"""Two costs within 0.1 % count as alike."""
FEW = 4
"""Candidates solved over the whole doff after a search that was stopped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What is asked: a frame and yarn of a mill, the aim, and what the drive and the parts allow.

    ``production`` [kg/s of one spindle] is what must be made at least when the least tension is sought; None means as
    much as the present setting makes.
    """

    mill: Mill
    frame: str
    yarn: str
    aim: str = "production"
    trial: Trial = AS_SET
    drive: Drive = field(default_factory=Drive)
    reach: Reach = field(default_factory=Reach)
    production: float | None = None
    most: int = MOST
    counted: Counted | None = None
    """The mill's own break counts, where a cost rests on them."""
    with_fronts: bool = True
    """Whether the trade-offs of production against tension, heat and cost are wanted too."""

    def __post_init__(self) -> None:
        if self.aim not in AIMS:
            wants = f"one of {', '.join(AIMS)}"
            raise Refusal(Fault(where="the aim", got=f'"{self.aim}"', wants=wants, mend=nearest(self.aim, AIMS)))


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsStudy:
    """The answer to a question: the run as set, the best run, and what lies around it.

    ``as_set`` is None where a place of the present doff has no steady balloon; ``breaches`` are the limits of shape
    that it passes. ``speeds_alone`` is the best run with the parts as they are, None where these break a limit.
    ``speed`` [rad/s] is the mean speed at which tensions and heats are compared.
    """

    question: Question
    axes: tuple[Axis, ...]
    found: Found
    as_set: Run | None
    breaches: tuple[Breach, ...]
    speeds_alone: Run | None
    best: Run
    changed: tuple[tuple[Axis, int], ...]
    course: CourseStudy
    """Of the best parts, at their limits."""
    speed: float
    singles: tuple[Single, ...]
    first: Run | None
    """The first of the singles with the speeds set anew, where cost is sought."""
    fronts: tuple[Front, ...]
    relaxed: tuple[Relaxed, ...]

    @property
    def lacking(self) -> tuple[str, ...]:
        """What the parts as set lack in room, each in words; empty where they keep every limit of shape."""
        return told_lack(self.found, 0)

    @property
    def tension_with_parts_as_set(self) -> float:
        """Least peak tension [N] of the parts as they are at ``speed``; inf where these break a limit."""
        return float(least_at(self.found.tried, self.found.weights, self.speed, AGAINST["tension"])[0])

    def production_at(self, speed: float) -> float:
        """Yarn made by one spindle [kg/s] at a mean speed [rad/s]."""
        return self.best.production * speed / self.best.mean_speed

    @property
    def at_end(self) -> tuple[Axis, ...]:
        """The changed parts whose step is the last within their reach."""
        return tuple(axis for axis, step in self.changed if step in {0, len(axis.steps) - 1})


def seek(question: Question, watch: Watch = NOBODY) -> PartsStudy:
    """Seek better parts and speeds; the watcher hears of the progress and may end the search early.

    Raises Refusal where no candidate keeps every limit (naming two that fight), or the production is out of reach.
    """
    mill = question.mill
    choice = choose(mill, question.frame, question.yarn, question.trial)
    axes = axes_for(choice, question.reach)
    present = solve_doff(mill, question.frame, question.yarn, question.trial)
    ground = priced(mill, present, question.counted) if question.aim == "cost" else None
    bench = bench_for(choice, mill.limits)
    found = search(bench, axes, watch, question.most, None if ground is None else _cheapest_of(bench, ground))
    refuse_none(found)
    speed = _compared_at(question, found, present)
    coarse = None if ground is None else pricing_for(bench, ground.ground, course_as_set(choice.setting), found.tried)
    watch.tell("solving the best candidates over the whole doff")
    fine, pricing = _fine(choice, found, _worth_a_doff(question, found, speed, (coarse, watch)), question, ground)
    prices = None if pricing is None else pricing.least(fine.tried)
    watch.tell("setting the best candidates' speeds through the doff")
    number, best, study = _best(question, choice, fine, speed, (ground, prices))
    steady = bool(np.all(present.forces.outcome == Outcome.STEADY))
    as_set = run_of(present, course_as_set(choice.setting), mill.limits) if steady else None
    singles = single_changes(found if prices is None else fine, speed, prices)
    return PartsStudy(
        question=question,
        axes=axes,
        found=found,
        as_set=ground.as_set(as_set, present) if ground is not None and as_set is not None else as_set,
        breaches=shape_breaches(present, mill.limits) if steady else (),
        speeds_alone=_run(question, present, speed, ground) if fine.tried.keeps[0] else None,
        best=best,
        changed=changes(axes, fine.picks[number]),
        course=study,
        speed=speed,
        singles=singles,
        first=_first(question, choice, axes, singles, (speed, ground)),
        fronts=fronts(fine, pricing) if question.with_fronts else (),
        relaxed=relaxed_limits(found, mill.limits, speed, question.aim, coarse),
    )


def _cheapest_of(bench: Bench, ground: Priced) -> Also:
    """Give what names the cheapest candidate of a search, priced all at once over the coarse doff."""

    def cheapest(found: Found) -> tuple[int, ...]:
        pricing = pricing_for(bench, ground.ground, course_as_set(bench.choice.setting), found.tried)
        prices = pricing.least(found.tried)
        return (int(np.argmin(prices)),) if np.isfinite(prices).any() else ()

    return cheapest


def _worth_a_doff(question: Question, found: Found, speed: float, asked: tuple[Pricing | None, Watch]) -> list[int]:
    """Give the candidates to solve over the whole doff; of a search that was stopped, the few best only."""
    pricing, watch = asked
    prices = None if pricing is None else pricing.least(found.tried)
    if not watch.stopped():
        return shortlist(found, speed if question.with_fronts else None, prices)
    tension = least_at(found.tried, found.weights, speed, AGAINST["tension"])
    best = np.argsort(tension if prices is None else prices, kind="stable")[:FEW]
    return sorted({0, int(np.argmax(found.speed)), *map(int, best)})


def _compared_at(question: Question, found: Found, present: Doff) -> float:
    """Give the mean speed at which tensions are compared: what is asked for, or what the present setting runs at.

    For the most production it is that production, less a thousandth.
    """
    most, problem, setting = float(found.speed.max()), present.problem, present.choice.setting
    if question.aim == "production":
        return ENOUGH * most
    turns = float(problem.twist * problem.yarn_length)
    speed = course_as_set(setting).mean_speed(turns)
    if question.production is not None:
        made = setting.efficiency * problem.linear_density / problem.twist
        speed = question.production * 2 * np.pi / made
        refuse_out_of_reach(question.production, speed, most)
    return float(min(speed, ENOUGH * most))


def _fine(
    choice: Choice, found: Found, numbers: list[int], question: Question, ground: Priced | None
) -> tuple[Found, Pricing | None]:
    """Solve the shortlist over the full doff, with what it is priced by; the present parts stay the first."""
    bench = bench_for(choice, question.mill.limits, FINE)
    picks = [found.picks[number] for number in numbers]
    tried = try_picks(bench, found.axes, picks)
    fine = Found(axes=found.axes, picks=tuple(picks), tried=tried, weights=bench.weights, ended=found.ended)
    refuse_none(fine)
    if ground is None:
        return fine, None
    return fine, pricing_for(bench, ground.ground, course_as_set(choice.setting), tried)


def _best(
    question: Question, choice: Choice, fine: Found, speed: float, asked: tuple[Priced | None, Array | None]
) -> tuple[int, Run, CourseStudy]:
    """Take the best of the shortlist: the number, its run, and the study of its course."""
    ground, prices = asked
    if prices is None:
        at = min(speed, ENOUGH * float(fine.speed.max()))
        prices = least_at(fine.tried, fine.weights, at, AGAINST["tension"])
        numbers = [plainest(fine, prices, ALIKE)]
    else:
        numbers = [plainest(fine, prices, ALIKE_COST), int(np.argmin(prices))]
    runs = []
    for number in dict.fromkeys(numbers):
        doff = whole_doff(question.mill, with_parts(choice, fine.axes, fine.picks[number]))
        runs.append((number, _run(question, doff, speed, ground), doff))
    cheapest = min(cost_of(run) for _, run, _ in runs)
    number, run, doff = next(one for one in runs if len(runs) == 1 or cost_of(one[1]) <= ALIKE_COST * cheapest)
    return number, run, study_course(doff, question.mill.limits, question.drive)


def _first(
    question: Question, choice: Choice, axes: tuple[Axis, ...], singles: tuple[Single, ...],
    asked: tuple[float, Priced | None],
) -> Run | None:  # fmt: skip
    """Run the first change alone over the whole doff, where its worth is asked in money."""
    speed, ground = asked
    if ground is None or not singles:
        return None
    first = singles[0]
    pick = tuple(first.step if axis is first.axis else axis.present for axis in axes)
    return _run(question, whole_doff(question.mill, with_parts(choice, axes, pick)), speed, ground)


def _run(question: Question, doff: Doff, speed: float, ground: Priced | None) -> Run:
    """Run a doff as the aim wants it: at its limits, at the least tension for a mean speed, or at the least cost."""
    limits, drive = question.mill.limits, question.drive
    if ground is not None:
        return ground.cheapest(doff, limits, drive)
    if question.aim == "tension":
        course = flattest_course(doff, limits, drive, speed)
        if course is not None:
            return run_of(doff, course, limits)
    return run_of(doff, study_course(doff, limits, drive).best, limits)
