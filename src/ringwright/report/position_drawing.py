"""One spinning position to scale, from creel to wharve, each part with its name and one number."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ringwright.report import position_parts as parts_of
from ringwright.report import svg
from ringwright.report.chart import spread
from ringwright.report.marks import mark
from ringwright.report.number import NARROW_SPACE, digits, written
from ringwright.report.position_inputs import Callout, PositionFigure
from ringwright.report.position_parts import Sheet, drafting_points
from ringwright.report.position_yarn import balloon_ground, balloon_yarn, rub_span, strand
from ringwright.report.svg import Face, Point

__all__ = ["position_drawing"]

NAMES_WIDTH, BELOW, ABOVE = 100.0, 0.076, 0.062
METRES_PER_UNIT = 0.0254 / 96.0
STRONG = Face(size=11.7, weight=600, narrow=True)


def position_drawing(shown: PositionFigure, *, width: float = 363.0, height: float = 470.0) -> str:
    """Draw the position as an SVG figure; raises ValueError for a callout of a part that is not drawn."""
    bar = _bar(shown)
    anchors = _anchors(shown, bar)
    unknown = sorted({c.part for c in shown.callouts} - set(anchors))
    if unknown:
        raise ValueError(f"the drawing has no part named {', '.join(unknown)}; it has {', '.join(anchors)}")
    rub = rub_span(shown)
    words = _caption(shown, rub)
    sheet = _sheet(shown, bar, (width, height), words=13.5 * len(words) + 28.0)
    drawn = _machine(sheet, shown, bar)
    if rub is not None:
        drawn += parts_of.rubbed_plates(sheet, shown, rub)
    if shown.balloon is not None:
        drawn += balloon_yarn(sheet, shown, shown.balloon)
    places = [sheet.at(*anchors[c.part]) for c in shown.callouts]
    drawn += _heights(sheet, shown, width) + _callouts(shown.callouts, places, height)
    return svg.figure((width, height), _said(shown), drawn + _words(sheet, words, height))


def _machine(sheet: Sheet, shown: PositionFigure, bar: Point) -> list[str]:
    drawn = [*parts_of.separators(sheet, shown), *parts_of.spindle_foot(sheet, shown)]
    if shown.balloon is not None:
        drawn += balloon_ground(sheet, shown.balloon, shown.guide_height)
    if shown.control_ring is not None:
        drawn += parts_of.control_ring(sheet, shown.control_ring.diameter, shown.control_ring.height)
    drawn += parts_of.package(sheet, shown.package)
    axis = (sheet.at(0.0, shown.package.tube_foot), sheet.at(0.0, shown.guide_height))
    drawn += [svg.line(*axis, svg.CENTRE), *parts_of.ring_and_rail(sheet, shown)]
    if shown.other_guide_height is not None:
        drawn += parts_of.lappet(sheet, shown.other_guide_height, ghost=True)
    drawn += parts_of.creel(sheet, bar) + parts_of.rollers(sheet, shown.drafting) + strand(sheet, shown, bar)
    return drawn + parts_of.lappet(sheet, shown.guide_height)


def _bar(shown: PositionFigure) -> Point:
    back = drafting_points(shown.drafting)[-1]
    return (back[0] + 0.014, back[1] + 0.040)


def _sheet(shown: PositionFigure, bar: Point, size: tuple[float, float], words: float) -> Sheet:
    """Choose the scale: the machine fills the height, and the words below the rail's lowest place keep their room."""
    top = bar[1] + ABOVE
    half = shown.separators.gauge / 2 if shown.separators else 0.0
    left = max(parts_of.RAIL_HALF, shown.ring_diameter / 2 + 0.020, half)
    across = left + max(bar[0] + 0.006, 0.0)
    whole = top - shown.package.tube_foot + BELOW
    scale = min(size[1] / whole, (size[1] - words) / top, (size[0] - NAMES_WIDTH - 14) / across)
    return Sheet(scale=scale, axis=NAMES_WIDTH + 14 + scale * left, datum=scale * top)


def _heights(sheet: Sheet, shown: PositionFigure, width: float) -> list[str]:
    """Dimension heights on one running line from the ring rail's lowest place, as drawing offices do."""
    if not shown.heights:
        return []
    half = shown.separators.gauge / 2 if shown.separators else 0.0
    x = sheet.axis + max(sheet.scale * max(half, parts_of.RAIL_HALF) + 14, 50.0)
    ordered = sorted(shown.heights, key=lambda h: h.number.value)
    levels = [sheet.at(0.0, h.number.value)[1] for h in ordered]
    drawn = [svg.line((x, sheet.datum), (x, levels[-1]), svg.DIMENSION), svg.circle((x, sheet.datum), 3.0, svg.EDGE)]
    drawn.append(
        svg.line((sheet.axis + sheet.scale * parts_of.RAIL_HALF, sheet.datum), (x - 3, sheet.datum), svg.LEADER)
    )
    drawn.append(svg.text((x + 10, sheet.datum + 4), "0, rail at its lowest", svg.NOTE))
    for height, y, placed in zip(ordered, levels, spread(levels, 15.0), strict=True):
        start = 42.0 if "lappet" in height.name else 8.0
        drawn.append(svg.line((sheet.axis + start, y), (x + 4, y), svg.LEADER))
        drawn.append(svg.arrow_head((x, y), -math.pi / 2))
        drawn.append(svg.polyline(((x + 4, y), (x + 9, placed)), svg.LEADER))
        drawn.append(svg.group([mark(height.number.origin)], shift=(width - 15, placed - 7)))
        drawn.append(svg.text((x + 12, placed + 4), written(height.number), Face(size=12.0, weight=600)))
        drawn.append(svg.text((x + 61, placed + 4), height.name, svg.NOTE))
    return drawn


def _anchors(shown: PositionFigure, bar: Point) -> dict[str, Point]:
    """Find where the leader of each part ends, as points across and up (m); absent parts have none."""
    nips, guide = drafting_points(shown.drafting), shown.guide_height
    anchors = {
        "creel": (bar[0] - 0.092, bar[1] + 0.044),
        "drafting": parts_of.covered_roller_edge(shown.drafting),
        "triangle": (0.75 * nips[0][0], guide + 0.75 * (nips[0][1] - guide)),
        "lappet": (0.0, guide),
        "ring": (-shown.ring_diameter / 2, shown.ring_height),
        "cop": (-shown.winding_diameter / 2, shown.ring_height - 0.004),
        "wharve": (-shown.wharve_diameter / 2, shown.package.tube_foot - 0.027),
    }
    if shown.balloon is not None:
        radius, depth = max(zip(shown.balloon.radius, shown.balloon.depth, strict=True))
        anchors["balloon"] = (-radius, guide - depth)
    if shown.separators is not None:
        anchors["separators"] = (-shown.separators.gauge / 2, guide - 0.030)
    if shown.control_ring is not None:
        anchors["control ring"] = (-shown.control_ring.diameter / 2, shown.control_ring.height)
    return anchors


def _callouts(callouts: Sequence[Callout], points: Sequence[Point], height: float) -> list[str]:
    placed = spread([min(max(p[1], 14.0), height - 20.0) for p in points], 33.0)
    drawn = []
    for callout, point, y in zip(callouts, points, placed, strict=True):
        drawn += _callout(callout, y)
        drawn.append(svg.leader([(NAMES_WIDTH - 8, y), (NAMES_WIDTH + 4, y), point]))
    return drawn


def _callout(callout: Callout, y: float) -> list[str]:
    note = f" {callout.note}" if callout.note else ""
    return [
        svg.text((0, y + 1), callout.name, svg.NAME),
        svg.group([mark(callout.number.origin)], shift=(-1, y + 4.5)),
        svg.text((17, y + 15), written(callout.number) + note, svg.NOTE),
    ]


def _caption(shown: PositionFigure, rub: tuple[float, float] | None) -> list[tuple[str, Face]]:
    lines = [(shown.moment, svg.NOTE)]
    if shown.balloon is None:
        lines.append(("No steady balloon at this moment.", STRONG))
    if rub is not None:
        lines.append(("Plates drawn thick: it rubs there.", STRONG))
    sketched = ["One scale, 1 to {ratio}; creel and", "roller spacing sketched. Heavier", "yarn: more tension."]
    return lines + [(words, svg.NOTE) for words in sketched]


def _words(sheet: Sheet, lines: Sequence[tuple[str, Face]], height: float) -> list[str]:
    x = sheet.axis + sheet.scale * parts_of.RAIL_HALF + 10
    ratio = digits(1.0 / (sheet.scale * METRES_PER_UNIT), 0.1)
    bar = sheet.scale * 0.050
    y = height - 13.5 * len(lines) - 8
    drawn = [svg.line((x, y), (x + bar, y), svg.DIMENSION)]
    drawn += [svg.line((x + k * bar, y - 4), (x + k * bar, y + 4), svg.DIMENSION) for k in (0, 1)]
    drawn.append(svg.text((x + bar + 8, y + 4), f"50{NARROW_SPACE}mm", svg.NOTE))
    for k, (words, face) in enumerate(lines):
        drawn.append(svg.text((x, y + 18 + 13.5 * k), words.replace("{ratio}", ratio), face))
    return drawn


def _said(shown: PositionFigure) -> str:
    named = "; ".join(f"{c.name} {written(c.number)}" for c in shown.callouts)
    heights = "; ".join(f"{h.name} {written(h.number)} ({h.number.origin.value})" for h in shown.heights)
    return f"One spinning position to scale. {shown.moment} {named}. Heights above the rail's lowest place: {heights}."
