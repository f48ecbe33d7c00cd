"""The lesson of the lappet: held still, or travelling with the build."""

from __future__ import annotations

import numpy as np

from ringwright.lessons.ground import AS_IT_IS, Change, Ground, doff_of, ends_of, tube_room
from ringwright.lessons.lesson import Control, Lesson, Shown, Span
from ringwright.lessons.line_chart import Wall
from ringwright.lessons.pair import (
    Adds,
    Pair,
    doff_chart,
    force_row,
    least,
    most,
    notes_of,
    row,
    side_pictures,
)
from ringwright.lessons.side_view import View, detail
from ringwright.lessons.words import changed, inputs_of, minute, told
from ringwright.report.position_inputs import PositionFigure
from ringwright.report.position_parts import Sheet

__all__ = ["LESSON"]


def _span(ground: Ground) -> Span:
    """Go from a lappet that stays to a quarter more than it travels, kept under the nip."""
    guide = ground.choice.frame.guide
    under_nip = (guide.nip_height - guide.height - 0.005) / (1 + guide.stroke / guide.lift)
    return 0.0, float(np.floor(1e3 * min(1.25 * guide.lift, under_nip))), 1.0


def _change(ground: Ground, travel: float) -> Change:
    """Give the frame with another travel [m]; a lappet that stays is the trial of every command."""
    guide = ground.choice.frame.guide
    if abs(travel - guide.lift) < 1e-9:
        return AS_IT_IS
    return Change(frame=(("guide.lift", travel), ("guide.stroke", travel * guide.stroke / guide.lift)))


def _answer(ground: Ground, travel: float) -> Shown:
    words = f"travels {told(travel, 'mm')}" if travel > 0 else "stays"
    pair = Pair(
        ground=ground, other=_change(ground, 0.0), moved=_change(ground, travel),
        other_name="stays", moved_name=words,
    )  # fmt: skip
    rooms = tube_room(ground, pair.other), tube_room(ground, pair.moved)
    doffs, ends = pair.doffs, ends_of(pair.doffs[0])
    known = bool(np.isfinite(rooms[0]).any())
    end = int(np.nanargmin(rooms[0])) if known else len(ends) - 1
    below = tuple(f"{told(float(room[end]), 'mm', 0.1)} from yarn to tube" for room in rooms)
    wall = Wall(value=0.0, name="touches", above=False)
    return Shown(
        moved=f"lappet {words}",
        other="lappet stays",
        pictures=side_pictures(
            pair, int(ends[end]), ("The lappet stays", f"The lappet {words}"), (below[0], below[1]),
            view=_view(pair, int(ends[end])), add=_tip(ground),
        ),
        when=f"Both at {minute(doffs[0], int(ends[end]))}, where the yarn of a lappet that stays comes nearest the "
        f"tube.",
        rows=(
            row("Balloon height, first stroke", "mm", _heights(pair, 0)),
            row("Balloon height, last stroke", "mm", _heights(pair, -1)),
            row("Yarn to tube, least", "mm", (least(rooms[0]), least(rooms[1])), 0.1),
            force_row(pair, "Tension at the triangle, highest", "triangle_tension"),
            force_row(pair, "Tension at the triangle, lowest", "triangle_tension", lowest=True),
            force_row(pair, "Winding tension, highest", "winding_tension"),
        ),
        chart=doff_chart(
            pair, "Yarn to tube at foot and top of the strokes", "mm", (list(rooms[0]), list(rooms[1])),
            int(ends[end]), wall=wall,
        ),
        reasons=_reasons(pair, float(rooms[0][end]), float(rooms[1][end])),
        notes=notes_of(pair),
    )  # fmt: skip


def _heights(pair: Pair, stroke: int) -> tuple[float, float]:
    one, other = (d.places.balloon_height[:: d.places_per_stroke][stroke] for d in pair.doffs)
    return float(one), float(other)


def _view(pair: Pair, index: int) -> View:
    """Hold every height to which the lesson can lift the lappet at this place of the doff."""
    frame = pair.ground.choice.frame
    guide = frame.guide
    as_set = float(doff_of(pair.ground).places.guide_height[index]) - guide.height
    top = guide.height + as_set * _span(pair.ground)[1] * 1e-3 / guide.lift
    return View(bottom=-frame.tube.bare_bottom - 0.004, top=top + 0.010, width=330.0, axis=0.42)


def _tip(ground: Ground) -> Adds:
    tube = ground.choice.frame.tube
    tip = tube.length - tube.bare_bottom

    def add(sheet: Sheet, shown: PositionFigure) -> list[str]:
        if shown.balloon is None or shown.guide_height <= tip:
            return []
        return detail(sheet, (tube.top_diameter / 2 + 0.0055, tip - 0.004), shown, times=4.0)

    return add


def _reasons(pair: Pair, one: float, other: float) -> tuple[str, str, str]:
    build = pair.ground.choice.frame.build
    still, moved = pair.doffs
    first, last = _heights(pair, 0), _heights(pair, -1)
    peaks = [most(doff.forces.triangle_tension) for doff in (still, moved)]
    return (
        (
            f"In a doff the ring rail climbs {told(build.lift - build.chase, 'mm')}, so with a lappet that stays the "
            f"balloon shrinks from {told(first[0], 'mm')} to {told(last[0], 'mm')}."
        ),
        (
            f"A lappet that {pair.moved_name} leaves the last balloon {told(last[1], 'mm')} tall; at the moment drawn "
            f"the yarn keeps {told(other, 'mm', 0.1)} from the tube, and {told(one, 'mm', 0.1)} if the lappet stays."
        ),
        (
            f"The other side is tension: with these balloons the highest at the triangle "
            f"{changed(peaks[0], peaks[1], 'cN')}."
        ),
    )


LESSON = Lesson(
    key="lappet",
    name="Lappet fixed or moving",
    question="Why does the lappet travel?",
    think="Same yarn, ring, traveller and speed; only the lappet differs. Before you move it: where will the yarn come "
    "nearest to something solid?",
    control=Control(
        name="Lappet travel in a doff", quantity="length", unit="mm", span=_span,
        start=lambda ground: ground.choice.frame.guide.lift, why="Its stroke goes in the same ratio; at 0 it stays.",
    ),
    answer=_answer,
    sources=lambda ground: (inputs_of(ground),),
    left_out="The control ring keeps its own travel. How an uneven tension shows in the yarn is not computed.",
    works=("all work past the guards",),
    missing=lambda ground: "" if ground.choice.frame.guide.lift > 0 else "The frame's lappet has no travel to move.",
)  # fmt: skip
