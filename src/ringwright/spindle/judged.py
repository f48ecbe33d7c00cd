"""What a spindle study says: how near a critical speed is, how the tip runs, and what is outside the model."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np

from ringwright.spindle.study import SpindleStudy
from ringwright.units import show

__all__ = ["FILM_SHARE", "TEN_RPM", "Nearest", "Part", "answer", "course_parts", "nearest_critical", "warnings_of"]

FILM_SHARE = 0.4
"""Share of the oil's gap beyond which a film no longer damps in proportion: textbook advice, from memory."""
TEN_RPM = 10 * 2 * pi / 60
"""Step to which a speed is told [rad/s]."""
INERTIA_FROM = 10.0
"""Squeeze Reynolds number from which the oil's inertia counts, from memory."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Nearest:
    """The critical speed nearest to the course: which (1 the lowest), its speed [rad/s], the margin, and the place."""

    order: int
    critical: float
    margin: float
    place: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of the course: its name, the speed as set [rad/s], and the place of the study that stands for it."""

    name: str
    speed: float
    place: int


def nearest_critical(study: SpindleStudy) -> Nearest:
    """Find where in the doff the spindle's speed comes nearest to a critical speed."""
    place = int(np.argmin(study.margin))
    apart = np.abs(study.criticals[place] / study.course.speed[place] - 1)
    order = int(np.nanargmin(apart))
    return Nearest(
        order=order + 1, critical=float(study.criticals[place, order]), margin=float(apart[order]), place=place
    )


def course_parts(study: SpindleStudy) -> tuple[Part, ...]:
    """Give the four parts of the course with the place that stands for each: its own moment, or the nearest sampled."""
    setting, course = study.choice.setting, study.course
    share = course.content / course.content[-1]
    main = (setting.base_until + setting.tip_from) / 2
    at = (0.0, setting.base_until / 2, main, 1.0)
    names = ("start", "base", "main", "tip")
    speeds = (setting.start_speed, setting.base_speed, setting.main_speed, setting.tip_speed)
    return tuple(
        Part(name=name, speed=speed, place=int(np.argmin(np.abs(share - wanted))))
        for name, speed, wanted in zip(names, speeds, at, strict=True)
    )


def answer(study: SpindleStudy) -> str:
    """Say in three sentences what a person should know first."""
    near, rotor = nearest_critical(study), study.rotor
    when = show(float(study.course.time[near.place]), "time", "min", 0)
    speed = show(round(near.critical / TEN_RPM) * TEN_RPM, "rotation", "rpm", 0)
    keeps = "keeps" if near.margin >= rotor.least_margin else "keeps only"
    first = (
        f"The course {keeps} {show(near.margin, 'share', '%', 0)} from the nearest critical speed, {speed} at minute "
        f"{when.split(chr(0x202F))[0]} of the doff; {show(rotor.least_margin, 'share', '%', 0)} is wanted."
    )
    sweep, worst = float(study.sweep.max()), float(study.worst_sweep.max())
    limit = show(rotor.sweep_most, "length", "mm", 2)
    second = (
        f"At speed the tube's tip sweeps up to {show(sweep, 'length', 'mm', 2)} from side to side, "
        f"{show(worst, 'length', 'mm', 2)} if all causes add up; {_verdict(sweep, worst, rotor.sweep_most)} {limit}."
    )
    empty, full = (show(one.sweep, "length", "mm", 2) for one in study.passings)
    third = f"Passing the first critical speed it sweeps {empty} with the empty tube and {full} with the full cop."
    return f"{first} {second} {third}"


def _verdict(sweep: float, worst: float, most: float) -> str:
    if sweep > most:
        return "that is over"
    return "only the worst is over" if worst > most else "both are under"


def warnings_of(study: SpindleStudy) -> tuple[str, ...]:
    """Say what passes a limit or the range of the model."""
    near, rotor = nearest_critical(study), study.rotor
    told = []
    if near.margin < rotor.least_margin:
        told.append(
            f"The {_ordinal(near.order)} critical speed lies {show(near.margin, 'share', '%', 1)} from the course: "
            f"under {show(rotor.least_margin, 'share', '%', 0)}, common practice. It moves with neck, shaft and tube, "
            "so read those before the speed is raised."
        )
    told += _sweep_warnings(study)
    deepest = max(float(one.foot) for one in study.passings)
    if deepest > FILM_SHARE * rotor.film_gap:
        told.append(
            f"While the first critical speed is passed the foot moves {show(deepest, 'length', 'mm', 3)} in a gap of "
            f"{show(rotor.film_gap, 'length', 'mm', 2)}: the oil no longer damps in proportion there, and the sweep "
            "told for the passing is a rough one."
        )
    oil = study.oil.reynolds(rotor, study.choice.setting.main_speed)
    if oil > INERTIA_FROM:
        told.append(
            f"The oil is so thin or the gap so wide that its own inertia counts (squeeze Reynolds number {oil:.0f}, "
            f"over {INERTIA_FROM:.0f}); the model leaves it out."
        )
    return tuple(told)


def _sweep_warnings(study: SpindleStudy) -> list[str]:
    rotor, worst, sweep = study.rotor, float(study.worst_sweep.max()), float(study.sweep.max())
    most, good = (show(v, "length", "mm", 2) for v in (rotor.sweep_most, rotor.sweep_good))
    at_speed = f"At speed the tip sweeps {show(sweep, 'length', 'mm', 2)}"
    if sweep > rotor.sweep_most:
        return [f"{at_speed}, over the {most} of common practice: look at tube, blade and oil."]
    if sweep > rotor.sweep_good:
        return [f"{at_speed}, between {good} (runs well) and {most} (to be looked at)."]
    if worst > rotor.sweep_most:
        told = show(worst, "length", "mm", 2)
        return [f"If all causes point one way the tip sweeps {told}, over {most}: a few spindles of many will."]
    return []


def _ordinal(number: int) -> str:
    return {1: "first", 2: "second", 3: "third"}.get(number, f"{number}th")
