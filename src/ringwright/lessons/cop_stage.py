"""The lesson of the stroke: wound on the full cop, or on the bare tube."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from ringwright.lessons.ground import AS_IT_IS, Ground, doff_of
from ringwright.lessons.lesson import Chart, Control, Lesson, Picture, Shown, Span
from ringwright.lessons.line_chart import Curve, line_chart
from ringwright.lessons.pair import row
from ringwright.lessons.ring_view import RingFromAbove, ring_from_above
from ringwright.lessons.side_view import as_other
from ringwright.lessons.words import axis, axis_value, changed, inputs_of, source, told
from ringwright.physics.krause import winding_angle, winding_tension
from ringwright.report.number import digits, in_unit
from ringwright.setting.doff import Doff
from ringwright.setting.places import Counts, Sampling

__all__ = ["FINE", "LESSON", "rise_of"]

FINE = Sampling(strokes=3, places=60)
"""The stroke half-way through the doff in 40 steps from foot to top."""


def rise_of(doff: Doff) -> Counts:
    """Give the places of the slow rise of the stroke half-way through a doff, foot first, top last."""
    row_length = doff.places_per_stroke
    start = len(doff.places) // row_length // 2 * row_length
    top = int(np.argmax(doff.places.ring_height[start : start + row_length]))
    return np.arange(start, start + top + 1, dtype=np.int_)


@lru_cache(maxsize=16)
def _shares(ground: Ground) -> tuple[float, ...]:
    doff = doff_of(ground, AS_IT_IS, FINE)
    heights = doff.places.ring_height[rise_of(doff)]
    return tuple(float(h) for h in (heights - heights[0]) / (heights[-1] - heights[0]))


def _span(_: Ground) -> Span:
    return 0.0, 100.0, 1.0


def _answer(ground: Ground, share: float) -> Shown:
    doff = doff_of(ground, AS_IT_IS, FINE)
    rise = rise_of(doff)
    step = int(np.argmin(np.abs(np.array(_shares(ground)) - share)))
    foot, here = int(rise[0]), int(rise[step])
    at = f"{digits(100 * _shares(ground)[step], 1.0)} % up the stroke"
    names = "at the foot", "at the top" if here == int(rise[-1]) else at
    places, forces = doff.places, doff.forces
    two = [foot, here]
    angles = [_angle(doff, k) for k in two]
    return Shown(
        moved=f"ring rail {names[1]}",
        other="ring rail at the foot",
        pictures=(
            _picture(doff, foot, "At the foot of the stroke", other=True),
            _picture(doff, here, _title(at, here, rise)),
        ),
        when=f"The ring from above, to scale, half-way through the doff. Numbers at the step nearest to the slider: "
        f"{at}.",
        rows=(
            row("Wound on a diameter of", "mm", _two(places.winding_diameter, two), 0.1),
            row("Angle from yarn to ring radius", "degrees", (angles[0], angles[1])),
            row("Winding tension", "cN", _two(forces.winding_tension, two)),
            row("The same by Krause's formula", "cN", (_krause(doff, foot), _krause(doff, here))),
            row("Tension at the triangle", "cN", _two(forces.triangle_tension, two)),
            row("Traveller behind the spindle", "rpm", _two(places.traveller_lag, two)),
            row("Twist that is missing on the cop", "t/m", _two(places.missing_twist, two)),
        ),
        chart=_chart(doff, rise, step, names[1]),
        reasons=_reasons(ground, doff, foot, int(rise[-1])),
        notes=doff.notes,
    )  # fmt: skip


def _title(at: str, here: int, rise: Counts) -> str:
    if here == int(rise[-1]):
        return "At the top of the stroke"
    return f"{at[:1].upper()}{at[1:]}" if here != int(rise[0]) else "At the foot of the stroke"


def _two(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]], places: list[int]) -> tuple[float, float]:
    return float(values[places[0]]), float(values[places[1]])


def _angle(doff: Doff, index: int) -> float:
    return float(winding_angle(doff.places.winding_diameter[index], doff.choice.frame.ring.diameter))


def _krause(doff: Doff, index: int) -> float:
    """Give the winding tension [N] by the relation that leaves the balloon's own pull out."""
    choice, speed = doff.choice, float(doff.places.traveller_speed[index])
    thrown = choice.traveller.mass * speed**2 * choice.frame.ring.diameter / 2
    return float(winding_tension(thrown, _angle(doff, index), choice.frame.ring.friction))


def _picture(doff: Doff, index: int, title: str, *, other: bool = False) -> Picture:
    places, frame = doff.places, doff.choice.frame
    diameter, tension = float(places.winding_diameter[index]), float(doff.forces.winding_tension[index])
    top = doff.problem.shape.tube_top_diameter
    angle = f"{digits(math.degrees(_angle(doff, index)), 1.0)}\N{DEGREE SIGN}"
    shown = RingFromAbove(
        ring=frame.ring.diameter, package=diameter, tube=min(top, diameter),
        tension=tension if math.isfinite(tension) else 0.0, angle_words=angle,
    )  # fmt: skip
    said = f"Ring from above, {title}: wound on {told(diameter, 'mm', 0.1)}, yarn {angle} from the ring's radius"
    figure = ring_from_above(shown, "")
    below = f"wound on {told(diameter, 'mm', 0.1)}, {told(tension, 'cN')} winding tension"
    return Picture(title=title, figure=as_other(figure) if other else figure, said=said, below=below, other=other)


def _chart(doff: Doff, rise: Counts, step: int, name: str) -> Chart | None:
    tension = [in_unit(float(v), "cN") if math.isfinite(v) else math.nan for v in doff.forces.winding_tension[rise]]
    if not all(math.isfinite(v) for v in tension):
        return None
    across = [axis_value(float(v), "mm") for v in doff.places.winding_diameter[rise]]
    said = "Winding tension over winding diameter, cN: the numbers stand in the table"
    curves = [
        Curve(name="", xs=across[:1] * 2, ys=tension[:1] * 2, other=True, mark=(across[0], tension[0])),
        Curve(name=name, xs=across, ys=tension, mark=(across[step], tension[step])),
    ]
    return Chart(
        title="Winding tension over winding diameter, cN",
        figure=line_chart(curves, axis("mm"), said=said),
        said=said,
    )


def _reasons(ground: Ground, doff: Doff, foot: int, top: int) -> tuple[str, str, str]:
    diameters = _two(doff.places.winding_diameter, [foot, top])
    angles = [told(_angle(doff, k), "degrees") for k in (foot, top)]
    tensions = _two(doff.forces.winding_tension, [foot, top])
    ring = ground.choice.frame.ring.diameter
    return (
        (
            f"On the cop, {told(diameters[0], 'mm', 0.1)} across, the yarn stands {angles[0]} off the ring's radius; "
            f"on the tube, {told(diameters[1], 'mm', 0.1)} across, only {angles[1]}."
        ),
        (
            f"Only the part of the winding tension along the ring drags the traveller, and that part grows with the "
            f"angle; so from foot to top the tension {changed(tensions[0], tensions[1], 'cN')}."
        ),
        (
            f"That is why a tube must not be thin: here the ring is {told(ring / diameters[1], 'times', 0.01)} as wide "
            f"as the tube, where 2.0 to 2.2 is common practice; a thick tube costs yarn on the cop."
        ),
    )


def _sources(ground: Ground) -> tuple[str, ...]:
    return (
        inputs_of(ground),
        source("Klein-1987", "Winding angle, Krause's formula and missing twist"),
        source("common-practice", "Ring to tube 2.0 to 2.2"),
    )


LESSON = Lesson(
    key="bare-tube",
    name="Bare tube and full cop",
    question="Why does the tension breathe with each stroke?",
    think="Same yarn, traveller and moment of the doff; only the ring rail moves up its stroke. Before you move it: "
    "where does the yarn pull harder, on the thick cop or on the thin tube?",
    control=Control(
        name="Height in the stroke", quantity="share", unit="%", span=_span, start=lambda _: 1.0,
        why="0 % is the foot, on the full cop; 100 % the top, on the bare tube.",
    ),
    answer=_answer,
    sources=_sources,
    left_out="Each place is taken as steady: how the yarn swings from one tension to the next is not computed.",
    works=("reading tension on a running spindle", "all work past the guards"),
)  # fmt: skip
