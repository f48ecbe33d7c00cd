"""Better parts for a setting: what to change, what it is worth, the front, and the limits that hold it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

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
from ringwright.improve.refused import refuse_none, refuse_out_of_reach, told_lack
from ringwright.improve.run import Priced, Run, flattest_course, priced, run_of, whole_doff
from ringwright.improve.search import MOST, Found, Progress, search, try_picks
from ringwright.improve.shape import Breach, shape_breaches
from ringwright.improve.tried import bench_for
from ringwright.mill import Mill
from ringwright.physics.outcome import Outcome
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
PRICED = 4
"""Candidates whose cost is reckoned at most."""


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


def seek(question: Question, tell: Progress | None = None) -> PartsStudy:
    """Seek better parts and speeds; ``tell`` hears of the progress, and KeyboardInterrupt ends the search early.

    Raises Refusal where no candidate keeps every limit (naming two that fight), or the production is out of reach.
    """
    mill = question.mill
    choice = choose(mill, question.frame, question.yarn, question.trial)
    axes = axes_for(choice, question.reach)
    found = search(bench_for(choice, mill.limits), axes, tell, question.most)
    refuse_none(found)
    present = solve_doff(mill, question.frame, question.yarn, question.trial)
    steady = bool(np.all(present.forces.outcome == Outcome.STEADY))
    speed = _compared_at(question, found, present)
    fine = _fine(choice, found, shortlist(found, speed), question)
    ground = priced(mill, present) if question.aim == "cost" else None
    number, best, study = _best(question, choice, fine, speed, ground)
    as_set = run_of(present, course_as_set(choice.setting), mill.limits) if steady else None
    return PartsStudy(
        question=question,
        axes=axes,
        found=found,
        as_set=ground.as_set(as_set, present) if ground is not None and as_set is not None else as_set,
        breaches=shape_breaches(present, mill.limits) if steady else (),
        speeds_alone=_run(question, present, speed, ground)[0] if fine.tried.keeps[0] else None,
        best=best,
        changed=changes(axes, fine.picks[number]),
        course=study,
        speed=speed,
        singles=single_changes(found, speed),
        fronts=fronts(fine),
        relaxed=relaxed_limits(found, mill.limits, speed, by_production=question.aim != "tension"),
    )


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


def _fine(choice: Choice, found: Found, numbers: list[int], question: Question) -> Found:
    """Solve the shortlist over the full doff; the present parts stay the first."""
    bench = bench_for(choice, question.mill.limits, FINE)
    picks = [found.picks[number] for number in numbers]
    tried = try_picks(bench, found.axes, picks)
    fine = Found(axes=found.axes, picks=tuple(picks), tried=tried, weights=bench.weights, ended=found.ended)
    refuse_none(fine)
    return fine


def _best(
    question: Question, choice: Choice, fine: Found, speed: float, ground: Priced | None
) -> tuple[int, Run, CourseStudy]:
    """Take the best of the shortlist: the number, its run, and the study of its course."""
    least = least_at(fine.tried, fine.weights, min(speed, ENOUGH * float(fine.speed.max())), AGAINST["tension"])
    numbers = [plainest(fine, least, ALIKE)]
    if ground is not None:
        numbers += [int(number) for number in np.argsort(least, kind="stable")[:PRICED] if np.isfinite(least[number])]
    runs = []
    for number in dict.fromkeys(numbers):
        doff = whole_doff(question.mill, with_parts(choice, fine.axes, fine.picks[number]))
        run, study = _run(question, doff, speed, ground)
        runs.append((number, run, study))
    if ground is None:
        return runs[0]
    cheapest = min(run.cost.total for _, run, _ in runs if run.cost is not None)
    alike = [one for one in runs if one[1].cost is not None and one[1].cost.total <= cheapest * (1 + (ALIKE - 1) / 10)]
    return min(alike, key=lambda one: len(changes(fine.axes, fine.picks[one[0]])))


def _run(question: Question, doff: Doff, speed: float, ground: Priced | None) -> tuple[Run, CourseStudy]:
    """Run a doff as the aim wants it: at its limits, at the least tension for a mean speed, or at the least cost."""
    limits, drive = question.mill.limits, question.drive
    study = study_course(doff, limits, drive)
    if ground is not None:
        return ground.cheapest(doff, study.best, limits, drive), study
    if question.aim == "tension":
        course = flattest_course(doff, limits, drive, speed)
        return run_of(doff, course or study.best, limits), study
    return run_of(doff, study.best, limits), study
