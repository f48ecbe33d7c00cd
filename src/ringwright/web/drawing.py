"""The drawing of one spinning position on the bench: to scale, each part a way to its numbers."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from ringwright.report import position_parts as machine
from ringwright.report import svg
from ringwright.report.chart import spread
from ringwright.report.position_inputs import Balloon, PositionFigure
from ringwright.report.position_parts import Sheet, drafting_points
from ringwright.report.position_yarn import balloon_ground, rub_span, strand, yarn_pen
from ringwright.report.svg import Face, Pen, Point

__all__ = ["HEIGHT", "LABEL_GAP", "NAMES", "WIDTH", "Layout", "drawing", "label_heights", "layout_of"]

WIDTH, HEIGHT, NAMES, LABEL_GAP = 524.0, 800.0, 158.0, 46.0
ABOVE, BELOW = 0.056, 0.076
DASHED = Pen(colour=svg.MADDER, width=1.8, dash="6 4")


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The sheet, and the bar over which the roving runs."""

    sheet: Sheet
    bar: Point


def layout_of(shown: PositionFigure) -> Layout:
    """Choose the one scale: the machine from creel to spindle foot fills the height."""
    back = drafting_points(shown.drafting)[-1]
    bar = (back[0] + 0.014, back[1] + 0.040)
    half = shown.separators.gauge / 2 if shown.separators else 0.0
    left = max(machine.RAIL_HALF, shown.ring_diameter / 2 + 0.020, half)
    top = bar[1] + ABOVE
    across = left + max(bar[0], machine.RAIL_HALF)
    scale = min(HEIGHT / (top - shown.package.tube_foot + BELOW), (WIDTH - NAMES - 10) / across)
    return Layout(sheet=Sheet(scale=scale, axis=NAMES + 4 + scale * left, datum=scale * top), bar=bar)


def drawing(layout: Layout, a: PositionFigure, b: PositionFigure | None, chosen: str) -> str:
    """Draw all that may move or be chosen, as SVG without its frame."""
    sheet = layout.sheet
    parts = _machine(layout, a)
    drawn = [
        f'<g class="part{" chosen" if name == chosen else ""}" data-part="{name}">{"".join(pieces)}</g>'
        for name, pieces in parts
    ]
    if b is not None and b.balloon is not None:
        drawn.append(_thread(sheet, b, b.balloon, DASHED))
        drawn.append(_thread(sheet, b, b.balloon, Pen(colour=svg.MADDER, width=0.9, dash="3 4"), side=-1))
    if a.balloon is not None:
        drawn.append(_yarn(sheet, a, a.balloon))
    return "".join(drawn) + "".join(_scale(sheet)) + _views(sheet, a)


def _machine(layout: Layout, a: PositionFigure) -> list[tuple[str, list[str]]]:
    sheet = layout.sheet
    foot = machine.spindle_foot(sheet, a)
    axis = (sheet.at(0.0, a.package.tube_foot), sheet.at(0.0, a.guide_height))
    rub = rub_span(a)
    plates = machine.separators(sheet, a) + (machine.rubbed_plates(sheet, a, rub) if rub else [])
    parts = [("separators", plates), ("wharve", foot[:1]), ("spindle", foot[1:])]
    if a.balloon is not None:
        parts.append(("balloon", balloon_ground(sheet, a.balloon, a.guide_height)))
    if a.control_ring is not None:
        parts.append(("control-ring", machine.control_ring(sheet, a.control_ring.diameter, a.control_ring.height)))
    parts.append(("cop", machine.package(sheet, a.package)))
    parts.append(("ring", [svg.line(*axis, svg.CENTRE), *machine.ring_and_rail(sheet, a)]))
    parts.append(("creel", machine.creel(sheet, layout.bar)))
    parts.append(("drafting", machine.rollers(sheet, a.drafting)))
    parts.append(("triangle", strand(sheet, a, layout.bar)))
    parts.append(("lappet", machine.lappet(sheet, a.guide_height)))
    return parts


def _points(sheet: Sheet, shown: PositionFigure, balloon: Balloon, side: int = 0) -> list[Point]:
    """Place the yarn as it is seen with the traveller at the right; with ``side`` its outline on that side."""
    last, turns = balloon.azimuth[-1], zip(balloon.depth, balloon.radius, balloon.azimuth, strict=True)
    return [sheet.at((side or math.cos(a - last)) * r, shown.guide_height - z) for z, r, a in turns]


def _thread(sheet: Sheet, shown: PositionFigure, balloon: Balloon, pen: Pen, side: int = 0) -> str:
    return svg.polyline(_points(sheet, shown, balloon, side), pen)


def _yarn(sheet: Sheet, shown: PositionFigure, balloon: Balloon) -> str:
    """Draw the yarn heavier where it pulls harder, in runs of one weight."""
    points = _points(sheet, shown, balloon)
    widths = [round(yarn_pen((t0 + t1) / 2).width, 1) for t0, t1 in pairwise(balloon.tension)]
    parts, start = [], 0
    for width, run in groupby(widths):
        count = len(list(run))
        pen = Pen(colour=svg.WOAD, width=width, cap="round")
        parts.append(svg.polyline(points[start : start + count + 1], pen))
        start += count
    radius, wound = shown.ring_diameter / 2, shown.winding_diameter / 2
    ring, cop = sheet.at(radius, shown.ring_height), sheet.at(wound * wound / radius, shown.ring_height)
    parts.append(svg.line(ring, cop, yarn_pen(shown.winding_tension)))
    return "".join([*parts, svg.dot(ring, 3.4, svg.WOAD)])


def _scale(sheet: Sheet) -> list[str]:
    """Draw the bar of 50 mm that says how large all is."""
    x, y, long = sheet.axis + sheet.scale * machine.RAIL_HALF + 22, HEIGHT - 20.0, sheet.scale * 0.050
    ends = [svg.line((x + k * long, y - 4), (x + k * long, y + 4), svg.DIMENSION) for k in (0, 1)]
    return [svg.line((x, y), (x + long, y), svg.DIMENSION), *ends, svg.text((x + long + 8, y + 4.5), "50 mm", _SMALL)]


def _views(sheet: Sheet, a: PositionFigure) -> str:
    x, y = sheet.at(0.0, a.guide_height)
    return svg.text((x + 42, y - 5), "side view", _SMALL) + svg.text((x + 42, y + 15), "front view", _SMALL)


_SMALL = Face(size=13.0, colour=svg.INK2)


def anchors(layout: Layout, a: PositionFigure) -> dict[str, Point]:
    """Find where the leader of each part ends, in user units; parts that the frame lacks have none."""
    sheet, bar, nips, guide = layout.sheet, layout.bar, drafting_points(a.drafting), a.guide_height
    foot = a.package.tube_foot
    found = {
        "creel": (bar[0] - 0.092, bar[1] + 0.044),
        "drafting": machine.covered_roller_edge(a.drafting),
        "triangle": (0.8 * nips[0][0], guide + 0.8 * (nips[0][1] - guide)),
        "lappet": (0.0, guide),
        "balloon": (-a.ring_diameter / 2, a.ring_height + 0.55 * (guide - a.ring_height)),
        "separators": (-a.separators.gauge / 2 if a.separators else -0.035, a.ring_height + 0.022),
        "ring": (-a.ring_diameter / 2 - 0.006, a.ring_height - 0.004),
        "cop": (-a.winding_diameter / 2, a.ring_height - 0.012),
        "wharve": (-a.wharve_diameter / 2, foot - 0.027),
        "spindle": (-0.011, foot - 0.062),
    }
    if a.balloon is not None:
        upper = len(a.balloon.depth) // 4
        found["balloon"] = (-a.balloon.radius[upper], guide - a.balloon.depth[upper])
    if a.control_ring is not None:
        found["control-ring"] = (-a.control_ring.diameter / 2, a.control_ring.height)
    return {name: sheet.at(*point) for name, point in found.items()}


def label_heights(points: Mapping[str, Point], order: Sequence[str]) -> dict[str, float]:
    """Give each label its height: beside its part, moved apart so that each can be touched; all in one order."""
    wanted = [min(max(points[name][1] if name in points else 0.0, 22.0), HEIGHT - 22.0) for name in order]
    for k, name in enumerate(order):  # a part that the frame lacks keeps its place in the order
        if name not in points:
            wanted[k] = wanted[k - 1] if k else 22.0
    for k in range(1, len(wanted)):  # the yarn's order is the labels' order
        wanted[k] = max(wanted[k], wanted[k - 1])
    placed = spread(wanted, LABEL_GAP)
    low, high = min(placed), max(placed)
    shift = max(22.0 - low, 0.0) - max(high - (HEIGHT - 22.0), 0.0)
    return {name: y + shift for name, y in zip(order, placed, strict=True)}


def leaders(points: Mapping[str, Point], heights: Mapping[str, float]) -> str:
    """Draw a leader from each label to its part."""
    runs = [svg.leader([(NAMES - 22, heights[k]), (NAMES - 8, heights[k]), p]) for k, p in points.items()]
    return f'<g class="leader">{"".join(runs)}</g>'
