"""The lesson of the wharve: small or large."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ringwright.lessons.drive_model import driven, with_other_wharve
from ringwright.lessons.drive_power import belt_pull, belt_speed, drum_speed, motors, power_source, spindle_power, taped
from ringwright.lessons.ground import Ground, doff_of
from ringwright.lessons.lesson import Chart, Control, Lesson, Picture, Row, Shown, Span
from ringwright.lessons.line_chart import Curve, Wall, line_chart
from ringwright.lessons.pair import row
from ringwright.lessons.side_view import as_other
from ringwright.lessons.wharve_view import wharve_view
from ringwright.lessons.words import axis, axis_value, changed, cite, number_or, source, stated, told
from ringwright.physics.twist import twist
from ringwright.report.number import Number, Origin, digits, in_unit

__all__ = ["LESSON", "speed_at_same_drum"]

BLADE = 9e-3
"""Width of the spindle's blade as sketched [m]."""
USUAL = (19e-3, 22e-3)
"""Usual wharves [m]: common practice, no source."""


def speed_at_same_drum(spindle_speed: float, wharve_diameter: float, other_diameter: float) -> float:
    """Return the speed [rad/s] at which the same belt would turn another wharve [m]: inverse to the diameter."""
    return spindle_speed * wharve_diameter / other_diameter


def _usual() -> str:
    """Tell the usual wharves."""
    return f"{told(USUAL[0], 'mm')} to {told(USUAL[1], 'mm')}"


def _span(ground: Ground) -> Span:
    here = 1e3 * ground.choice.frame.spindle.wharve_diameter
    return float(min(15.0, math.floor(here))), float(max(30.0, math.ceil(here))), 0.5


def _answer(ground: Ground, diameter: float) -> Shown:
    frame, speed = ground.choice.frame, ground.choice.setting.main_speed
    as_set, slip = frame.spindle.wharve_diameter, frame.drive.slip
    two = (as_set, diameter)
    belts = [belt_speed(d, speed, slip) for d in two]
    pulls = [belt_pull(spindle_power(ground), d, speed) for d in two]
    hold = [_hold(ground, d) for d in two]
    return Shown(
        moved=f"wharve {told(diameter, 'mm', 0.5)}",
        other=f"wharve {told(as_set, 'mm', 0.5)}, as set",
        pictures=tuple(_picture(ground, d, belts[k], pulls[k], other=k == 0) for k, d in enumerate(two)),
        when="The wharve from above, to scale. The arrow on the belt is as long as the belt is fast, the belt as heavy "
        "as it pulls hard.",
        rows=(
            row("Spindle speed, main part", "rpm", (speed, speed)),
            row(f"Speed of the {_band(ground)}", "m/s", (belts[0], belts[1])),
            *_drum_row(ground, belts),
            _same("Power at one wharve, main speed", spindle_power(ground)),
            row("Pull for one wharve", "N", (pulls[0], pulls[1])),
            row("Pull in hand over what it takes", "times", (hold[0].margin, hold[1].margin), 0.01),
            Row(name="Energy that the drive takes", other=hold[0].energy, moved=hold[1].energy),
            row("At the same drum speed: spindle", "rpm", (speed, speed_at_same_drum(speed, as_set, diameter))),
            row("At the same drum speed: twist", "t/m", (_twist(ground), _twist(ground) * as_set / diameter)),
        ),
        chart=_chart(ground, two, pulls),
        reasons=_reasons(ground, two, belts, pulls),
        notes=doff_of(ground).notes,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class _Hold:
    """How a wharve is held: pull in hand [1], and the drive's energy as a number or in words."""

    margin: float
    energy: Number | str


def _hold(ground: Ground, diameter: float) -> _Hold:
    found = with_other_wharve(ground, diameter)
    if found is None:
        return _Hold(margin=math.nan, energy="not computed: belt or drum cannot give the pull")
    energy = Number(value=found.drive_energy, unit="Wh/kg", origin=Origin.COMPUTED)
    return _Hold(margin=float(found.margin.min()), energy=energy)


def _band(ground: Ground) -> str:
    return "tape" if taped(ground) else "belt"


def _same(name: str, power: float) -> Row:
    shown = number_or(power, "W")
    return Row(name=name, other=shown, moved=shown)


def _twist(ground: Ground) -> float:
    return float(twist(ground.choice.yarn.twist_multiplier, ground.choice.yarn.count))


def _drum_row(ground: Ground, belts: list[float]) -> tuple[Row, ...]:
    drum = ground.choice.frame.drive.drum_diameter
    return () if drum is None else (row("Speed of the drum", "rpm", tuple(drum_speed(v, drum) for v in belts)),)  # type: ignore[arg-type]


def _picture(ground: Ground, diameter: float, belt: float, pull: float, *, other: bool) -> Picture:
    figure = wharve_view(diameter, BLADE, belt, pull, tape=taped(ground))
    below = f"{_band(ground)} at {told(belt, 'm/s')}, pull {told(pull, 'N')}"
    title = f"Wharve of {told(diameter, 'mm', 0.5)}{', as set' if other else ''}"
    said = f"Wharve from above, to scale, {title}: {below}"
    return Picture(title=title, figure=as_other(figure) if other else figure, said=said, below=below, other=other)


def _chart(ground: Ground, two: tuple[float, float], pulls: list[float]) -> Chart | None:
    power, speed = spindle_power(ground), ground.choice.setting.main_speed
    if not math.isfinite(power):
        return None
    low, high, _ = _span(ground)
    sizes = (1e-3 * np.linspace(low, high, 31)).tolist()
    across = [axis_value(d, "mm") for d in sizes]
    ys = [belt_pull(power, d, speed) for d in sizes]
    marks = [(axis_value(d, "mm"), p) for d, p in zip(two, pulls, strict=True)]
    title = "Pull for one wharve over its diameter, N"
    curves = [
        Curve(name="as set", xs=[marks[0][0]] * 2, ys=[marks[0][1]] * 2, other=True, mark=marks[0]),
        Curve(name="", xs=across, ys=ys, mark=marks[1]),
    ]
    said = f"{title}: the numbers stand in the table"
    found = driven(ground)
    most = math.nan if found is None else float(found.margin.min()) * pulls[0]
    wall = Wall(value=most, name="slips", above=True) if most < 1.6 * max(ys) else None
    return Chart(title=title, figure=line_chart(curves, axis("mm"), wall=wall, said=said), said=said)


def _reasons(ground: Ground, two: tuple[float, float], belts: list[float], pulls: list[float]) -> tuple[str, str, str]:
    speed, as_set, diameter = ground.choice.setting.main_speed, *two
    hold = [_hold(ground, d) for d in two]
    kept = speed_at_same_drum(speed, as_set, diameter)
    return (
        (
            f"To turn a wharve of {told(diameter, 'mm', 0.5)} at {told(speed, 'rpm')} the {_band(ground)} must run at "
            f"{told(belts[1], 'm/s')}; for {told(as_set, 'mm', 0.5)} it is {told(belts[0], 'm/s')}."
        ),
        (
            f"The spindle is taken to need {told(spindle_power(ground), 'W')} whatever its wharve, so from the one "
            f"as set to this the pull {changed(pulls[0], pulls[1], 'N')}; friction could give {_times(hold[1])} that "
            f"here and {_times(hold[0])} as set, and under 1 the wharve slips."
        ),
        (
            f"The other way: a drum left at its speed would turn the spindle at {told(kept, 'rpm')} and put "
            f"{told(_twist(ground) * as_set / diameter, 't/m')} into the yarn in place of "
            f"{told(_twist(ground), 't/m')}."
        ),
    )


def _times(hold: _Hold) -> str:
    return f"{digits(hold.margin, 0.01)} times" if math.isfinite(hold.margin) else "no longer"


def _sources(ground: Ground) -> tuple[str, ...]:
    slip = stated(ground, "frame", "drive.slip", "%")
    return (
        (
            f"Speeds and pull: geometry, with the slip of {digits(in_unit(slip.value, '%'), 0.1)} % that the mill "
            f"states ({slip.origin.value})."
        ),
        power_source(ground),
        f"Pull in hand: {cite('belt-law')}. How bending grows on small wharves: {cite('Childs-Cowburn-1987')}.",
        source("common-practice", f"Wharves of {_usual()} are usual"),
    )


LESSON = Lesson(
    key="wharve",
    name="Small and large wharve",
    question="Why are wharves neither small nor large?",
    think="Same spindle, same speed; only the wharve's diameter differs. Before you move it: which belt runs faster, "
    "and which must pull harder?",
    control=Control(
        name="Wharve diameter", quantity="length", unit="mm", span=_span,
        start=lambda ground: max(15e-3, round(1.3 * 1e3 * ground.choice.frame.spindle.wharve_diameter) * 1e-3),
        why=lambda: f"{_usual()} is usual.",
    ),
    answer=_answer,
    sources=_sources,
    left_out="The start of the frame, and whether the bolster's own power follows the wharve.",
    works=("work on belts", "work on spindle tapes", "all work past the guards"),
    missing=motors,
)  # fmt: skip
