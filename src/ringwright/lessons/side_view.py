"""The side view of a lesson: one spinning position from lappet to spindle, to scale, with its balloon."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import groupby, pairwise

from ringwright.report import position_parts as machine
from ringwright.report import svg
from ringwright.report.position_inputs import Balloon, PositionFigure
from ringwright.report.position_parts import Sheet
from ringwright.report.position_yarn import balloon_ground, rub_span, yarn_pen
from ringwright.report.svg import Face

__all__ = ["STRONG", "View", "as_other", "balloon_height", "detail", "dimensioned", "machine_with_yarn", "reach"]

MIDDLE = Face(size=13.0, colour=svg.INK2, anchor="middle")
STRONG = Face(size=14.0, weight=640)


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """The sheet of one or more side views: heights above the rail's lowest place [m], and its size in user units."""

    bottom: float
    top: float
    width: float = 280.0
    height: float = 540.0
    axis: float = 0.5
    """Where the spindle stands, as a share of the width."""
    half: float = machine.RAIL_HALF
    """How far to the side the drawing goes [m]."""

    @property
    def sheet(self) -> Sheet:
        """The one scale of the view."""
        scale = min((self.height - 12) / (self.top - self.bottom), (self.axis * self.width - 26) / self.half)
        return Sheet(scale=scale, axis=self.axis * self.width, datum=6 + scale * self.top)


def machine_with_yarn(sheet: Sheet, shown: PositionFigure, *, plates: bool = True, left: bool = False) -> list[str]:
    """Draw the parts between lappet and spindle, and the yarn, heavier where it pulls harder, ``left`` mirrored."""
    rub = rub_span(shown) if plates else None
    parts = [] if shown.balloon is None else balloon_ground(sheet, shown.balloon, shown.guide_height)
    parts += machine.separators(sheet, shown) if plates else []
    if rub:
        x, y = sheet.at(shown.separators.gauge / 2 if shown.separators else 0.0, (rub[0] + rub[1]) / 2)
        parts += [*machine.rubbed_plates(sheet, shown, rub), svg.text((x + 7, y), "rubs here", STRONG)]
    if shown.control_ring is not None:
        parts += machine.control_ring(sheet, shown.control_ring.diameter, shown.control_ring.height)
    parts += machine.package(sheet, shown.package)
    axis = (sheet.at(0.0, shown.package.tube_foot), sheet.at(0.0, shown.guide_height))
    parts += [svg.line(*axis, svg.CENTRE), *machine.ring_and_rail(sheet, shown)]
    if shown.balloon is not None:
        yarn = "".join(_yarn(sheet, shown, shown.balloon))
        turned = f'<g transform="translate({svg.short(2 * sheet.axis)} 0) scale(-1 1)">{yarn}</g>'
        parts.append(turned if left else yarn)
    return parts + machine.lappet(sheet, shown.guide_height)


def _yarn(sheet: Sheet, shown: PositionFigure, balloon: Balloon) -> list[str]:
    """Draw the yarn as it is seen with its traveller at the right, in runs of one weight, down to where it is wound."""
    last, turns = balloon.azimuth[-1], zip(balloon.depth, balloon.radius, balloon.azimuth, strict=True)
    points = [sheet.at(r * math.cos(a - last), shown.guide_height - z) for z, r, a in turns]
    widths = [round(yarn_pen((one + other) / 2).width, 1) for one, other in pairwise(balloon.tension)]
    parts, start = [], 0
    for width, run in groupby(widths):
        end = start + len(list(run))
        parts.append(svg.polyline(points[start : end + 1], svg.Pen(colour=svg.WOAD, width=width, cap="round")))
        start = end
    radius, wound = shown.ring_diameter / 2, shown.winding_diameter / 2
    ring, cop = sheet.at(radius, shown.ring_height), sheet.at(wound * wound / radius, shown.ring_height)
    return [*parts, svg.line(ring, cop, yarn_pen(shown.winding_tension)), svg.dot(ring, 3.0, svg.WOAD)]


def as_other(drawn: str) -> str:
    """Put a drawing into the other setting's colour."""
    return drawn.replace(svg.WOADWASH, svg.WASH).replace(svg.WOAD, svg.MADDER)


def dimensioned(sheet: Sheet, x: float, span: tuple[float, float], words: str) -> list[str]:
    """Draw an upright dimension line between two heights [m] at x, with its words beside it."""
    low, high = (sheet.at(0.0, height)[1] for height in span)
    ticks = [svg.line((x - 5, y), (x + 5, y), svg.DIMENSION) for y in (low, high)]
    turned = Face(size=STRONG.size, weight=STRONG.weight, anchor="middle", turn=-90.0)
    return [svg.dimension((x, high), (x, low)), *ticks, svg.text((x - 7, (low + high) / 2), words, turned)]


def reach(shown: PositionFigure) -> float:
    """Give how far from the spindle a position reaches [m]: its rail, or its balloon."""
    widest = max(shown.balloon.radius) if shown.balloon else 0.0
    return max(machine.RAIL_HALF, shown.ring_diameter / 2 + 0.020, widest)


def balloon_height(sheet: Sheet, shown: PositionFigure, words: str) -> list[str]:
    """Draw the height from ring to lappet as a dimension at the left."""
    x = sheet.axis - sheet.scale * reach(shown) - 6
    return dimensioned(sheet, x, (shown.ring_height, shown.guide_height), words)


def detail(sheet: Sheet, at: tuple[float, float], shown: PositionFigure, times: float = 5.0) -> list[str]:
    """Enlarge what lies around a point (across, height [m]) in a frame at the lower right of the position."""
    side, corner = 100.0, (sheet.axis + sheet.scale * machine.RAIL_HALF + 4, sheet.at(0.0, 0.0)[1] - 96.0)
    scale = times * sheet.scale
    inner = Sheet(scale=scale, axis=side / 2 - scale * at[0], datum=side / 2 + scale * at[1])
    parts = balloon_ground(inner, shown.balloon, shown.guide_height) if shown.balloon else []
    parts += machine.package(inner, shown.package)
    parts += _yarn(inner, shown, shown.balloon) if shown.balloon else []
    inside = (
        f'<svg x="{svg.short(corner[0])}" y="{svg.short(corner[1])}" width="{side:g}" height="{side:g}" '
        f'viewBox="0 0 {side:g} {side:g}">{"".join(parts)}</svg>'
    )
    (x, y), reach = sheet.at(*at), side / times / 2
    mark = svg.rectangle((x - reach, y - reach), (2 * reach, 2 * reach), svg.Pen(width=1.2))
    join = svg.polyline(((x + reach, y + reach), corner), svg.LEADER)
    words = svg.text((corner[0] + side / 2, corner[1] + side + 16), f"\N{MULTIPLICATION SIGN} {times:g}", MIDDLE)
    frame = svg.rectangle(corner, (side, side), svg.Pen(width=1.6))
    return [join, svg.rectangle(corner, (side, side), svg.EDGE), inside, frame, mark, words]
