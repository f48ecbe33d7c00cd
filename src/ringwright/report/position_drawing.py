"""One spinning position to scale, from creel to wharve, each part with its name and one number."""

from __future__ import annotations

import math

from ringwright.report import position_parts as parts_of
from ringwright.report import svg
from ringwright.report.chart import spread
from ringwright.report.marks import mark
from ringwright.report.number import digits, written
from ringwright.report.position_inputs import Callout, PositionFigure
from ringwright.report.position_parts import Sheet, drafting_points
from ringwright.report.position_yarn import balloon_ground, balloon_yarn, rub_span, strand
from ringwright.report.svg import Face, Point

__all__ = ["PARTS", "position_drawing"]

PARTS = ("creel", "drafting", "triangle", "lappet", "balloon", "separators", "control ring", "ring", "cop", "wharve")
NAMES_WIDTH, BELOW, ABOVE = 100.0, 0.090, 0.062
MILLIMETRES_PER_UNIT = 25.4 / 96.0


def position_drawing(shown: PositionFigure, *, width: float = 363.0, height: float = 470.0) -> str:
    """Draw the position as an SVG figure; raises ValueError for a callout of a part that is not drawn."""
    unknown = sorted({c.part for c in shown.callouts} - set(PARTS))
    if unknown:
        raise ValueError(f"the drawing knows no part named {', '.join(unknown)}; known: {', '.join(PARTS)}")
    bar = _bar(shown)
    sheet = _sheet(shown, bar, (width, height))
    rub = rub_span(shown)
    drawn = [*parts_of.separators(sheet, shown, rub), *parts_of.spindle_foot(sheet, shown)]
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
    drawn += parts_of.lappet(sheet, shown.guide_height)
    if shown.balloon is not None:
        drawn += balloon_yarn(sheet, shown, shown.balloon)
    drawn += _heights(sheet, shown, width) + _callouts(sheet, shown, bar, height) + _words(sheet, shown, rub, height)
    return svg.figure((width, height), _said(shown), drawn)


def _bar(shown: PositionFigure) -> Point:
    back = drafting_points(shown.drafting)[-1]
    return (back[0] + 0.014, back[1] + 0.040)


def _sheet(shown: PositionFigure, bar: Point, size: tuple[float, float]) -> Sheet:
    bottom, top = shown.package.tube_foot - BELOW, bar[1] + ABOVE
    left = max(
        parts_of.RAIL_HALF, shown.ring_diameter / 2 + 0.020, shown.separators.gauge / 2 if shown.separators else 0
    )
    across = left + max(bar[0] + 0.006, 0.0)
    scale = min(size[1] / (top - bottom), (size[0] - NAMES_WIDTH - 14) / across)
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
    nips = drafting_points(shown.drafting)
    guide, half = shown.guide_height, shown.separators.gauge / 2 if shown.separators else 0.0
    control = shown.control_ring
    widest = (0.0, guide - 0.04)
    if shown.balloon is not None:
        radius, depth = max(zip(shown.balloon.radius, shown.balloon.depth, strict=True))
        widest = (-radius, guide - depth)
    return {
        "creel": (bar[0] - 0.092, bar[1] + 0.044),
        "drafting": parts_of.covered_roller_edge(shown.drafting),
        "triangle": (0.75 * nips[0][0], guide + 0.75 * (nips[0][1] - guide)),
        "lappet": (0.0, guide),
        "balloon": widest,
        "separators": (-half, guide - 0.030),
        "control ring": (-control.diameter / 2, control.height) if control else (0.0, guide),
        "ring": (-shown.ring_diameter / 2, shown.ring_height),
        "cop": (-shown.winding_diameter / 2, shown.ring_height - 0.02),
        "wharve": (-shown.wharve_diameter / 2, shown.package.tube_foot - 0.027),
    }


def _callouts(sheet: Sheet, shown: PositionFigure, bar: Point, height: float) -> list[str]:
    anchors = _anchors(shown, bar)
    points = [sheet.at(*anchors[c.part]) for c in shown.callouts]
    placed = spread([min(max(p[1], 14.0), height - 20.0) for p in points], 33.0)
    drawn = []
    for callout, point, y in zip(shown.callouts, points, placed, strict=True):
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


def _words(sheet: Sheet, shown: PositionFigure, rub: tuple[float, float] | None, height: float) -> list[str]:
    x = sheet.axis + sheet.scale * parts_of.RAIL_HALF + 10
    ratio = digits(1000.0 * 1.0 / (sheet.scale * MILLIMETRES_PER_UNIT), 0.1)
    bar = sheet.scale * 0.050
    lines = [
        shown.moment,
        f"One scale, 1 to {ratio}; creel and",
        "roller spacing sketched. Heavier",
        "yarn: more tension.",
    ]
    y = height - 13.5 * len(lines) - 8
    drawn = [svg.line((x, y), (x + bar, y), svg.DIMENSION)]
    drawn += [svg.line((x + k * bar, y - 4), (x + k * bar, y + 4), svg.DIMENSION) for k in (0, 1)]
    drawn.append(svg.text((x + bar + 8, y + 4), written_bar(), svg.NOTE))
    drawn += [svg.text((x, y + 18 + 13.5 * k), words, svg.NOTE) for k, words in enumerate(lines)]
    if rub is not None and shown.separators is not None:
        place = sheet.at(shown.separators.gauge / 2, (rub[0] + rub[1]) / 2)
        drawn.append(svg.text((place[0] + 6, place[1] + 4), "it rubs here", Face(size=11.7, weight=600, narrow=True)))
    if shown.balloon is None:
        at = sheet.at(0.0, (shown.guide_height + shown.ring_height) / 2)
        drawn.append(svg.text((at[0] + 12, at[1]), "no steady balloon here", Face(size=12.0, weight=600, narrow=True)))
    return drawn


def written_bar() -> str:
    """Name the scale bar."""
    return f"{digits(50.0, 1.0)}\u202fmm"


def _said(shown: PositionFigure) -> str:
    named = "; ".join(f"{c.name} {written(c.number)}" for c in shown.callouts)
    heights = "; ".join(f"{h.name} {written(h.number)} ({h.number.origin.value})" for h in shown.heights)
    return f"One spinning position to scale. {shown.moment} {named}. Heights above the rail's lowest place: {heights}."
