"""The yarn in the drawing of one spinning position: its weight is its tension."""

from __future__ import annotations

import math
from itertools import pairwise

from ringwright.report import svg
from ringwright.report.number import in_unit
from ringwright.report.position_inputs import Balloon, PositionFigure
from ringwright.report.position_parts import Sheet, drafting_points
from ringwright.report.svg import Pen, Point

__all__ = ["balloon_ground", "balloon_yarn", "rub_span", "strand", "yarn_pen"]


def yarn_pen(tension: float, colour: str = svg.WOAD) -> Pen:
    """Give the pen for a tension (N): 0.55 + T/17 user units wide, T in cN, at least 0.9 and at most 6."""
    width = min(max(0.55 + in_unit(tension, "cN") / 17.0, 0.9), 6.0)
    return Pen(colour=colour, width=width, cap="round")


def balloon_ground(sheet: Sheet, balloon: Balloon, guide_height: float) -> list[str]:
    """Draw the body that the turning yarn fills as a pale wash, and its far side as a thin line."""
    sides = [
        [sheet.at(side * r, guide_height - z) for z, r in zip(balloon.depth, balloon.radius, strict=True)]
        for side in (-1, 1)
    ]
    thin = Pen(colour=svg.WOAD, width=0.7)
    ground = svg.filled([*sides[0], *reversed(sides[1])], svg.WOADWASH)
    return [ground, svg.polyline(sides[0], thin), svg.polyline(sides[1], thin)]


def balloon_yarn(sheet: Sheet, shown: PositionFigure, balloon: Balloon) -> list[str]:
    """Draw the yarn as seen with its traveller at the right, and the piece wound on, which is pulled hardest."""
    last = balloon.azimuth[-1]
    points = [
        sheet.at(r * math.cos(a - last), shown.guide_height - z)
        for z, r, a in zip(balloon.depth, balloon.radius, balloon.azimuth, strict=True)
    ]
    parts = [
        svg.polyline(pair, yarn_pen((t0 + t1) / 2))
        for pair, (t0, t1) in zip(pairwise(points), pairwise(balloon.tension), strict=True)
    ]
    radius, wound = shown.ring_diameter / 2, shown.winding_diameter / 2
    ring, cop = sheet.at(radius, shown.ring_height), sheet.at(wound * wound / radius, shown.ring_height)
    parts.append(svg.line(ring, cop, yarn_pen(shown.winding_tension)))
    return [*parts, svg.dot(ring, 3.0)]


def rub_span(shown: PositionFigure) -> tuple[float, float] | None:
    """Find the heights (m) between which the solved balloon would cross the separators, if it would."""
    if shown.separators is None or shown.balloon is None:
        return None
    room = (shown.separators.gauge - shown.separators.thickness) / 2
    pairs = zip(shown.balloon.depth, shown.balloon.radius, strict=True)
    touched = [shown.guide_height - z for z, r in pairs if r >= room]
    return (min(touched), max(touched)) if touched else None


def strand(sheet: Sheet, shown: PositionFigure, bar: Point) -> list[str]:
    """Draw roving and strand, thinner after each draft, and the yarn from the front nip to the guide."""
    front, middle, back = (sheet.at(*nip) for nip in drafting_points(shown.drafting))
    over, hung = sheet.at(*bar), sheet.at(bar[0] - 0.012, bar[1] + 0.038)
    pale = Pen(colour=svg.WOAD, width=5.0, cap="round")
    parts = [svg.polyline((hung, over, back), pale), _taper(back, middle, 5.0, 4.2), _taper(middle, front, 4.2, 1.0)]
    return [*parts, svg.line(front, sheet.at(0.0, shown.guide_height), yarn_pen(shown.triangle_tension))]


def _taper(start: Point, end: Point, wide: float, narrow: float) -> str:
    length = math.dist(start, end)
    u, v = -(end[1] - start[1]) / length / 2, (end[0] - start[0]) / length / 2
    corners = [(start, wide), (end, narrow), (end, -narrow), (start, -wide)]
    return svg.filled([(p[0] + w * u, p[1] + w * v) for p, w in corners], svg.WOAD)
