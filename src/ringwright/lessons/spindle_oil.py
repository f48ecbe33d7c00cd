"""The lesson of the spindle's oil: thick or thin oil about the foot step."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from ringwright.lessons.ground import Ground
from ringwright.lessons.lesson import Chart, Control, Lesson, Picture, Row, Shown, Span
from ringwright.lessons.line_chart import Curve, line_chart
from ringwright.lessons.pair import row
from ringwright.lessons.side_view import as_other
from ringwright.lessons.words import axis, axis_value, changed, computed, stated, told
from ringwright.refusal import Refusal
from ringwright.report import svg
from ringwright.report.number import digits, in_unit, written
from ringwright.report.svg import Pen
from ringwright.spindle import SpindleStudy, TriedSpindle, study_spindle
from ringwright.spindle.building import require_buildable
from ringwright.spindle.study import run_up
from ringwright.units import show

__all__ = ["LESSON", "study_with"]

SIZE = (300.0, 330.0)
LEAN = 260.0
"""User units to which one millimetre of lean is drawn; the same in both pictures."""
PER_METRE = 820.0


@lru_cache(maxsize=64)
def study_with(ground: Ground, viscosity: float | None) -> SpindleStudy:
    """Follow the spindle of a ground with another oil [m2/s at 40 degrees], or with its own for None."""
    return study_spindle(ground.choice, TriedSpindle(oil_viscosity=viscosity))


def _span(_: Ground) -> Span:
    return 2.0, 100.0, 1.0


def _start(ground: Ground) -> float:
    own = 1e6 * ground.choice.frame.rotor.oil_viscosity
    return 1e-6 * float(np.clip(round(4 * own), 2, 100))


def _answer(ground: Ground, viscosity: float) -> Shown:
    own = study_with(ground, None)
    same = abs(viscosity - own.rotor.oil_viscosity) < 1e-12
    two = own, own if same else study_with(ground, viscosity)
    names = f"oil of {_oil(own.rotor.oil_viscosity)}, as it is", f"oil of {_oil(viscosity)}"
    peaks = [one.passings[1].sweep for one in two]
    return Shown(
        moved=names[1],
        other=names[0],
        pictures=tuple(_picture(one, name, other=k == 0) for k, (one, name) in enumerate(zip(two, names, strict=True))),
        when="The spindle with its full cop as its speed passes the first critical one. Heights to scale; the lean is "
        "drawn much too large, alike in both.",
        rows=(
            row("Oil at its temperature", "mm2/s", (two[0].oil.kinematic, two[1].oil.kinematic)),
            row("Damping of the film at the foot", "N s/m", (two[0].oil.damping, two[1].oil.damping)),
            _dies(two),
            row("Sweep of the tip passing it, full cop", "mm", (peaks[0], peaks[1]), 0.01),
            row("The same with the empty tube", "mm", (two[0].passings[0].sweep, two[1].passings[0].sweep), 0.01),
            row("Sweep of the tip at main speed, full cop", "mm", _at_main(two), 0.001),
            row("Largest turning force on the foot, at speed", "N", _foot(two), 0.01),
        ),
        chart=_chart(two),
        reasons=_reasons(two, peaks),
    )  # fmt: skip


def _oil(viscosity: float) -> str:
    return show(viscosity, "kinematic viscosity", "mm2/s")


def _decrement(study: SpindleStudy) -> float:
    found = study.whirls[1]
    leaning = 3 * study.criticals[-1, 0]
    forward = [d for f, d in zip(found.frequency, found.decrement, strict=True) if 0 < f < leaning]
    return float(forward[0]) if forward else math.nan


def _dies(two: tuple[SpindleStudy, SpindleStudy]) -> Row:
    """Give how much of a shake is left after one whirl."""
    left = [math.exp(-_decrement(one)) for one in two]
    return row("Left of a shake after one whirl", "%", (left[0], left[1]), otherwise="it does not swing at all")


def _at_main(two: tuple[SpindleStudy, SpindleStudy]) -> tuple[float, float]:
    one, other = (_sweep(study) for study in two)
    return one, other


def _sweep(study: SpindleStudy) -> float:
    spins, sweep = run_up(study, len(study.course.time) - 1, study.choice.setting.main_speed)
    return float(np.interp(study.choice.setting.main_speed, spins, sweep))


def _foot(two: tuple[SpindleStudy, SpindleStudy]) -> tuple[float, float]:
    return float(two[0].foot_force.max()), float(two[1].foot_force.max())


def _picture(study: SpindleStudy, name: str, *, other: bool) -> Picture:
    rotor, peak = study.rotor, study.passings[1]
    low, high = -rotor.bearing_distance, study.spindle.tube_tip
    axis, datum = SIZE[0] / 2, 14.0

    def at(across: float, level: float) -> svg.Point:
        return axis + across, datum + PER_METRE * (high - level)

    lean = min(1e3 * peak.sweep / 2 * LEAN, 120.0)
    foot = min(1e3 * peak.foot * LEAN, 60.0)
    parts = [svg.line(at(0, low - 0.006), at(0, high), svg.CENTRE)]
    parts += [svg.rectangle(at(-26, 0.008), (52, 13), Pen(fill=svg.WASH)), svg.rectangle(at(-26, low + 0.012),
              (52, 20), Pen(fill=svg.WASH))]  # fmt: skip
    for side in (-1, 1):
        sweep = [at(side * -foot, low), at(0, 0), at(side * lean, high)]
        parts.append(svg.polyline(sweep, Pen(colour=svg.WOAD, width=2.4, cap="round", dash="" if side > 0 else "3 4")))
    parts.append(svg.text((axis + 32, at(0, 0)[1] + 4), "neck bearing", svg.NOTE))
    parts.append(svg.text((axis + 32, at(0, low)[1] + 4), "foot step in its oil", svg.NOTE))
    parts.append(svg.dimension((at(-lean, high)[0], datum + 2), (at(lean, high)[0], datum + 2)))
    figure = svg.figure((SIZE[0], at(0, low)[1] + 20), "", parts)
    below = f"the tip sweeps {told(peak.sweep, 'mm', 0.01)}"
    title = name[:1].upper() + name[1:]
    return Picture(title=title, figure=as_other(figure) if other else figure,
                   said=f"The spindle leaning both ways, {title}: {below}", below=below, other=other)  # fmt: skip


def _chart(two: tuple[SpindleStudy, SpindleStudy]) -> Chart:
    most = 3.0 * float(two[0].criticals[-1, 0])
    curves = []
    for k, (study, name) in enumerate(zip(two, ("as it is", "moved"), strict=True)):
        spins, sweep = run_up(study, len(study.course.time) - 1, most)
        curves.append(
            Curve(name=name, xs=[in_unit(float(s), "rpm") for s in spins],
                  ys=[axis_value(float(v), "mm") for v in sweep], other=k == 0)
        )  # fmt: skip
    title = f"Sweep of the tip over the spindle's speed, full cop, {axis('mm')}"
    said = f"{title}: the numbers stand in the table"
    return Chart(title=title, figure=line_chart(curves, "rpm", said=said), said=said)


def _reasons(two: tuple[SpindleStudy, SpindleStudy], peaks: list[float]) -> tuple[str, str, str]:
    own, moved = two
    critical = written(computed(float(own.criticals[-1, 0]), "rpm"))
    films = changed(own.oil.damping, moved.oil.damping, "N s/m")
    best = float(own.choice.setting.main_speed)
    return (
        (
            f"With its full cop the spindle leans over its foot spring at {critical}, and each start and stop passes "
            f"that speed; chiefly the oil round the foot takes the shake away, and its damping {films}."
        ),
        (
            f"Passing it, the tip's sweep {changed(peaks[0], peaks[1], 'mm', 0.01)}: thin oil takes little from a foot "
            "that swings far, thick oil little from a foot that hardly moves; now it moves through "
            f"{_share(moved)} of its gap of {told(own.rotor.film_gap, 'mm', 0.01)}."
        ),
        (
            f"The other way: at {told(best, 'rpm')} the spindle turns about its own mass and oil does little: "
            f"the sweep {changed(*_at_main(two), 'mm', 0.001)}; the foot's turning force "
            f"{changed(*_foot(two), 'N', 0.01)}, and "
            "thick oil takes more power and heat (not computed)."
        ),
    )


def _share(study: SpindleStudy) -> str:
    return f"{digits(100 * study.passings[1].foot / study.rotor.film_gap, 1.0)} %"


def _sources(ground: Ground) -> tuple[str, ...]:
    gap = stated(ground, "frame", "rotor.film_gap", "mm", 0.01)
    tube = stated(ground, "frame", "rotor.tube_mass", "g")
    return (
        (
            f"Computed with this program's rotor model; gap of the film {written(gap)} ({gap.origin.value}), tube "
            f"{written(tube)} ({tube.origin.value})."
        ),
        "Damping of the film by Reynolds's equation (San Andres), thinning with warmth by ASTM D341; both from memory.",
    )


def _missing(ground: Ground) -> str:
    try:
        require_buildable(ground.choice.frame)
    except Refusal as refusal:
        return f"Its spindle cannot be built: {refusal.faults[0]}"
    return ""


LESSON = Lesson(
    key="spindle-oil",
    name="Thin and thick spindle oil",
    question="What does the oil at the foot of a spindle do?",
    think="The same spindle with its full cop, thin oil or thick oil round its foot. Before you move it: which shakes "
    "more as the frame starts, and which at full speed?",
    control=Control(
        name="Oil at 40 degrees", quantity="kinematic viscosity", unit="mm2/s", span=_span, start=_start,
        why="The number after VG on the drum of oil.",
    ),
    answer=_answer,
    sources=_sources,
    left_out="A quick start or stop sweeps less than at a speed that stands still; foam and the rail's shake.",
    works=("all work past the guards", "work on belts", "work on spindle tapes"),
    missing=_missing,
)  # fmt: skip
