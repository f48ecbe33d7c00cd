"""The machine's parts in the drawing of one spinning position, each to the sheet's one scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.report import svg
from ringwright.report.position_inputs import Drafting, Package, PositionFigure
from ringwright.report.svg import Pen, Point

__all__ = [
    "DRAFTING_ANGLE", "Sheet", "control_ring", "covered_roller_edge", "creel", "drafting_points", "lappet", "package",
    "ring_and_rail", "rollers", "rubbed_plates", "separators", "spindle_foot",
]  # fmt: skip

DRAFTING_ANGLE = math.radians(50.0)  # of the drafting line above the level; sketched, as roller spacing is
RAIL_HALF = 0.046
# Across from the traveller's track and up from its plane (m): flange, web and foot of a plain ring, sketched.
_RING_SECTION = (
    (0.0, 0.001), (0.0045, 0.001), (0.0045, -0.002), (0.0035, -0.002), (0.0035, -0.005), (0.0065, -0.005),
    (0.0065, -0.011), (0.001, -0.011), (0.001, -0.002), (0.0, -0.002),
)  # fmt: skip
GHOST = Pen(colour=svg.LINE, width=0.8, dash="3 2.5", fill=svg.PAPER)
OPEN = Pen(width=1.15)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """Where the drawing lies: user units per metre, the axis, and the level of the ring rail's lowest place."""

    scale: float
    axis: float
    datum: float

    def at(self, across: float, height: float) -> Point:
        """Place a point given by its distance from the spindle axis and its height (m)."""
        return (self.axis + self.scale * across, self.datum - self.scale * height)

    def box(self, left: float, right: float, bottom: float, top: float) -> tuple[Point, tuple[float, float]]:
        """Place an upright rectangle: its upper left corner and its size."""
        return self.at(left, top), (self.scale * (right - left), self.scale * (top - bottom))


def drafting_points(drafting: Drafting) -> list[Point]:
    """Lay out the three nips (front, middle, back) as points across and up (m); the spacing is sketched."""
    c, s = math.cos(DRAFTING_ANGLE), math.sin(DRAFTING_ANGLE)
    points = [(drafting.nip_offset, drafting.nip_height)]
    pairs = ((drafting.front_diameter, drafting.middle_diameter), (drafting.middle_diameter, drafting.back_diameter))
    for (one, other), least in zip(pairs, (0.044, 0.056), strict=True):
        step = max(least, 0.62 * (one + other))
        points.append((points[-1][0] + step * c, points[-1][1] + step * s))
    return points


def covered_roller_edge(drafting: Drafting) -> Point:
    """Find the left edge of the middle covered roller (m), where a leader ends."""
    x, h = drafting_points(drafting)[1]
    radius = _covered_radius(drafting.middle_diameter)
    return (x - radius * math.sin(DRAFTING_ANGLE) - radius, h + radius * math.cos(DRAFTING_ANGLE))


def _covered_radius(diameter: float) -> float:
    return 0.53 * max(diameter, 0.025)


def rollers(sheet: Sheet, drafting: Drafting) -> list[str]:
    """Draw three pairs of rollers: the driven one below the drafting line, the covered one above it."""
    normal = (-math.sin(DRAFTING_ANGLE), math.cos(DRAFTING_ANGLE))
    parts: list[str] = []
    diameters = (drafting.front_diameter, drafting.middle_diameter, drafting.back_diameter)
    for k, (nip, diameter) in enumerate(zip(drafting_points(drafting), diameters, strict=True)):
        top = _covered_radius(diameter)
        for radius, side in ((diameter / 2, -1), (top, 1)):
            centre = sheet.at(nip[0] + side * radius * normal[0], nip[1] + side * radius * normal[1])
            parts.append(svg.circle(centre, sheet.scale * radius, svg.EDGE))
            if side > 0:
                parts.append(svg.circle(centre, sheet.scale * radius * 0.72, svg.THIN))
            parts.append(svg.dot(centre, 1.2))
        if k == 1:
            parts += _aprons(sheet, nip, normal)
    return parts


def _aprons(sheet: Sheet, nip: Point, normal: Point) -> list[str]:
    along = (-math.cos(DRAFTING_ANGLE), -math.sin(DRAFTING_ANGLE))
    parts = []
    for side, depth in ((1, 0.012), (-1, 0.012)):
        run = [(0.0, 0.0), (0.026, 0.0008), (0.024, 0.5 * depth), (0.006, depth)]
        points = [
            sheet.at(nip[0] + u * along[0] + side * v * normal[0], nip[1] + u * along[1] + side * v * normal[1])
            for u, v in run
        ]
        parts.append(svg.polyline(points, svg.THIN))
    return parts


def creel(sheet: Sheet, bar: Point) -> list[str]:
    """Draw the roving bobbin, cut by a break line at the top, left of the bar over which the roving runs."""
    x, h = bar[0] - 0.052, bar[1]
    outline = [(-0.040, 0.052), (-0.040, 0.036), (-0.020, 0.012), (0.020, 0.012), (0.040, 0.036), (0.040, 0.052)]
    jag = [(0.040, 0.052), (0.010, 0.050), (0.005, 0.055), (-0.003, 0.048), (-0.008, 0.052), (-0.040, 0.052)]
    parts = [svg.filled([sheet.at(x + u, h + v) for u, v in (*outline, *jag[1:-1])], svg.WASH)]
    parts.append(svg.polyline([sheet.at(x + u, h + v) for u, v in outline], OPEN))
    parts.append(svg.polyline([sheet.at(x + u, h + v) for u, v in jag], svg.THIN))
    for rise in (0.018, 0.024, 0.030, 0.036, 0.042):
        half = min(0.040, 0.020 + (rise - 0.012) * 0.020 / 0.024)
        parts.append(svg.line(sheet.at(x - half, h + rise), sheet.at(x + half, h + rise + 0.002), svg.GRID))
    parts.append(svg.rectangle(*sheet.box(x - 0.017, x + 0.017, h + 0.007, h + 0.012), svg.EDGE))
    parts.append(svg.circle(sheet.at(*bar), 3.0, svg.EDGE))
    return parts


def lappet(sheet: Sheet, height: float, *, ghost: bool = False) -> list[str]:
    """Draw the guide eyelet on the spindle axis, its arm and its rail; as a dashed ghost for its other place."""
    pen = GHOST if ghost else svg.EDGE
    x, y = sheet.at(0.0, height)
    rail_x = x + 26
    parts = [svg.polyline(((x + 3, y), (rail_x, y - 2)), pen), svg.rectangle((rail_x, y - 7), (10, 12), pen)]
    if not ghost:
        parts.append(svg.hatch((rail_x, y - 7), (10, 12), svg.SECTION))
    return [*parts, svg.circle((x, y), 2.6, pen)]


def package(sheet: Sheet, shown: Package) -> list[str]:
    """Draw the tube with its taper, the cop on it, and the cop's earlier cones as growth lines."""
    foot, tip = shown.tube_foot, shown.tube_foot + shown.tube_length
    low, high = shown.tube_bottom_diameter / 2, shown.tube_top_diameter / 2
    parts = [svg.area([sheet.at(*p) for p in ((-low, foot), (-high, tip), (high, tip), (low, foot))], svg.EDGE)]
    if len(shown.cop) > 1:
        parts.append(svg.area(_both_sides(sheet, shown.cop), Pen(fill=svg.WASH)))
    for earlier in shown.earlier_cops:
        sides = ([sheet.at(side * r, h) for h, r in earlier] for side in (-1, 1))
        parts += [svg.polyline(side, Pen(colour=svg.LINE, width=0.8)) for side in sides]
    return parts


def _both_sides(sheet: Sheet, outline: Sequence[tuple[float, float]]) -> list[Point]:
    right = [sheet.at(r, h) for h, r in outline]
    return right + [sheet.at(-r, h) for h, r in reversed(outline)]


def ring_and_rail(sheet: Sheet, shown: PositionFigure) -> list[str]:
    """Draw the ring in section, its rail hatched, and the traveller at the right."""
    radius, h = shown.ring_diameter / 2, shown.ring_height
    half = max(RAIL_HALF, radius + 0.020)
    parts = []
    for side in (-1, 1):
        inner, outer = sorted((side * (radius + 0.0065), side * half))
        corner, size = sheet.box(inner, outer, h - 0.015, h - 0.005)
        parts += [svg.rectangle(corner, size, svg.EDGE), svg.hatch(corner, size, svg.SECTION, rising=side > 0)]
        parts.append(svg.filled([sheet.at(side * (radius + u), h + v) for u, v in _RING_SECTION], svg.INK))
    return parts


def control_ring(sheet: Sheet, diameter: float, height: float) -> list[str]:
    """Draw the control ring as the two sections of its wire, joined by a thin line behind the yarn."""
    ends = [sheet.at(side * diameter / 2, height) for side in (-1, 1)]
    return [svg.polyline(ends, svg.THIN), *(svg.dot(end, 2.8) for end in ends)]


def separators(sheet: Sheet, shown: PositionFigure) -> list[str]:
    """Draw the plates at half the gauge."""
    bottom, top = shown.ring_height + 0.012, shown.guide_height - 0.010
    return _plates(sheet, shown, (bottom, top), Pen(colour=svg.INK2))


def rubbed_plates(sheet: Sheet, shown: PositionFigure, rub: tuple[float, float]) -> list[str]:
    """Draw the plates thick between the heights (m) where the solved balloon would cross them."""
    return _plates(sheet, shown, rub, Pen(width=4.0))


def _plates(sheet: Sheet, shown: PositionFigure, span: tuple[float, float], pen: Pen) -> list[str]:
    if shown.separators is None:
        return []
    sides = (-shown.separators.gauge / 2, shown.separators.gauge / 2)
    return [svg.line(sheet.at(x, span[0]), sheet.at(x, span[1]), pen) for x in sides]


def spindle_foot(sheet: Sheet, shown: PositionFigure) -> list[str]:
    """Draw what turns the spindle: blade, wharve with its belt, and the bolster in the spindle rail."""
    foot, wharve = shown.package.tube_foot, shown.wharve_diameter / 2

    def block(half: float, top: float, bottom: float, pen: Pen = svg.EDGE) -> str:
        return svg.rectangle(*sheet.box(-half, half, foot - bottom, foot - top), pen)

    parts = [block(RAIL_HALF, 0.019, 0.034, Pen(fill=svg.WASH))]
    parts += [block(0.0045, 0.0, 0.014), block(wharve + 0.003, 0.010, 0.014), block(wharve, 0.014, 0.039)]
    parts += [block(wharve + 0.003, 0.039, 0.043)]
    for side in (-1, 1):
        inner, outer = sorted((side * 0.011, side * RAIL_HALF))
        corner, size = sheet.box(inner, outer, foot - 0.061, foot - 0.052)
        parts += [svg.rectangle(corner, size, svg.EDGE), svg.hatch(corner, size, svg.SECTION, rising=side < 0)]
    return [*parts, block(0.011, 0.043, 0.070), svg.line(sheet.at(0, foot - 0.073), sheet.at(0, foot), svg.CENTRE)]
