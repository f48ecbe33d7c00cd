"""The lesson of centring: a spindle off the centre of its ring, with inertia and yarn conservation, and by geometry."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ringwright.centring.effect import AGREES, SLACK, TESTED
from ringwright.centring.kinematic import angle_swing, tension_swing
from ringwright.lessons.cop_stage import FINE, rise_of
from ringwright.lessons.ground import AS_IT_IS, Ground, doff_of
from ringwright.lessons.lesson import Chart, Control, Lesson, Picture, Row, Shown, Span
from ringwright.lessons.line_chart import Curve, line_chart
from ringwright.lessons.ring_view import ENLARGED, RingFromAbove, ring_from_above
from ringwright.lessons.words import axis, axis_value, computed, number_or, source, stated, told
from ringwright.physics.krause import winding_angle
from ringwright.physics.motion import offset_response
from ringwright.report.number import Number, digits
from ringwright.setting.doff import Doff
from ringwright.setting.problem import positions

__all__ = ["LESSON"]

NAMES = ("full cop", "bare tube")
MOST = 0.5e-3
"""The farthest the lesson moves the spindle [m]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stage:
    """One place of the doff: its number, its winding tension [N], and how it answers to an offset.

    ``swing`` is the swing per metre by the linear answer [N/m]; from the offset ``valid`` [m] on the yarn stops for
    part of each turn, and up to ``TESTED`` times that the rise is about the linear one; ``still`` is the share of the
    tension by geometry alone per metre [1/m], ``turn`` the angle's swing [rad/m].
    """

    index: int
    tension: float
    swing: float
    valid: float
    still: float
    turn: float

    def swings(self, offset: float) -> float:
        """Give the swing [N] by the linear answer; nan beyond what the motion in time bore out."""
        return self.swing * offset if offset <= TESTED * self.valid else math.nan


@lru_cache(maxsize=16)
def _stages(ground: Ground) -> tuple[_Stage, _Stage]:
    """Work out full cop and bare tube of the stroke half-way through the doff, once for a frame and yarn."""
    doff = doff_of(ground, AS_IT_IS, FINE)
    rise = rise_of(doff)
    at = np.array([rise[0], rise[-1]])
    places, ring = doff.places.take(at), doff.choice.frame.ring
    answer = offset_response(positions(doff.choice, places), places.yarn_speed)
    swing, valid = np.abs(answer.ring.winding_tension), answer.valid_below("ring")
    found = []
    for k, index in enumerate(at.tolist()):
        angle = float(winding_angle(places.winding_diameter[k], ring.diameter))
        found.append(
            _Stage(
                index=index, tension=float(doff.forces.winding_tension[index]), swing=float(swing[k]),
                valid=float(valid[k]), still=tension_swing(1.0, ring.diameter, angle, ring.friction),
                turn=angle_swing(1.0, ring.diameter, angle),
            )
        )  # fmt: skip
    return found[0], found[1]


def _span(_: Ground) -> Span:
    return 0.0, 0.5, 0.01


def _answer(ground: Ground, offset: float) -> Shown:
    doff = doff_of(ground, AS_IT_IS, FINE)
    stages = _stages(ground)
    return Shown(
        moved=f"spindle {told(offset, 'mm', 0.01)} off centre",
        other="spindle in the centre",
        pictures=tuple(
            _picture(doff, stage, offset, f"On the {name}") for stage, name in zip(stages, NAMES, strict=True)
        ),
        when="The ring from above, to scale, half-way through the doff: the cross is the spindle, the small circle the "
        "ring's centre, both enlarged at the lower right. A swing is told to either side of the mean.",
        rows=tuple(row for stage, name in zip(stages, NAMES, strict=True) for row in _rows(name, stage, offset)),
        chart=_chart(stages, offset),
        reasons=_reasons(ground, offset, stages),
        notes=doff.notes,
    )


def _rows(name: str, stage: _Stage, offset: float) -> tuple[Row, ...]:
    where = name.capitalize()
    mean = number_or(stage.tension, "cN")
    return (
        Row(name=f"{where}, winding tension", other=mean, moved=mean),
        Row(name=f"{where}, it swings by", other=computed(0.0, "cN", 0.01), moved=_swing(stage, offset)),
        Row(name=f"{where}, by geometry alone", other=computed(0.0, "cN", 0.01),
            moved=number_or(stage.still * offset * stage.tension, "cN", 0.01)),
    )  # fmt: skip


def _swing(stage: _Stage, offset: float) -> Number | str:
    """Give the swing, or where the yarn stops for part of each turn how far the tension rises, as far as is known."""
    if not math.isfinite(stage.swing) or offset <= stage.valid:
        return number_or(stage.swing * offset, "cN", 0.01)
    if offset <= TESTED * stage.valid:
        return f"about {told(stage.swing * offset, 'cN', 0.1)} up, less down: the yarn stops"
    least = (1 - SLACK) * TESTED * stage.swing * stage.valid
    return f"at least {told(least, 'cN', 0.1)} up: the yarn stops"


def _picture(doff: Doff, stage: _Stage, offset: float, title: str) -> Picture:
    frame = doff.choice.frame
    package = float(doff.places.winding_diameter[stage.index])
    shown = RingFromAbove(
        ring=frame.ring.diameter, package=package, tube=min(doff.problem.shape.tube_top_diameter, package),
        tension=stage.tension if math.isfinite(stage.tension) else 0.0, angle_words="", offset=offset,
        offset_words=f"\N{MULTIPLICATION SIGN} {ENLARGED:.0f}: {told(offset, 'mm', 0.01)}",
    )  # fmt: skip
    swing = _swing(stage, offset)
    words = swing if isinstance(swing, str) else told(stage.swing * offset, "cN", 0.01)
    way = "" if isinstance(swing, str) else "to either side "
    below = f"the tension swings {way}by {words}"
    said = f"Ring from above, {title.lower()}, spindle {told(offset, 'mm', 0.01)} to the right of the centre: {below}"
    return Picture(title=title, figure=ring_from_above(shown, ""), said=said, below=below)


def _chart(stages: tuple[_Stage, _Stage], offset: float) -> Chart | None:
    if not all(math.isfinite(one.swing) for one in stages):
        return None
    title = "Swing of the winding tension over the offset, as far as it is known, cN"
    curves = []
    for name, stage in zip(NAMES, stages, strict=True):
        end = min(TESTED * stage.valid, MOST)
        along = np.linspace(0.0, end, 30).tolist()
        xs = [axis_value(v, "mm") for v in along]
        ys = [axis_value(stage.swing * v, "cN") for v in along]
        there = stage.swings(offset)
        mark = (axis_value(offset, "mm"), axis_value(there, "cN")) if math.isfinite(there) else None
        curves.append(Curve(name=name, xs=xs, ys=ys, mark=mark))
    said = f"{title}: the numbers stand in the table"
    return Chart(title=title, figure=line_chart(curves, axis("mm"), said=said), said=said)


def _reasons(ground: Ground, offset: float, stages: tuple[_Stage, _Stage]) -> tuple[str, str, str]:
    ring, stated_centring = ground.choice.frame.ring, ground.choice.frame.centring
    small = min(offset or 0.05e-3, *(one.valid for one in stages))
    times = [one.swing / (one.still * one.tension) for one in stages]
    tolerance = stated_centring.ring_tolerance
    return (
        (
            f"A spindle {told(offset, 'mm', 0.01)} off the centre of a {told(ring.diameter, 'mm')} ring makes the "
            f"angle of the yarn swing by {told(stages[0].turn * offset, 'degrees', 0.1)} on the full cop and by "
            f"{told(stages[1].turn * offset, 'degrees', 0.1)} on the bare tube, once in each turn; by geometry alone "
            f"that is {told(stages[1].still * offset, '%', 0.01)} of the tension on the tube."
        ),
        (
            f"But balloon and traveller have mass, and the yarn that is made must be wound: with these, "
            f"{told(small, 'mm', 0.01)} off swings the tension by {told(stages[0].swing * small, 'cN', 0.01)} on the "
            f"cop and {told(stages[1].swing * small, 'cN', 0.01)} on the tube, {told(times[0], 'times', 0.1)} and "
            f"{told(times[1], 'times', 0.1)} as much as geometry says."
        ),
        (
            f"Beyond {told(min(one.valid for one in stages), 'mm', 0.01)} the yarn stops on the traveller for part of "
            f"each turn, and the tension still rises about as far; the mill allows {told(tolerance, 'mm', 0.01)}, "
            f"and to centre a spindle costs a fitter some {told(stated_centring.minutes_per_spindle, 'min')}."
        ),
    )


def _sources(ground: Ground) -> tuple[str, ...]:
    friction = stated(ground, "frame", "ring.friction", "1")
    return (
        (
            "The swing: this program's own linear answer of balloon, traveller and yarn conservation; by geometry "
            "alone: first order, held against exact geometry by a test. Both derived here, no published table."
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
    think="Only the spindle moves, sideways from the centre of its ring. Before you move it: does the same small "
    "step matter more on the full cop or on the bare tube?",
    control=Control(
        name="Spindle off the ring's centre", quantity="length", unit="mm", span=_span, start=lambda _: 0.05e-3,
        why="How far its axis stands beside the centre.",
    ),
    answer=_answer,
    sources=_sources,
    left_out="The yarn is taken as one that does not stretch. Where the yarn stops for part of each turn, the rise "
    f"is the linear one up to {TESTED:.0f} times that offset, which the motion in time bore out to "
    f"{100 * AGREES:.0f} % of the highest tension; beyond, "
    "only what it is at least is told. Guide and control ring are taken as centred.",
    works=("changing or setting rings", "all work past the guards"),
)  # fmt: skip
