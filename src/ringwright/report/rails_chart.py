"""Heights through the doff: the rails, and the balloon with and without the guide's travel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.report import svg
from ringwright.report.chart import (
    DASHED_B,
    HEAVY_A,
    THIN_A,
    EndLabel,
    Plot,
    end_labels,
    grid,
    heading,
    minute_axis,
    ticks,
)
from ringwright.report.number import digits, in_unit
from ringwright.report.svg import Pen

__all__ = ["HeightCourse", "RailsFigure", "balloon_height_chart", "rails_chart"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightCourse:
    """A height (m) against time (s): its lowest and highest value in each stroke."""

    name: str
    time: Sequence[float]
    low: Sequence[float]
    high: Sequence[float]

    def __post_init__(self) -> None:
        if len(self.time) < 2 or not len(self.time) == len(self.low) == len(self.high):
            raise ValueError("a course of heights needs at least two strokes and runs of one length")


@dataclass(frozen=True, slots=True, kw_only=True)
class RailsFigure:
    """The rails' heights above the ring rail's lowest place, and the height of the tube's tip (m)."""

    rails: Sequence[HeightCourse]
    tube_tip: float


def balloon_height_chart(
    a: HeightCourse, b: HeightCourse | None = None, *, width: float = 640.0, height: float = 240.0
) -> str:
    """Draw the balloon's height (mm) against minutes: A as a band, B dashed, the axis from nought."""
    courses = [a] if b is None else [a, b]
    plot = _plot(courses, (width, height))
    parts = [*heading("Height of the balloon", "mm"), *grid(plot, ticks(plot.y_span[1])), *minute_axis(plot)]
    low, high = (_line(plot, a.time, v) for v in (a.low, a.high))
    parts += [svg.band(low, high, svg.WOADWASH), *_runs(low, THIN_A), *_runs(high, HEAVY_A)]
    labels = _end(high, a.name, svg.WOAD, 600)
    if b is not None:
        for values in (b.low, b.high):
            parts += _runs(_line(plot, b.time, values), DASHED_B)
        labels += _end(_line(plot, b.time, b.high), b.name, svg.MADDER, 400)
    spans = ", ".join(f"{c.name} {_span(c)}" for c in courses)
    return svg.figure(
        (width, height), f"Height of the balloon through the doff: {spans}.", parts + end_labels(plot.right + 8, labels)
    )


def rails_chart(shown: RailsFigure, *, width: float = 640.0, height: float = 300.0) -> str:
    """Draw the rails' heights (mm) against minutes: each a band from the foot to the top of its strokes."""
    plot = _plot(shown.rails, (width, height), at_least=shown.tube_tip)
    title = heading("Height of each rail above the ring rail's lowest place", "mm")
    parts = [*title, *grid(plot, ticks(plot.y_span[1])), *minute_axis(plot)]
    tip = plot.y(in_unit(shown.tube_tip, "mm"))
    labels = [EndLabel(y=tip, words="tube tip", colour=svg.INK2)]
    for rail in shown.rails:
        low, high = (_line(plot, rail.time, v) for v in (rail.low, rail.high))
        parts += [svg.band(low, high, svg.WASH), *_runs(low, svg.THIN), *_runs(high, Pen(width=1.8))]
        labels += _end(high, rail.name, svg.INK, 600)
    parts.append(svg.line((plot.left, tip), (plot.right, tip), svg.CENTRE))
    spans = ", ".join(f"{rail.name} {_span(rail)}" for rail in shown.rails)
    return svg.figure(
        (width, height), f"Height of each rail through the doff: {spans}.", parts + end_labels(plot.right + 8, labels)
    )


def _plot(courses: Sequence[HeightCourse], size: tuple[float, float], *, at_least: float = 0.0) -> Plot:
    finite = [v for c in courses for v in (*c.low, *c.high) if math.isfinite(v)]
    top = 1.08 * in_unit(max([*finite, at_least]), "mm")
    span = (0.0, max(t for c in courses for t in c.time))
    return Plot(left=40, right=size[0] - 110, top=32, bottom=size[1] - 22, x_span=span, y_span=(0.0, top))


def _line(plot: Plot, time: Sequence[float], values: Sequence[float]) -> list[svg.Point]:
    return plot.points(time, [in_unit(v, "mm") for v in values])


def _runs(points: Sequence[svg.Point], pen: Pen) -> list[str]:
    return [svg.polyline(run, pen) for run in svg.path_runs(points)]


def _end(points: Sequence[svg.Point], words: str, colour: str, weight: int) -> list[EndLabel]:
    finite = [y for _, y in points if math.isfinite(y)]
    return [EndLabel(y=finite[-1], words=words, colour=colour, weight=weight)] if finite else []


def _span(course: HeightCourse) -> str:
    finite = [in_unit(v, "mm") for v in (*course.low, *course.high) if math.isfinite(v)]
    return f"{digits(min(finite), 1.0)} to {digits(max(finite), 1.0)} mm" if finite else "not known"
