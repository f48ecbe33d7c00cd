"""Tension through the doff, with the limit as a hatched wall and the speed course on the same minutes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ringwright.report import svg
from ringwright.report.chart import (
    DASHED_B,
    DOTTED_A,
    HEAVY_A,
    THIN_A,
    EndLabel,
    Plot,
    end_labels,
    grid,
    heading,
    minute_axis,
    ticks,
    wall_above,
    wall_labels,
)
from ringwright.report.number import digits, in_unit
from ringwright.report.svg import Face, Pen

__all__ = ["SpeedCourse", "TensionCourse", "TensionFigure", "tension_chart", "unsteady_spans"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TensionCourse:
    """Lowest and highest tension of each stroke (N) against time (s); nan where no steady balloon was found."""

    name: str
    time: Sequence[float]
    winding_low: Sequence[float]
    winding_high: Sequence[float]
    guide_low: Sequence[float]
    guide_high: Sequence[float]
    triangle_high: Sequence[float] = ()

    def __post_init__(self) -> None:
        runs = (self.winding_low, self.winding_high, self.guide_low, self.guide_high, self.triangle_high or self.time)
        if len(self.time) < 2 or any(len(run) != len(self.time) for run in runs):
            raise ValueError("a tension course needs at least two strokes and runs of one length")


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedCourse:
    """Spindle speed (rad/s) at the corners of its course (s), joined by straight lines."""

    time: Sequence[float]
    speed: Sequence[float]


@dataclass(frozen=True, slots=True, kw_only=True)
class TensionFigure:
    """What the tension chart shows: setting A, perhaps a setting B, the limit (N) and its name, perhaps the speed."""

    a: TensionCourse
    b: TensionCourse | None = None
    limit: float | None = None
    limit_name: str = ""
    speed: SpeedCourse | None = None


SPEED_TRACK = 64.0
HEADING = 26.0
WORDS_OF_SPEED = 40.0
"""How far the figures of a speed reach."""
LEFT, RIGHT, RIGHT_WITH_B = 40.0, 84.0, 138.0


def unsteady_spans(course: TensionCourse) -> list[tuple[float, float]]:
    """Find the spans of time (s) in which a course has no steady balloon."""
    spans: list[tuple[float, float]] = []
    for before, time, high in zip((course.time[0], *course.time), course.time, course.winding_high, strict=False):
        if math.isfinite(high):
            continue
        if spans and spans[-1][1] >= before:
            spans[-1] = (spans[-1][0], time)
        else:
            spans.append((before, time))
    return spans


def tension_chart(
    shown: TensionFigure, *, width: float = 640.0, height: float = 320.0, with_heading: bool = True
) -> str:
    """Draw tension (cN) against minutes as an SVG figure, with the speed as a second track where it is given."""
    courses = [c for c in (shown.a, shown.b) if c is not None]
    highest = max((in_unit(v, "cN") for c in courses for v in c.winding_high if math.isfinite(v)), default=1.0)
    limit = in_unit(shown.limit, "cN") if shown.limit is not None else math.nan
    in_sight = math.isfinite(limit) and limit < 2.2 * highest
    top_value = max(1.12 * limit, 1.08 * highest) if in_sight else 1.15 * highest
    plot = Plot(
        left=LEFT, right=width - (RIGHT_WITH_B if shown.b else RIGHT),
        top=6.0 + (HEADING if with_heading else 0.0),
        bottom=height - 22.0 - (SPEED_TRACK if shown.speed else 0.0),
        x_span=(0.0, max(t for c in courses for t in c.time)), y_span=(0.0, top_value),
    )  # fmt: skip
    parts = heading("Tension in the yarn through the doff", "cN") if with_heading else []
    parts += grid(plot, [v for v in ticks(top_value) if not in_sight or v < 0.9 * limit])
    labels: list[EndLabel] = []
    if in_sight:
        parts += wall_above(plot, limit)
        labels += wall_labels(plot, limit, shown.limit_name)
    elif math.isfinite(limit):
        words = f"limit {digits(limit, 1.0)} cN, {shown.limit_name}, lies above this chart".replace("\n", " ")
        parts.append(svg.text((plot.left + 4, plot.top + 8), words, svg.NOTE))
    parts += _courses(plot, shown, labels)
    if shown.speed:
        parts += _speed_track(plot, shown.speed)
    else:
        parts += minute_axis(plot)
    return svg.figure((width, height), _said(shown), parts)


def _courses(plot: Plot, shown: TensionFigure, limits: list[EndLabel]) -> list[str]:
    a, b = shown.a, shown.b
    parts = _unsteady(plot, a)
    low, high = (_line(plot, a.time, v) for v in (a.winding_low, a.winding_high))
    parts.append(svg.band(low, high, svg.WOADWASH))
    parts += _runs(low, THIN_A) + _runs(high, HEAVY_A)
    for values in (a.guide_low, a.guide_high):
        parts += _runs(_line(plot, a.time, values), DOTTED_A)
    mark = f"{a.name} " if b else ""
    labels = [*limits, *_labels(plot, a, mark)]
    if a.triangle_high:
        parts += _runs(_line(plot, a.time, a.triangle_high), svg.THIN)
    if b:
        peak = _line(plot, b.time, b.winding_high)
        parts += _runs(peak, DASHED_B)
        labels += _end(peak, f"{b.name}, winding peak", svg.MADDER)
    return parts + end_labels(plot.right + 8, labels)


def _labels(plot: Plot, a: TensionCourse, mark: str) -> list[EndLabel]:
    labels = _end(_line(plot, a.time, a.winding_high), f"{mark}winding", svg.WOAD, weight=600)
    middle = [(low + high) / 2 for low, high in zip(a.guide_low, a.guide_high, strict=True)]
    labels += _end(_line(plot, a.time, middle), f"{mark}at the lappet", svg.WOAD)
    if a.triangle_high:
        labels += _end(_line(plot, a.time, a.triangle_high), f"{mark}triangle", svg.INK2)
    return labels


def _end(points: Sequence[svg.Point], words: str, colour: str, *, weight: int = 400) -> list[EndLabel]:
    finite = [y for _, y in points if math.isfinite(y)]
    return [EndLabel(y=finite[-1], words=words, colour=colour, weight=weight)] if finite else []


def _line(plot: Plot, time: Sequence[float], values: Sequence[float]) -> list[svg.Point]:
    return plot.points(time, [in_unit(v, "cN") for v in values])


def _runs(points: Sequence[svg.Point], pen: Pen) -> list[str]:
    return [svg.polyline(run, pen) for run in svg.path_runs(points)]


def _unsteady(plot: Plot, course: TensionCourse) -> list[str]:
    parts = []
    for start, end in unsteady_spans(course):
        left, right = plot.x(start), plot.x(end)
        parts.append(svg.hatch((left, plot.top), (right - left, plot.bottom - plot.top), svg.SECTION))
        parts.append(svg.rectangle((left + 3, plot.bottom - 24), (108, 18), Pen(colour=svg.INK, fill=svg.PAPER)))
        parts.append(svg.text((left + 8, plot.bottom - 11), "no steady balloon", Face(size=11.7, weight=600)))
    return parts


def _speed_track(above: Plot, course: SpeedCourse) -> list[str]:
    rpm = [in_unit(v, "rpm") for v in course.speed]
    high = max(rpm)
    margin = max(0.12 * high, high - min(rpm))  # so that a small change of speed does not look large
    top = above.bottom + 22
    plot = Plot(
        left=above.left, right=above.right, top=top, bottom=top + SPEED_TRACK - 22,
        x_span=above.x_span, y_span=(high - 2.0 * margin, high + 0.2 * margin),
    )  # fmt: skip
    points = plot.points(course.time, rpm)
    parts = [svg.line((plot.left, above.bottom), (plot.right, above.bottom), svg.THIN), *minute_axis(plot)]
    parts.append(svg.polyline(points, Pen(colour=svg.WOAD, width=1.8)))
    parts += [svg.rectangle((x - 3, y - 3), (6, 6), Pen(colour=svg.WOAD, width=1.5, fill=svg.PAPER)) for x, y in points]
    return parts + _speed_words(points, rpm, plot)


def _speed_words(points: Sequence[svg.Point], rpm: Sequence[float], plot: Plot) -> list[str]:
    """Write each new speed once: the first below its line, rises left of their corner, the last at the line's end."""
    bold = Face(size=11.7, weight=600, narrow=True)
    parts = [svg.text((points[0][0], points[0][1] + 16), digits(rpm[0], 10.0), bold)]
    for k in range(1, len(rpm) - 1):
        if digits(rpm[k], 10.0) == digits(rpm[k - 1], 10.0):
            continue
        (x, y), rises_on = points[k], rpm[k + 1] > rpm[k]
        late = x + WORDS_OF_SPEED > plot.right  # it must not run into the words at the line's end
        anchor: Literal["start", "end"] = "end" if rises_on or late else "start"
        place = (x + 4 if late else x - 3, y - 7)
        parts.append(svg.text(place, digits(rpm[k], 10.0), Face(size=11.7, weight=600, narrow=True, anchor=anchor)))
    y = points[-1][1]
    parts.append(svg.text((plot.right + 8, y + 4), f"{digits(rpm[-1], 10.0)} rpm", bold))
    parts.append(svg.text((plot.right + 8, y - 10), "spindle", svg.NOTE))
    return parts


def _said(shown: TensionFigure) -> str:
    a = shown.a
    values = [in_unit(v, "cN") for v in (*a.winding_low, *a.winding_high) if math.isfinite(v)]
    if not values:
        return "Tension through the doff: no steady balloon was found."
    low, high = digits(min(values), 0.1), digits(max(values), 0.1)
    return f"Tension through the doff: winding tension lies between {low} and {high} cN."
