"""The spinning position seen from above: rings, package and the yarn's projection, with the traveller at the right."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

from ringwright.report import svg
from ringwright.report.position_inputs import Balloon, PositionFigure
from ringwright.report.position_yarn import yarn_pen
from ringwright.report.svg import Face, Pen, Point
from ringwright.units import show
from ringwright.web.theme import themed

__all__ = ["PARTS_FROM_ABOVE", "from_above"]

PARTS_FROM_ABOVE = frozenset({"balloon", "control-ring", "ring", "separators", "cop"})
WIDTH, AXIS, REACH, ABOVE = 420.0, 122.0, 116.0, 18.0
SMALL = Face(size=13.0, colour=svg.INK2)
HEAD = Face(size=15.0, weight=640)
FIGURE = Face(size=15.0, weight=640, colour=svg.WOAD)
OTHER = Face(size=14.0, weight=600, colour=svg.MADDER)
AROUND = Pen(colour=svg.INK, width=3.0)
WALL = Pen(colour=svg.INK2, width=1.15)
DASHED = Pen(colour=svg.MADDER, width=1.8, dash="6 4")
LINE = 22.0


def from_above(a: PositionFigure, b: PositionFigure | None, unit: str = "mm") -> Markup:
    """Draw the plan to scale, as wide as the separators stand or the yarn reaches; lengths in ``unit``, mm or in."""
    reach = max(
        a.ring_diameter / 2,
        0.0 if a.control_ring is None else a.control_ring.diameter / 2,
        *(max(one.radius) for one in _balloons(a, b)),
    )
    wall = 0.0 if a.separators is None else (a.separators.gauge - a.separators.thickness) / 2
    scale = REACH / max(reach, wall)
    words = _words(a, b, unit)
    high = max(2 * scale * reach + 2 * ABOVE, LINE * (len(words) + 1))
    plan = _Plan(scale, (AXIS, high / 2))
    parts = [plan.circle(a.ring_diameter, AROUND)]
    if wall:
        parts += [plan.plate(side * wall, reach) for side in (-1, 1)]
    if a.control_ring is not None:
        parts.append(plan.circle(a.control_ring.diameter, svg.THIN))
    parts.append(plan.circle(a.winding_diameter, Pen(fill=svg.WASH)))
    if b is not None and b.balloon is not None:
        parts.append(svg.polyline(plan.seen(b.balloon), DASHED))
    if a.balloon is not None:
        parts += [*_yarn(plan, a, a.balloon), *plan.turning(reach, a.balloon)]
    said = f"Seen from above. {' '.join(f'{text}.' for text, _ in words)}"
    top = high / 2 - LINE * len(words) / 2 + 2
    parts.append(svg.text((250.0, top), "Seen from above", HEAD))
    parts += [svg.text((250.0, top + (k + 1) * LINE), text, face) for k, (text, face) in enumerate(words)]
    return themed(svg.figure((WIDTH, high), said, parts))


@dataclass(frozen=True, slots=True)
class _Plan:
    scale: float
    centre: Point

    def at(self, radius: float, angle: float) -> Point:
        """Place a point by its radius [m] and its angle [rad], which runs clockwise on the sheet."""
        x, y = self.centre
        return (x + self.scale * radius * math.cos(angle), y + self.scale * radius * math.sin(angle))

    def circle(self, diameter: float, pen: Pen) -> str:
        return svg.circle(self.centre, self.scale * diameter / 2, pen)

    def plate(self, across: float, half: float) -> str:
        x = self.centre[0] + self.scale * across
        y, long = self.centre[1], self.scale * half
        return svg.line((x, y - long), (x, y + long), WALL)

    def seen(self, balloon: Balloon) -> list[Point]:
        last = balloon.azimuth[-1]
        return [self.at(r, angle - last) for r, angle in zip(balloon.radius, balloon.azimuth, strict=True)]

    def turning(self, reach: float, balloon: Balloon) -> list[str]:
        """Draw the arrow in which all turns."""
        way = math.copysign(1.0, balloon.azimuth[0] - balloon.azimuth[-1])
        run = [math.radians(215) + way * math.radians(30) * k / 8 for k in range(9)]
        arc = [self.at(reach + 9 / self.scale, angle) for angle in run]
        return [svg.polyline(arc, svg.DIMENSION), svg.arrow_head(arc[-1], run[-1] + way * math.pi / 2)]


def _balloons(*figures: PositionFigure | None) -> Iterable[Balloon]:
    return [one.balloon for one in figures if one is not None and one.balloon is not None]


def _yarn(plan: _Plan, a: PositionFigure, balloon: Balloon) -> list[str]:
    """Draw the yarn with the run from traveller to package, and the angle by which the traveller trails."""
    ring, wound = a.ring_diameter / 2, a.winding_diameter / 2
    first = balloon.azimuth[0] - balloon.azimuth[-1]
    # The straight run touches the package, which leads the traveller as the end at the lappet does.
    ahead = math.copysign(math.acos(min(wound / ring, 1.0)), first)
    traveller = plan.at(ring, 0.0)
    return [
        svg.line(plan.centre, plan.at(0.62 * ring, first), svg.CENTRE),
        svg.line(plan.centre, traveller, svg.CENTRE),
        svg.polyline([plan.at(0.36 * ring, first * k / 16) for k in range(17)], svg.DIMENSION),
        svg.polyline(plan.seen(balloon), yarn_pen(balloon.tension[0])),
        svg.line(traveller, plan.at(wound, ahead), yarn_pen(a.winding_tension)),
        svg.dot(traveller, 4.5, svg.WOAD),
    ]


def _words(a: PositionFigure, b: PositionFigure | None, unit: str) -> list[tuple[str, Face]]:
    rows = [(f"ring {_length(a.ring_diameter, unit)}, heavy line", SMALL)]
    if a.control_ring is not None:
        rows.append((f"control ring {_length(a.control_ring.diameter, unit)}, thin line", SMALL))
    rows.append((f"winding on {_length(a.winding_diameter, unit)}", SMALL))
    if a.balloon is None:
        rows.append(("no steady balloon", FIGURE))
    else:
        rows.append((f"traveller trails by {_trail(a.balloon)}", FIGURE))
    if b is not None:
        rows.append(("B: no steady balloon" if b.balloon is None else f"B: trails by {_trail(b.balloon)}", OTHER))
    return rows


def _length(length: float, unit: str) -> str:
    return show(length, "length", unit, 1 if unit == "mm" else 3)


def _trail(balloon: Balloon) -> str:
    return f"{math.degrees(abs(balloon.azimuth[0] - balloon.azimuth[-1])):.0f}°"
