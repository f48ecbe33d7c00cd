"""One run: a doff's parts with a course of speeds, and what it makes and asks of yarn and traveller."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from ringwright.economy.cost import Cost, Ground, cost_per_kg, ground
from ringwright.improve.corners import Road, quickest
from ringwright.improve.course import in_steps, slower
from ringwright.improve.demand import Demand, demands, spun_doff
from ringwright.improve.drive import Drive, SpeedCourse
from ringwright.improve.envelope import doff_envelope
from ringwright.judgement.stated import HEAT, STRENGTH
from ringwright.mill import Limit, Mill, Setting
from ringwright.physics.production import production_rate
from ringwright.setting.choice import Choice, Trial
from ringwright.setting.doff import Doff, solve_doff
from ringwright.setting.places import Sampling

__all__ = ["Priced", "Run", "flattest_course", "priced", "run_of", "whole_doff"]

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


SLOWEST = 0.6
"""Slowest speed that is priced, as a share of that at the limits."""
PRICES = 7
COARSE = Sampling(strokes=16, places=9)
"""Places over which energy and breaks are reckoned."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """What a run costs, reckoned from the ground of the present setting."""

    mill: Mill
    ground: Ground

    def as_set(self, run: Run, doff: Doff) -> Run:
        """Give the present run with its cost."""
        return replace(run, cost=cost_per_kg(doff, self.ground))

    def cheapest(self, doff: Doff, course: SpeedCourse, limits: Mapping[str, Limit], drive: Drive) -> Run:
        """Give the run of least cost per kg: the course at the limits, or the same slowed down as a whole."""
        setting = doff.choice.setting
        at_limits = whole_doff(self.mill, replace(doff.choice, setting=_with_course(setting, course)), COARSE)
        slowest = max(SLOWEST, min(drive.least / min(course.speeds), 1.0))
        ratios = np.linspace(slowest, 1.0, PRICES)
        for _ in range(3):
            costs = [cost_per_kg(at_limits, self.ground, float(ratio)) for ratio in ratios]
            at = int(np.argmin([cost.total for cost in costs]))
            best, cost = float(ratios[at]), costs[at]
            ratios = np.linspace(ratios[max(at - 1, 0)], ratios[min(at + 1, len(ratios) - 1)], PRICES)
        slowed = slower(course, best, drive)
        return run_of(doff, slowed, limits, cost)


def priced(mill: Mill, present: Doff) -> Priced:
    """Give what runs are priced by; Refusal where the present doff has places without a steady balloon."""
    return Priced(mill=mill, ground=ground(mill, present))


def _with_course(setting: Setting, course: SpeedCourse) -> Setting:
    """Give a setting with a course of start, base, main and tip."""
    start, base, main, _, tip = course.speeds
    return setting.model_copy(
        update={
            "start_speed": start,
            "base_speed": base,
            "main_speed": main,
            "tip_speed": tip,
            "base_until": course.shares[2],
            "tip_from": course.shares[3],
        }
    )
