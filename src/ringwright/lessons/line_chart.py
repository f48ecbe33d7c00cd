"""The one chart of a lesson: a quantity through the doff or over the moved part, A solid and the other dashed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ringwright.report import svg
from ringwright.report.chart import Plot, spread, ticks
from ringwright.report.number import digits
from ringwright.report.svg import Face, Pen, Point

__all__ = ["Curve", "Wall", "line_chart"]

WIDTH, HEIGHT = 460.0, 196.0
LEFT, RIGHT, TOP, BOTTOM = 44.0, 112.0, 12.0, 162.0
SHORT = 24.0
"""A curve that stops so far short of the right edge has its name beside its end."""
TICK = Face(size=13.0, colour=svg.INK2)
MOVED = Pen(colour=svg.WOAD, width=2.4, cap="round")
OTHER = Pen(colour=svg.MADDER, width=1.9, dash="6 4")


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """A run of values in the units of the axes, its name, and the point to mark on it."""

    name: str
    xs: Sequence[float]
    ys: Sequence[float]
    other: bool = False
    mark: Point | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A limit on the upright axis: its value, its name, and whether what lies above it is forbidden."""

    value: float
    name: str
    above: bool


def line_chart(
    curves: Sequence[Curve], x_words: str, *, wall: Wall | None = None, zero: bool = True, said: str = ""
) -> str:
    """Draw curves over one axis; raises ValueError where no curve has two points that are finite."""
    plot = _plot(curves, wall, zero=zero)
    parts = [*_ground(plot, x_words)]
    labels: list[tuple[float, str, Face]] = []
    drawn = [_points(plot, curve) for curve in curves]
    if wall is not None:
        parts += _wall(plot, wall)
        labels.append((plot.y(wall.value), wall.name, TICK))
    for curve in sorted(curves, key=lambda one: not one.other):
        pen = OTHER if curve.other else MOVED
        runs = svg.path_runs(_points(plot, curve))
        parts += [svg.polyline(run, pen) for run in runs]
        if curve.mark is not None and all(math.isfinite(v) for v in curve.mark):
            at = (plot.x(curve.mark[0]), plot.y(curve.mark[1]))
            parts.append(svg.circle(at, 4.6, Pen(colour=pen.colour, width=2.2, fill=svg.PAPER)))
            if not curve.other:
                parts.append(svg.dot(at, 4.6, pen.colour))
        face = Face(size=13.5, weight=640, colour=pen.colour, narrow=True)
        if runs and curve.name and runs[-1][-1][0] < plot.right - SHORT:
            parts.append(_beside(plot, runs[-1][-1], curve.name, face, drawn))
        elif runs:
            labels.append((runs[-1][-1][1], curve.name, face))
    places = spread([y for y, _, _ in labels], 16.0)
    parts += [
        svg.text((plot.right + 9, y + 4.5), name, face) for y, (_, name, face) in zip(places, labels, strict=True)
    ]
    return svg.figure((WIDTH, HEIGHT), said, parts)


def _points(plot: Plot, curve: Curve) -> list[Point]:
    return [(plot.x(x), plot.y(y)) for x, y in zip(curve.xs, curve.ys, strict=True)]


def _beside(plot: Plot, at: Point, name: str, face: Face, drawn: Sequence[Sequence[Point]]) -> str:
    """Write a name beside the end of a curve that stops short of the edge, where least of all is drawn."""
    wide = 0.52 * face.size * len(name)

    def room(place: Point) -> float:
        middle = (place[0] + wide / 2, place[1] - face.size / 3)
        inside = plot.left < place[0] and place[0] + wide < plot.right and plot.top < middle[1] < plot.bottom - 4
        near = [
            math.hypot(max(abs(x - middle[0]) - wide / 2, 0.0), max(abs(y - middle[1]) - face.size / 2, 0.0))
            for run in drawn
            for one, other in pairwise(run)
            for x, y in _between(one, other)
            if math.isfinite(y)
        ]
        return min(near, default=0.0) if inside else -1.0

    x, y = at
    places = [(x + 10, y - 8), (x + 10, y + 18), (x - 10 - wide, y - 8), (x - 10 - wide, y + 18), (x + 12, y + 4.5)]
    return svg.text(max(places, key=room), name, face)


def _between(one: Point, other: Point) -> list[Point]:
    """Give points about 4 apart along a straight piece."""
    count = max(1, int(math.dist(one, other) / 4)) if math.isfinite(one[1] + other[1]) else 1
    across, down = (other[0] - one[0]) / count, (other[1] - one[1]) / count
    return [(one[0] + across * k, one[1] + down * k) for k in range(count + 1)]


def _plot(curves: Sequence[Curve], wall: Wall | None, *, zero: bool) -> Plot:
    xs = [x for curve in curves for x in curve.xs]
    ys = [y for curve in curves for y in curve.ys if math.isfinite(y)]
    ys += [wall.value] if wall else []
    if len(ys) < 2:
        raise ValueError("a chart needs at least two values")
    low, high = min([*ys, 0.0] if zero else ys), max(ys)
    room = 0.08 * (high - low) or 1.0
    low = low if zero and low >= 0 else low - room
    if wall is not None and not wall.above:
        low = min(low, wall.value - 2.2 * room)
    return Plot(
        left=LEFT,
        right=WIDTH - RIGHT,
        top=TOP,
        bottom=BOTTOM,
        x_span=(min(xs), max(xs)),
        y_span=(low, high + 1.6 * room),
    )


def _ground(plot: Plot, x_words: str) -> list[str]:
    parts = []
    low, high = plot.y_span
    values = ticks(high, low=low)
    for value in values:
        y = plot.y(value)
        parts.append(svg.line((plot.left, y), (plot.right, y), svg.THIN if value == 0 else svg.GRID))
        step = values[1] - values[0] if len(values) > 1 else 1.0
        parts.append(
            svg.text((plot.left - 6, y + 4.5), _tick(value, step), Face(size=13.0, colour=svg.INK2, anchor="end"))
        )
    across = ticks(plot.x_span[1], low=plot.x_span[0], most=6)
    for value in across:
        x = plot.x(value)
        step = across[1] - across[0] if len(across) > 1 else 1.0
        parts.append(svg.line((x, plot.bottom), (x, plot.bottom + 4), svg.THIN))
        words = _tick(value, step)
        parts.append(svg.text((x, plot.bottom + 18), words, Face(size=13.0, colour=svg.INK2, anchor="middle")))
    parts.append(svg.line((plot.left, plot.bottom), (plot.right, plot.bottom), svg.THIN))
    return [*parts, svg.text((plot.right + 22, plot.bottom + 18), x_words, TICK)]


def _tick(value: float, step: float) -> str:
    """Write a value of an axis with the decimals that its step needs; 2.5 needs one."""
    fine = 10.0 ** math.floor(math.log10(step) + 1e-9)
    return digits(value, fine if abs(step / fine - round(step / fine)) < 1e-9 else fine / 10)


def _wall(plot: Plot, wall: Wall) -> list[str]:
    y = plot.y(wall.value)
    top, bottom = (plot.top, y) if wall.above else (y, plot.bottom)
    hatched = svg.hatch((plot.left, top), (plot.right - plot.left, bottom - top), svg.WALL_HATCH, spacing=5.0)
    return [hatched, svg.line((plot.left, y), (plot.right, y), svg.WALL)]
