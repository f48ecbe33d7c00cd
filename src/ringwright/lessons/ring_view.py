"""The ring from above: ring, package, and the yarn from the traveller to where it is wound on; to scale."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ringwright.report import svg
from ringwright.report.position_yarn import yarn_pen
from ringwright.report.svg import Face, Pen, Point

__all__ = ["ENLARGED", "RingFromAbove", "ring_from_above"]

SIZE = (300.0, 320.0)
RADIUS = 116.0
ENLARGED = 16.0
"""How many times the middle is enlarged: half a millimetre off a ring of 40 mm is 46 across there."""
BODY = Face(size=13.5, colour=svg.INK2)
FIGURE = Face(size=15.0, weight=640)
AROUND = Pen(colour=svg.INK, width=4.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class RingFromAbove:
    """Diameters [m] of ring, tube and package where the yarn is wound on, and the tension that draws it [N]."""

    ring: float
    package: float
    tube: float
    tension: float
    angle_words: str
    offset: float = 0.0
    """How far the spindle's axis stands off the ring's centre [m], to the right."""
    package_name: str = ""
    offset_words: str = ""
    """What stands below the enlarged middle, where there is one."""


def ring_from_above(shown: RingFromAbove, said: str) -> str:
    """Draw the ring from above as an SVG figure, its traveller at the top, the spindle turning clockwise."""
    centre = (SIZE[0] / 2, SIZE[1] / 2 + 4)
    scale = 2 * RADIUS / shown.ring
    axis = (centre[0] + scale * shown.offset, centre[1])
    parts = [svg.circle(centre, RADIUS, AROUND)]
    parts.append(svg.circle(axis, scale * shown.package / 2, Pen(fill=svg.WASH)))
    if shown.tube < shown.package - 1e-4:
        parts.append(svg.circle(axis, scale * shown.tube / 2, svg.EDGE))
    parts += _cross(axis) + ([svg.circle(centre, 4.0, Pen(width=1.4, colour=svg.WOAD))] if shown.offset else [])
    traveller = (centre[0], centre[1] - RADIUS)
    touch = _touch(traveller, axis, scale * shown.package / 2)
    parts.append(svg.line(traveller, centre, svg.CENTRE))
    parts.append(svg.line(traveller, touch, yarn_pen(shown.tension)))
    parts.append(svg.dot(traveller, 6.0, svg.WOAD))
    parts += _angle(traveller, centre, touch, shown.angle_words)
    parts += _turning(centre, shown.package_name)
    if shown.offset_words:
        parts += _middle(scale * shown.offset, shown.offset_words)
    return svg.figure(SIZE, said, parts)


def _middle(offset: float, words: str) -> list[str]:
    """Draw the middle of the ring enlarged in the lower right corner: the ring's centre and the spindle's axis."""
    left, top, wide, high = SIZE[0] - 76.0, SIZE[1] - 74.0, 72.0, 44.0
    centre = (left + 14, top + high / 2)
    axis = (centre[0] + ENLARGED * offset, centre[1])
    frame = svg.rectangle((left, top), (wide, high), Pen(width=1.6, fill=svg.PAPER))
    there = [svg.circle(centre, 4.0, Pen(width=1.4, colour=svg.WOAD)), *_cross(axis)]
    join = [svg.line(centre, axis, svg.DIMENSION)] if ENLARGED * offset > 8 else []
    small = Face(size=13.0, colour=svg.INK2, anchor="end")
    return [frame, *join, *there, svg.text((SIZE[0] - 4, top + high + 21), words, small)]


def _touch(start: Point, centre: Point, radius: float) -> Point:
    """Find where a straight yarn from ``start`` touches the package, on its right-hand side."""
    away = math.dist(start, centre)
    toward = math.atan2(centre[1] - start[1], centre[0] - start[0])
    turn = math.asin(min(radius / away, 1.0))
    length = math.sqrt(max(away**2 - radius**2, 0.0))
    return (start[0] + length * math.cos(toward - turn), start[1] + length * math.sin(toward - turn))


def _cross(at: Point) -> list[str]:
    pen = Pen(width=1.4)
    return [
        svg.line((at[0] - 6, at[1]), (at[0] + 6, at[1]), pen),
        svg.line((at[0], at[1] - 6), (at[0], at[1] + 6), pen),
    ]


def _angle(at: Point, centre: Point, touch: Point, words: str) -> list[str]:
    """Draw the arc between the ring's radius and the yarn, with its measure at the left."""
    reach = 52.0
    first = math.atan2(centre[1] - at[1], centre[0] - at[0])
    last = math.atan2(touch[1] - at[1], touch[0] - at[0])
    run = [first + (last - first) * k / 12 for k in range(13)]
    arc = [(at[0] + reach * math.cos(a), at[1] + reach * math.sin(a)) for a in run]
    place = (at[0] - 10, at[1] + reach - 4)
    return [
        svg.polyline(arc, svg.DIMENSION),
        svg.text(place, words, Face(size=15.0, weight=640, anchor="end")),
    ]


def _turning(centre: Point, name: str) -> list[str]:
    """Draw the arrow of turning outside the ring, and the name of what the yarn is wound on."""
    reach = RADIUS + 16
    run = [math.radians(-60 + 40 * k / 10) for k in range(11)]
    arc = [(centre[0] + reach * math.cos(a), centre[1] + reach * math.sin(a)) for a in run]
    parts = [svg.polyline(arc, svg.DIMENSION), svg.arrow_head(arc[-1], run[-1] + math.pi / 2)]
    if name:
        parts.append(svg.text((centre[0], centre[1] + 46), name, Face(size=13.5, colour=svg.INK2, anchor="middle")))
    return parts
