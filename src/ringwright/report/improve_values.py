"""Studies of speed and parts as plain values for JSON: SI, with the unit in each key."""

from __future__ import annotations

import math
from typing import Any

from ringwright.improve.answers import Front
from ringwright.improve.better import PartsStudy
from ringwright.improve.course import CourseStudy, Hold
from ringwright.improve.drive import SpeedCourse
from ringwright.improve.parts import Axis
from ringwright.improve.run import Run
from ringwright.improve.survey import Survey, Surveyed
from ringwright.improve.worth import worth

__all__ = ["course_values", "improve_values", "survey_values"]


def course_values(study: CourseStudy) -> dict[str, Any]:
    """Give a study of the speed through a doff; all values are computed, limits carry their own origin."""
    choice, envelope = study.doff.choice, study.envelope
    return {
        "frame": choice.frame.name,
        "yarn": choice.yarn.name,
        "origin": "computed",
        "drive": {
            "ramp_rad_per_s2": study.drive.ramp,
            "least_speed_rad_per_s": study.drive.least,
            "most_speed_rad_per_s": study.drive.most,
        },
        "as_set": _course(study, study.present),
        "best_constant": _course(study, study.flat),
        "best": _course(study, study.best),
        "gain_over_as_set": study.gain(study.present),
        "gain_over_best_constant": study.gain(study.flat),
        "envelope": {
            "share_of_yarn": envelope.share.tolist(),
            "speed_rad_per_s": envelope.speed.tolist(),
            "limit": [study.demands[int(row)].kind.key for row in envelope.binding],
        },
        "limits": [_hold(hold) for hold in study.holds],
        "passed_at_high_ring_friction": [_hold(hold) for hold in study.at_high_friction],
        "gain_if_relaxed_by_5_percent": {one.kind.key: one.gain for one in study.relaxations},
        "limits_no_speed_mends": [
            {"limit": breach.key, "passed_by_m": breach.by, "words": breach.words} for breach in study.breaches
        ],
    }


def _course(study: CourseStudy, course: SpeedCourse) -> dict[str, Any]:
    return {
        "share_of_yarn": list(course.shares),
        "speed_rad_per_s": list(course.speeds),
        "mean_speed_rad_per_s": course.mean_speed(study.turns),
        "doff_time_s": course.doff_time(study.turns),
        "production_kg_per_s": study.production(course),
    }


def _hold(hold: Hold) -> dict[str, Any]:
    authority = hold.authority
    return {
        "limit": hold.kind.key,
        "value": hold.value,
        "limit_value": hold.limit,
        "quantity": hold.kind.quantity,
        "time_s": hold.time,
        "holds_s": [list(span) for span in hold.holds],
        "source": None if authority is None else authority.source,
        "owner": None if authority is None else authority.owner,
        "limit_origin": None if authority is None else authority.origin,
    }


def improve_values(study: PartsStudy) -> dict[str, Any]:
    """Give a study of the parts; all values are computed, the reach of the parts is assumed."""
    question = study.question
    return {
        "frame": question.frame,
        "yarn": question.yarn,
        "aim": question.aim,
        "origin": "computed",
        "candidates_tried": len(study.found.picks),
        "candidates_keeping_every_limit": int(study.found.tried.keeps.sum()),
        "ended_because": study.found.ended,
        "as_set": _run(study.as_set),
        "best_speeds_alone": _run(study.speeds_alone),
        "best": _run(study.best),
        "changed": [_change(axis, step) for axis, step in study.changed],
        "at_the_end_of_reach": [axis.key for axis in study.at_end],
        "compared_at_rad_per_s": study.speed,
        "one_part_alone": [
            {
                **_change(one.axis, one.step),
                "peak_tension_N": _finite(one.tension),
                "traveller_heat_W": _finite(one.heat),
                "least_cost_per_kg": one.cost,
                "mends": list(one.mends),
            }
            for one in study.singles
        ],
        "first_alone": _run(study.first),
        "currency": question.mill.money.currency,
        "fronts": {front.against: _front(study, front) for front in study.fronts},
        "gain_if_relaxed_by_5_percent": {one.name: one.gain for one in study.relaxed},
        "limits_passed_as_set": [
            {"limit": breach.key, "passed_by_m": breach.by, "words": breach.words} for breach in study.breaches
        ],
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _run(run: Run | None) -> dict[str, Any] | None:
    if run is None:
        return None
    return {
        "share_of_yarn": list(run.course.shares),
        "speed_rad_per_s": list(run.course.speeds),
        "mean_speed_rad_per_s": run.mean_speed,
        "doff_time_s": run.doff_time,
        "production_kg_per_s": run.production,
        "peak_tension_N": run.tension,
        "traveller_heat_W": run.heat,
        "cost_per_kg": None if run.cost is None else run.cost.total,
    }


def _change(axis: Axis, step: int) -> dict[str, Any]:
    unit = {"length": "m", "mass": "kg"}[axis.quantity]
    return {"part": axis.key, f"from_{unit}": axis.steps[axis.present], f"to_{unit}": axis.steps[step]}


def _front(study: PartsStudy, front: Front) -> list[dict[str, Any]]:
    unit = {"tension": "peak_tension_N", "heat": "traveller_heat_W", "cost": "cost_per_kg"}[front.against]
    return [
        {
            "production_kg_per_s": study.production_at(point.speed),
            f"least_{unit}": point.least,
            f"parts_as_set_{unit}": _finite(present),
            "changed": [_change(axis, step) for axis, step in point.changed],
        }
        for point, present in zip(front.points, front.present, strict=True)
    ]


def survey_values(found: Survey) -> dict[str, Any]:
    """Give the survey as plain values for JSON, SI where a key ends in a unit."""
    return {
        "mill": found.mill.name,
        "origin": "computed",
        "currency": found.mill.money.currency,
        "settings": [_setting(one) for one in found.settings],
        "not_searched": [{"frame": frame, "yarn": yarn} for frame, yarn in found.left],
    }


def _setting(one: Surveyed) -> dict[str, Any]:
    study = one.study
    if study is None:
        return {"frame": one.frame, "yarn": one.yarn, "refused": list(one.refused)}
    single = study.singles[0] if study.singles else None
    named = {
        "part": single.axis.key,
        "from": single.axis.steps[single.axis.present],
        "to": single.axis.steps[single.step],
    } if single is not None else None  # fmt: skip
    return {
        "frame": one.frame,
        "yarn": one.yarn,
        "lacking_as_set": list(study.lacking),
        "first": named,
        "first_alone": _worth_values(study, first=True),
        "all_changes": _worth_values(study, first=False),
        "ended_because": study.found.ended,
    }


def _worth_values(study: PartsStudy, *, first: bool) -> dict[str, float] | None:
    before, after = study.as_set, study.first if first else study.best
    if before is None or after is None or before.cost is None or after.cost is None:
        return None
    gain = worth(before, after, after.choice.frame.spindles, study.question.mill.money)
    return {
        "money_per_year": gain.money,
        "yarn_kg_per_year": gain.yarn,
        "cost_per_kg_as_set": before.cost.total,
        "cost_per_kg": after.cost.total,
    }
