"""The lesson of centring: a spindle that stands off the centre of its ring. First order, and of the geometry alone."""

from __future__ import annotations

import math

import numpy as np

from ringwright.lessons.cop_stage import FINE, rise_of
from ringwright.lessons.ground import AS_IT_IS, Ground, doff_of
from ringwright.lessons.lesson import Chart, Control, Lesson, Picture, Row, Shown, Span
from ringwright.lessons.line_chart import Curve, line_chart
from ringwright.lessons.ring_view import RingFromAbove, ring_from_above
from ringwright.lessons.words import computed, number_or, source, stated, told
from ringwright.physics.krause import winding_angle
from ringwright.report.number import digits, in_unit
from ringwright.setting.doff import Doff

__all__ = ["LESSON", "angle_swing", "tension_swing"]

TOLERANCE = 0.15e-3
"""Spindle to ring, as set in practice [m]: from memory, no source."""


def angle_swing(offset: float, ring_diameter: float, angle: float) -> float:
    """Return by how much the winding angle swings to either side [rad]: 2 e / D over the cosine of the angle [rad].

    Range: offsets [m] small against the ring [m], a traveller that runs at one speed. Derived here, first order.
    """
    return 2 * offset / ring_diameter / math.cos(angle)


def tension_swing(offset: float, ring_diameter: float, angle: float, friction: float) -> float:
    """Return by what share the winding tension swings to either side, once in each turn of the traveller.

    (2 e / D) (1 - mu tan a) / (sin a + mu cos a), from the angle's swing and Krause's relation. Range: as angle_swing;
    without the traveller's inertia, the balloon's answer and the yarn's stretch. Derived here, first order.
    """
    share = (1 - friction * math.tan(angle)) / (math.sin(angle) + friction * math.cos(angle))
    return 2 * offset / ring_diameter * share


def _span(_: Ground) -> Span:
    return 0.0, 1.0, 0.05


def _answer(ground: Ground, offset: float) -> Shown:
    doff = doff_of(ground, AS_IT_IS, FINE)
    rise = rise_of(doff)
    places = int(rise[0]), int(rise[-1])
    angles = [_angle(doff, k) for k in places]
    tensions = [float(doff.forces.winding_tension[k]) for k in places]
    shares = [_share(doff, k, offset) for k in places]
    return Shown(
        moved=f"spindle {told(offset, 'mm', 0.01)} off centre",
        other="spindle in the centre",
        pictures=(
            _picture(doff, places[0], offset, "On the full cop", shares[0]),
            _picture(doff, places[1], offset, "On the bare tube", shares[1]),
        ),
        when="The ring from above, to scale, half-way through the doff: black cross the spindle, blue cross the ring's "
        "centre. A swing is told to either side of the mean.",
        rows=(
            *(_swing_rows("Full cop", tensions[0], shares[0], _turn(doff, places[0], offset))),
            *(_swing_rows("Bare tube", tensions[1], shares[1], _turn(doff, places[1], offset))),
        ),
        chart=_chart(tensions, shares),
        reasons=_reasons(ground, offset, angles, (tensions, shares)),
        notes=doff.notes,
    )  # fmt: skip


def _angle(doff: Doff, index: int) -> float:
    return float(winding_angle(doff.places.winding_diameter[index], doff.choice.frame.ring.diameter))


def _share(doff: Doff, index: int, offset: float) -> float:
    ring = doff.choice.frame.ring
    return tension_swing(offset, ring.diameter, _angle(doff, index), ring.friction)


def _turn(doff: Doff, index: int, offset: float) -> float:
    return angle_swing(offset, doff.choice.frame.ring.diameter, _angle(doff, index))


def _swing_rows(where: str, tension: float, share: float, turn: float) -> tuple[Row, ...]:
    def swing(value: float, unit: str, step: float) -> Row:
        name = {"degrees": "angle", "cN": "tension"}[unit]
        return Row(
            name=f"{where}, {name} swings by", other=computed(0.0, unit, step),
            moved=number_or(value, unit, step),
        )  # fmt: skip

    mean = number_or(tension, "cN")
    return (
        Row(name=f"{where}, winding tension", other=mean, moved=mean),
        swing(turn, "degrees", 0.1),
        swing(share * tension, "cN", 0.01),
    )


def _picture(doff: Doff, index: int, offset: float, title: str, share: float) -> Picture:
    frame, tension = doff.choice.frame, float(doff.forces.winding_tension[index])
    package = float(doff.places.winding_diameter[index])
    shown = RingFromAbove(
        ring=frame.ring.diameter, package=package, tube=min(doff.problem.shape.tube_top_diameter, package),
        tension=tension if math.isfinite(tension) else 0.0, angle_words="", offset=offset,
    )  # fmt: skip
    below = f"tension swings by {told(share, '%', 0.01)} to either side"
    said = f"Ring from above, {title.lower()}, spindle {told(offset, 'mm', 0.01)} to the right of the centre: {below}"
    return Picture(title=title, figure=ring_from_above(shown, ""), said=said, below=below)


def _chart(tensions: list[float], shares: list[float]) -> Chart | None:
    if not all(math.isfinite(t) for t in tensions):
        return None
    turn = [float(v) for v in np.linspace(0.0, 360.0, 73)]
    cop, tube = (
        [in_unit(t, "cN") * (1 + share * math.sin(math.radians(v))) for v in turn]
        for t, share in zip(tensions, shares, strict=True)
    )
    title = "Winding tension through one turn of the traveller, cN"
    curves = [
        Curve(name="bare tube", xs=turn, ys=tube),
        Curve(name="full cop", xs=turn, ys=cop),
        Curve(name="centred", xs=[0.0, 360.0], ys=[in_unit(tensions[1], "cN")] * 2, other=True),
        Curve(name="centred", xs=[0.0, 360.0], ys=[in_unit(tensions[0], "cN")] * 2, other=True),
    ]
    said = f"{title}: the numbers stand in the table"
    return Chart(title=title, figure=line_chart(curves, "degrees", said=said), said=said)


def _reasons(
    ground: Ground, offset: float, angles: list[float], found: tuple[list[float], list[float]]
) -> tuple[str, str, str]:
    ring = ground.choice.frame.ring
    tensions, shares = found
    turns = [angle_swing(offset, ring.diameter, angle) for angle in angles]
    close = tension_swing(TOLERANCE, ring.diameter, angles[1], ring.friction)
    return (
        (
            f"A spindle {told(offset, 'mm', 0.01)} off the centre of a {told(ring.diameter, 'mm')} ring makes the "
            f"angle of the yarn swing by {told(turns[0], 'degrees', 0.1)} to either side on the full cop and by "
            f"{told(turns[1], 'degrees', 0.1)} on the bare tube, once in each turn."
        ),
        (
            f"With the angle the winding tension must swing too, by {told(shares[0], '%', 0.01)} on the cop and "
            f"{told(shares[1], '%', 0.01)} on the tube, where the yarn pulls hardest already, "
            f"{told(tensions[1], 'cN')}."
        ),
        (
            f"To centre each spindle costs a fitter's time: within {told(TOLERANCE, 'mm', 0.01)}, which is common "
            f"practice from memory, this swing on the tube stays under {told(close, '%', 0.01)}."
        ),
    )


def _sources(ground: Ground) -> tuple[str, ...]:
    friction = stated(ground, "frame", "ring.friction", "1")
    return (
        (
            "The swing: first order of the geometry (kinematic), derived for this program and held against exact "
            "geometry by a test; no published source."
        ),
        source("Klein-1987", "Krause's formula, on which it rests"),
        (
            f"The mean tension: this program's balloon model; ring friction {digits(friction.value, 0.01)} "
            f"({friction.origin.value})."
        ),
    )


LESSON = Lesson(
    key="off-centre",
    name="Spindle off centre",
    question="What does a spindle off centre do to the tension?",
    think="Only the spindle moves, sideways from the centre of its ring. Before you move it: does half a millimetre "
    "matter more on the full cop or on the bare tube?",
    control=Control(
        name="Spindle off the ring's centre", quantity="length", unit="mm", span=_span, start=lambda _: 0.5e-3,
        why="How far its axis stands beside the centre.",
    ),
    answer=_answer,
    sources=_sources,
    left_out="This is the geometry's part alone. The traveller's mass, the balloon's answer and the stretch of the "
    "yarn are left out; a linear study of our own, not in this program, found such estimates 4 to 33 times too small. "
    "Read it as the least, and as a comparison, not as what a tension meter would show.",
    works=("changing or setting rings", "all work past the guards"),
)  # fmt: skip
