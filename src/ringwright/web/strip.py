"""Tension along the yarn, on the drawing's own heights: what happens at a height is drawn at that height."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ringwright.report import svg
from ringwright.report.number import in_unit
from ringwright.report.position_inputs import PositionFigure
from ringwright.report.position_parts import Sheet
from ringwright.report.svg import Face, Pen, Point

__all__ = ["strip"]

RIGHT = 512.0
CLEAR = 10.0
"""By how much the words stand off the rollers, which may reach beyond the axis."""
TICK = Face(size=13.0, colour=svg.INK2, anchor="middle")
SMALL = Face(size=13.0, colour=svg.INK2)
FIGURE_A = Face(size=15.0, weight=640, colour=svg.WOAD)
FIGURE_B = Face(size=14.0, weight=600, colour=svg.MADDER)
HEAVY = Pen(colour=svg.WOAD, width=2.6)
DASHED = Pen(colour=svg.MADDER, width=2.0, dash="6 4")


@dataclass(frozen=True, slots=True)
class _Axis:
    left: float
    right: float
    most: float

    def x(self, force: float) -> float:
        return self.left + (self.right - self.left) * in_unit(force, "cN") / self.most


def strip(sheet: Sheet, a: PositionFigure, b: PositionFigure | None) -> str:
    """Draw tension (cN) from the nip down to the winding point beside the drawing; B dashed."""
    shown = [one for one in (a, b) if one is not None and one.balloon is not None]
    if not shown:
        return ""
    most = max(in_unit(one.winding_tension, "cN") for one in shown)
    step = next(s for s in (5, 10, 20, 50, 100, 200, 500, 1000) if 4 * s >= most or s == 1000)
    axis = _Axis(sheet.axis + max(sheet.scale * 0.046 + 26, 118.0), RIGHT, max(step * math.ceil(most / step), step))
    top, bottom = sheet.at(0.0, a.drafting.nip_height)[1] + 34, sheet.at(0.0, a.ring_height)[1]
    parts = _ground(axis, (top, bottom), step)
    if b is not None and b.balloon is not None:
        parts.append(svg.polyline(_course(sheet, axis, b, top), DASHED))
        parts.append(svg.text((axis.x(b.winding_tension) + 6, bottom + 22), _cn(b.winding_tension), FIGURE_B))
    if a.balloon is not None:
        course = _course(sheet, axis, a, top)
        edge = [(axis.left, course[-1][1]), (axis.left, course[0][1])]
        parts.insert(0, svg.filled([*course, *edge], svg.WOADWASH))
        parts += [svg.polyline(course, HEAVY), *_figures(sheet, axis, a, top)]
    return "".join(parts)


def _ground(axis: _Axis, span: Point, step: int) -> list[str]:
    top, bottom = span
    parts = [
        svg.text((axis.left + CLEAR, top - 38), "Tension along the yarn", Face(size=15.0, weight=640)),
        svg.text((axis.left + CLEAR, top - 22), "cN, on the drawing's heights", SMALL),
    ]
    for k in range(round(axis.most / step) + 1):
        x = axis.left + (axis.right - axis.left) * k * step / axis.most
        parts.append(svg.line((x, top), (x, bottom + 4), svg.THIN if k == 0 else svg.GRID))
        parts.append(svg.text((x, top - 5), str(k * step), TICK))
    return parts


def _course(sheet: Sheet, axis: _Axis, shown: PositionFigure, top: float) -> list[Point]:
    """Give the yarn's tension from the nip down, with its steps at the lappet and at the ring."""
    assert shown.balloon is not None  # noqa: S101 - the callers ask only for a solved balloon
    guide = sheet.at(0.0, shown.guide_height)[1]
    runs = [(axis.x(shown.triangle_tension), top), (axis.x(shown.triangle_tension), guide)]
    for depth, tension in zip(shown.balloon.depth, shown.balloon.tension, strict=True):
        runs.append((axis.x(tension), sheet.at(0.0, shown.guide_height - depth)[1]))
    return [*runs, (axis.x(shown.winding_tension), runs[-1][1])]


def _figures(sheet: Sheet, axis: _Axis, a: PositionFigure, top: float) -> list[str]:
    assert a.balloon is not None  # noqa: S101
    guide, ring = sheet.at(0.0, a.guide_height)[1], sheet.at(0.0, a.ring_height)[1]
    rows = [
        (a.triangle_tension, (top + guide) / 2, "at the triangle"),
        (a.balloon.tension[0], guide + 24, "under the lappet"),
        (a.balloon.tension[-1], ring - 26, "above the ring"),
    ]
    parts = []
    for tension, y, words in rows:
        parts += [svg.text((axis.left + 7, y), _cn(tension), FIGURE_A), svg.text((axis.left + 7, y + 15), words, SMALL)]
    x = axis.x(a.winding_tension)
    parts.append(svg.dot((x, ring), 3.4, svg.WOAD))
    at = min(x, axis.right - 60)
    parts.append(svg.text((at - 34, ring + 22), _cn(a.winding_tension), FIGURE_A))
    return [*parts, svg.text((at - 34, ring + 37), "winding on", SMALL)]


def _cn(force: float) -> str:
    return f"{in_unit(force, 'cN'):.1f}"
