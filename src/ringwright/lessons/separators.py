"""The lesson of the separators: a plate between two balloons, or none."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from ringwright.cascade import Watch, extra_breaks, steps_to_name
from ringwright.lessons.ground import AS_IT_IS, Change, Ground, doff_of, drawn_at
from ringwright.lessons.lesson import Chart, Control, Lesson, Picture, Row, Shown, Span
from ringwright.lessons.line_chart import Curve, Wall, line_chart
from ringwright.lessons.pair import row
from ringwright.lessons.side_view import View, as_other, machine_with_yarn
from ringwright.lessons.words import axis, axis_value, computed, inputs_of, minute, number_or, source, stated, told
from ringwright.mill import Frame, origin_of
from ringwright.physics.position import solve
from ringwright.report import svg
from ringwright.report.number import Number, digits, in_unit
from ringwright.report.position_inputs import Balloon, PositionFigure
from ringwright.report.position_parts import RAIL_HALF, Sheet
from ringwright.report.svg import Pen
from ringwright.setting.choice import Trial
from ringwright.setting.doff import Doff
from ringwright.setting.problem import positions
from ringwright.study.separators import FALSE_SHARE, WINDOW_S

__all__ = ["LESSON", "face", "gap", "shifts_to_name", "yarn_length"]

MASSES = 33
MET = ("to the other balloon", "into the other balloon")


def face(frame: Frame) -> float:
    """Return the radius [m] at which a balloon meets the plate midway between two spindles."""
    return (frame.gauge - frame.separators.thickness) / 2


def gap(gauge: float, one: float, other: float) -> float:
    """Return the room [m] between two balloons of these largest radii [m] when both are turned to each other."""
    return gauge - one - other


def yarn_length(balloon: Balloon) -> float:
    """Return the length of the drawn yarn from lappet to traveller [m]."""
    z, r, turn = (np.array(run) for run in (balloon.depth, balloon.radius, balloon.azimuth))
    steps = np.diff(z) ** 2 + np.diff(r) ** 2 + ((r[1:] + r[:-1]) / 2 * np.diff(turn)) ** 2
    return float(np.sqrt(steps).sum())


def _span(ground: Ground) -> Span:
    mass = 1e6 * ground.choice.traveller.mass
    return float(max(1.0, round(0.4 * mass / 0.5) * 0.5)), float(round(1.2 * mass / 0.5) * 0.5), 0.5


def _change(ground: Ground, mass: float) -> Change:
    as_set = ground.choice.traveller.mass
    return AS_IT_IS if abs(mass - as_set) < 1e-12 else Change(trial=Trial(traveller_mass=mass))


def _answer(ground: Ground, mass: float) -> Shown:
    own, neighbour = doff_of(ground), doff_of(ground, _change(ground, mass))
    frame = ground.choice.frame
    radii = own.forces.largest_radius, neighbour.forces.largest_radius
    index = int(np.nanargmax(radii[0])) if np.isfinite(radii[0]).any() else 0
    one, other = float(radii[0][index]), float(radii[1][index])
    between, room = gap(frame.gauge, one, other), face(frame) - other
    shown = drawn_at(ground, _change(ground, mass), index), drawn_at(ground, AS_IT_IS, index)
    length = yarn_length(shown[1].balloon) if shown[1].balloon else math.nan
    swings = f"the neighbour's balloon reaches {told(other, 'mm', 0.1)}" if math.isfinite(other) else "the neighbour"
    return Shown(
        moved="plate fitted",
        other="plate missing",
        pictures=(
            _picture(ground, shown, f"{swings}: {_apart(between, *MET)}", plate=False),
            _picture(ground, shown, f"{swings}: {_apart(room, 'to the plate', 'into the plate')}", plate=True),
        ),
        when=f"Left the neighbour with {told(mass, 'mg')}, right a traveller as set, at {minute(own, index)}, where "
        f"the balloon as set is widest. Both yarns are turned to each other.",
        rows=(
            row("Balloon as set, largest radius", "mm", (one, one), 0.1),
            row("Neighbour's balloon, largest radius", "mm", (other, other), 0.1),
            Row(name="Neighbour's balloon to the plate", other="no plate", moved=number_or(room, "mm", 0.1)),
            Row(name="Between the two balloons", other=number_or(between, "mm", 0.1), moved="the plate stands there"),
            *_strike_rows(ground),
        ),
        chart=_chart(ground, own, index, mass, other),
        reasons=_reasons(ground, mass, (one, other), length),
        notes=tuple(f"The neighbour: {note[:1].lower()}{note[1:]}" for note in _unsteady(neighbour)),
    )  # fmt: skip


def _apart(room: float, free: str, struck: str) -> str:
    """Tell a room, or by how much there is none."""
    if not math.isfinite(room):
        return told(room, "mm")
    return f"{told(abs(room), 'mm', 0.1)} {struck if room < 0 else free}"


def _strike_rows(ground: Ground) -> tuple[Row, ...]:
    """Tell what the plate, or its lack, does at a break: more breaks, and when the records would name it."""
    shares = [stated(ground, "frame", f"strikes.{key}_share", "%") for key in ("missing", "plate")]
    extra = [_extra(ground, share.value) for share in shares]
    shifts = shifts_to_name(ground)
    return (
        Row(name="More in 1000 hours of each spindle", other=_breaks(extra[0]), moved=_breaks(extra[1])),
        Row(
            name="Until the records name it",
            other=computed(shifts, "shifts") if shifts else "over 1000 shifts",
            moved="nothing to name",
        ),
    )


def _breaks(number: float) -> Number:
    return computed(number, "breaks", 0.1 if number >= 1 else None)


def _extra(ground: Ground, share: float) -> float:
    """Give the extra breaks per 1000 spindle hours at each of the two spindles."""
    return extra_breaks(ground.mill.money.breaks_per_1000_spindle_hours, share) / 2


def _break_source(ground: Ground) -> str:
    rate = digits(ground.mill.money.breaks_per_1000_spindle_hours, 0.1)
    origin = origin_of(ground.mill, "money.breaks_per_1000_spindle_hours")[0]
    return (
        f"More breaks and shifts: closed forms, {rate} own breaks per 1000 spindle hours and the shares that strike "
        f"({origin})."
    )


def shifts_to_name(ground: Ground) -> int:
    """Return the shifts after which timed records name a missing plate in four cases of five; 0 for over 1000."""
    frame, mill = ground.choice.frame, ground.mill
    of_side = frame.spindles // frame.sides
    watch = Watch(boundaries=frame.sides * (of_side - 1), spindles=of_side, window=WINDOW_S, false_share=FALSE_SHARE)
    rate = mill.money.breaks_per_1000_spindle_hours / 3.6e6
    return steps_to_name(rate, frame.strikes.missing_share, frame.strikes.delay, mill.shift_length, watch)


def _unsteady(doff: Doff) -> tuple[str, ...]:
    return tuple(note for note in doff.notes if "No steady" in note)


def _picture(ground: Ground, shown: tuple[PositionFigure, PositionFigure], below: str, *, plate: bool) -> Picture:
    frame = ground.choice.frame
    view = View(bottom=-frame.tube.bare_bottom - 0.004, top=shown[1].guide_height + 0.010, width=300.0)
    half = frame.gauge / 2
    scale = min(view.sheet.scale, (view.width - 4) / (frame.gauge + 2 * RAIL_HALF))
    datum = 6 + scale * view.top
    middle = view.width / 2
    sheets = [Sheet(scale=scale, axis=middle + side * scale * half, datum=datum) for side in (-1, 1)]
    parts = machine_with_yarn(sheets[0], shown[0], plates=False)
    parts += machine_with_yarn(sheets[1], shown[1], plates=False, left=True)
    low, high = (sheets[0].at(0, h)[1] for h in (shown[1].ring_height + 0.012, shown[1].guide_height - 0.010))
    for side in (-2, 0, 2):
        if side or plate:
            wide = Pen(width=max(scale * frame.separators.thickness, 2.2 if side == 0 else 0.9))
            parts.append(svg.line((middle + side * scale * half, low), (middle + side * scale * half, high), wide))
    title = "Plate fitted" if plate else "Plate missing"
    figure = svg.figure((view.width, datum + scale * 0.016 + 6), "", ["".join(parts)])
    said = f"Two neighbouring positions to scale, {title.lower()}: {below}"
    return Picture(title=title, figure=figure if plate else as_other(figure), said=said, below=below, other=not plate)


@lru_cache(maxsize=16)
def _radii(ground: Ground, index: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Solve the neighbour's widest moment over the whole span of travellers: masses [kg] and largest radii [m]."""
    low, high, _ = _span(ground)
    masses = np.linspace(low, high, MASSES) * 1e-6
    doff = doff_of(ground)
    many = positions(doff.choice, doff.places.take(np.full(MASSES, index)))
    radius = solve(replace(many, traveller_mass=masses)).largest_radius
    return tuple(float(m) for m in masses), tuple(float(r) for r in radius)


def _chart(ground: Ground, own: Doff, index: int, mass: float, here: float) -> Chart | None:
    masses, radii = _radii(ground, index)
    if sum(math.isfinite(r) for r in radii) < 2:
        return None
    ys = [axis_value(r, "mm") for r in radii]
    mark = (in_unit(mass, "mg"), axis_value(here, "mm"))
    curve = Curve(name="neighbour", xs=[in_unit(m, "mg") for m in masses], ys=ys, mark=mark)
    wall = Wall(value=axis_value(face(own.choice.frame), "mm"), name="plate", above=True)
    title = f"The neighbour's balloon over its traveller, {axis('mm')}"
    said = f"{title}: the numbers stand in the table"
    return Chart(title=title, figure=line_chart([curve], "mg", wall=wall, zero=False, said=said), said=said)


def _reasons(ground: Ground, mass: float, radii: tuple[float, float], length: float) -> tuple[str, str, str]:
    frame = ground.choice.frame
    one, other = radii
    room, between = face(frame) - other, gap(frame.gauge, one, other)
    if not math.isfinite(other):
        second = (
            f"With {told(mass, 'mg')} the neighbour has no steady balloon at this moment, and how far it would swing "
            f"is not computed."
        )
    else:
        does = (
            f"would reach {told(-room, 'mm', 0.1)} into the plate"
            if room < 0
            else f"keeps {told(room, 'mm', 0.1)} from the plate"
        )
        free = (
            f"strikes {told(-between, 'mm', 0.1)} into"
            if between < 0
            else f"comes within {told(between, 'mm', 0.1)} of"
        )
        second = (
            f"With a traveller of {told(mass, 'mg')} the neighbour's balloon reaches {told(other, 'mm', 0.1)} and "
            f"{does}; without the plate it {free} the balloon as set."
        )
    return (
        (
            f"Two spindles stand {told(frame.gauge, 'mm')} apart, and a plate of "
            f"{told(frame.separators.thickness, 'mm', 0.1)} midway leaves each balloon {told(face(frame), 'mm', 0.1)}."
        ),
        second,
        (
            f"Its main work is at a break: a loose end of up to {told(length, 'mm')} reaches the next spindle, "
            f"{told(frame.gauge, 'mm')} away, and where {told(frame.strikes.missing_share, '%', 1.0)} of them strike "
            f"a missing plate costs each of the two {digits(_extra(ground, frame.strikes.missing_share), 0.1)} breaks "
            f"more per 1000 spindle hours; its price is half a plate, "
            f"{told(frame.separators.thickness / 2, 'mm', 0.1)}, of each balloon's room."
        ),
    )


LESSON = Lesson(
    key="separator",
    name="Separator present or missing",
    question="What does a missing separator cost?",
    think="Two neighbouring spindles, with the plate between them and without it. Move the neighbour's traveller, as "
    "if it wore away. Before you move it: which balloon will be struck first?",
    control=Control(
        name="Neighbour's traveller mass", quantity="mass", unit="mg", span=_span,
        start=lambda ground: round(0.7 * 1e6 * ground.choice.traveller.mass / 0.5) * 0.5e-6,
        why="A worn traveller is a lighter one.",
    ),
    answer=_answer,
    sources=lambda ground: (
        inputs_of(ground),
        source("common-practice", "That a worn traveller lets the balloon grow"),
        _break_source(ground),
    ),
    left_out="The lash of a broken end and the meeting of two balloons; your records tell how many strike.",
    works=("all work past the guards", "being in the ring room"),
)  # fmt: skip
