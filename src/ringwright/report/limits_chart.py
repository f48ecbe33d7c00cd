"""Room to each limit: a named bar approaches one hatched wall, and the gap is told in the limit's own unit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from textwrap import wrap

from ringwright.report import svg
from ringwright.report.chart import right
from ringwright.report.marks import mark
from ringwright.report.number import Number, interval, written
from ringwright.report.svg import Face, Pen

__all__ = ["Room", "limits_chart", "nearest_first", "room_span", "room_words"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The distance to one limit at the worst moment of the doff, or the sentence why there is none.

    ``room`` is negative where the limit is passed. ``used`` is the share of the way to the limit that is used (1 is at
    the limit), at the same moment; its low and high ends belong to the interval of ``room``. ``more`` follows the unit,
    as in "24 mg lighter".
    """

    name: str
    moment: str = ""
    room: Number | None = None
    used: float = math.nan
    used_low: float | None = None
    used_high: float | None = None
    more: str = ""
    not_met: str = ""

    def __post_init__(self) -> None:
        if (self.room is None) == (not self.not_met):
            raise ValueError(f"limit {self.name!r} needs either its room or the sentence that says why it is not met")
        if self.room is not None and not math.isfinite(self.used):
            raise ValueError(f"limit {self.name!r} needs the share of the way that is used")


def nearest_first(rooms: Sequence[Room]) -> list[Room]:
    """Sort by the share of the way used, nearest first; limits that are not met stand last, in the order given."""
    return sorted(rooms, key=lambda r: (r.room is None, -r.used if r.room is not None else 0.0))


def room_words(room: Room) -> str:
    """Tell one limit in words: "6.5 mm", "24 mg lighter", "2.1 mm past it", or why it is not met."""
    if room.room is None:
        return room.not_met
    shown = _distance(room.room)
    if room.room.value < 0:
        return f"{written(shown)} past it"
    return f"{written(shown)} {room.more}" if room.more else written(shown)


def room_span(room: Room) -> str:
    """Write the interval of a room, or of the distance past the limit, in brackets; nothing where there is none."""
    span = interval(_distance(room.room)) if room.room is not None else ""
    return f"({span})" if span else ""


def _distance(number: Number) -> Number:
    if number.value >= 0:
        return number
    low, high = number.low, number.high
    return replace(number, value=-number.value, low=None if high is None else -high, high=None if low is None else -low)


ROW, SHORT_ROW = 30.0, 18.0
NAME_WIDTH, VALUE_WIDTH, WALL_WIDTH = 98.0, 108.0, 11.0
SENTENCE = 44  # letters of a sentence in one line beside the names
BAR = Pen(colour=svg.WOAD, width=4.0)


def limits_chart(rooms: Sequence[Room], *, width: float = 332.0) -> str:
    """Draw every limit as a bar on its own scale from nought to the limit; the open box is the interval."""
    ordered = nearest_first(rooms)
    left, wall = NAME_WIDTH, width - VALUE_WIDTH - WALL_WIDTH
    met = sum(r.room is not None for r in ordered)
    height = sum(_height(r) for r in ordered)
    parts: list[str] = []
    if met:
        parts.append(svg.line((wall, 0), (wall, ROW * met - 4), svg.WALL))
        parts.append(svg.hatch((wall, 0), (WALL_WIDTH, ROW * met - 4), svg.WALL_HATCH, spacing=5.0))
    top = 0.0
    for room in ordered:
        parts += _row(room, top, (left, wall, width))
        top += _height(room)
    said = "; ".join(f"{r.name}: {room_words(r)}" for r in ordered)
    return svg.figure((width, height), f"Room to each limit, nearest first. {said}.", parts)


def _height(room: Room) -> float:
    if room.room is not None or room.moment:
        return ROW
    return SHORT_ROW + 13.0 * (len(wrap(room.not_met, SENTENCE)) - 1)


def _row(room: Room, top: float, across: tuple[float, float, float]) -> list[str]:
    left, wall, width = across
    parts = [svg.text((0, top + 12), room.name, svg.NAME)]
    if room.moment:
        parts.append(svg.text((0, top + 25), room.moment, svg.NOTE))
    if room.room is None:
        lines = wrap(room.not_met, SENTENCE)
        return parts + [svg.text((left, top + 12 + 13 * k), line, svg.NOTE) for k, line in enumerate(lines)]
    y = top + 9.0
    parts += _bar(room, y, (left, wall))
    value = Face(size=12.5, weight=600, anchor="end")
    parts.append(svg.text((width - 18, top + 13), room_words(room), value))
    parts.append(svg.group([mark(room.room.origin)], shift=(width - 13, top + 2)))
    parts.append(svg.text((width - 18, top + 26), room_span(room), right(svg.NOTE)))
    return parts


def _bar(room: Room, y: float, across: tuple[float, float]) -> list[str]:
    left, wall = across

    def place(share: float) -> float:
        return left + (wall - left) * min(max(share, 0.0), 1.0) + (WALL_WIDTH if share > 1 else 0.0)

    end = place(room.used)
    parts = [svg.line((left, y - 5), (left, y + 5), svg.THIN), svg.line((left, y), (end, y), BAR)]
    if room.used_low is not None and room.used_high is not None:
        near, far = sorted((place(room.used_low), place(room.used_high)))
        parts.append(svg.rectangle((near, y - 5), (far - near, 10), svg.THIN))
    parts.append(svg.line((end, y - 7), (end, y + 7), Pen(colour=svg.INK, width=2.0)))
    if wall - end >= 20:
        parts.append(svg.dimension((end, y), (wall, y)))
    elif wall > end:
        parts.append(svg.line((end, y), (wall, y), svg.DIMENSION))
    return parts
