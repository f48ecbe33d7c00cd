"""The separators' pictures: when the study names a plate, and breaks of one side over time."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy import stats

from ringwright.cascade.watched import Drawn, Watched
from ringwright.report import svg
from ringwright.report.chart import EndLabel, Plot, end_labels, grid, heading, middle, ticks
from ringwright.report.number import digits
from ringwright.report.svg import Face, Pen

__all__ = ["breaks_figure", "named_figure"]

WIDTH, HEIGHT = 640.0, 300.0
BESIDE = 9
"""Spindles drawn on either side of the plate."""
CURVE = Pen(colour=svg.WOAD, width=2.4, cap="round")


def named_figure(one: Watched, curve: Sequence[tuple[float, float]]) -> str:
    """Draw the chance (%) that the study names the plate over shifts: closed form as a line, runs as dots."""
    most = max(curve[-1][0], one.shifts[-1]) * 1.05
    plot = Plot(left=44, right=WIDTH - 172, top=32, bottom=HEIGHT - 38, x_span=(0, most), y_span=(0, 104))
    parts = heading(f"Chance that the records name the {one.state} plate", "%")
    parts += grid(plot, ticks(100.0)) + _shift_axis(plot)
    line = plot.points([x for x, _ in curve], [100 * y for _, y in curve])
    parts.append(svg.polyline(line, CURVE))
    for shifts, found in zip(one.shifts, one.found, strict=True):
        low, high = _interval(found, one.runs)
        x = plot.x(shifts)
        parts.append(svg.line((x, plot.y(100 * low)), (x, plot.y(100 * high)), Pen(colour=svg.INK, width=1.0)))
        parts.append(svg.circle((x, plot.y(100 * found / one.runs)), 4.2, Pen(width=1.6, fill=svg.PAPER)))
    labels = [
        EndLabel(y=line[-1][1], words="closed form", colour=svg.WOAD, weight=600),
        EndLabel(y=line[-1][1] + 16, words=f"circles: {one.runs} runs drawn,", colour=svg.INK),
        EndLabel(y=line[-1][1] + 30, words="by the study's own rules", colour=svg.INK),
    ]
    said = f"Chance of naming the {one.state} plate over shifts; the numbers stand in the table"
    return svg.figure((WIDTH, HEIGHT), said, [*parts, *end_labels(plot.right + 8, labels)])


def _interval(found: int, runs: int) -> tuple[float, float]:
    test = stats.binomtest(found, runs).proportion_ci(0.95)
    return float(test.low), float(test.high)


def _shift_axis(plot: Plot) -> list[str]:
    values = ticks(plot.x_span[1], most=7)
    parts = [svg.line((plot.left, plot.bottom), (plot.right, plot.bottom), svg.THIN)]
    step = values[1] - values[0] if len(values) > 1 else 1.0
    for value in values:
        x = plot.x(value)
        parts.append(svg.line((x, plot.bottom), (x, plot.bottom + 4), svg.THIN))
        parts.append(svg.text((x, plot.bottom + 16), digits(value, min(step, 1.0)), middle(svg.TICK)))
    return [*parts, svg.text((plot.right + 8, plot.bottom + 16), "shifts", svg.TICK)]


def breaks_figure(drawn: Drawn, spindle: int, shift: float) -> str:
    """Draw the breaks about a plate over shifts: dots are own breaks, rings those that a neighbour struck."""
    side, place = drawn.side, spindle - drawn.first + 1
    low, high = max(1, place - BESIDE + 1), min(side.spindles, place + BESIDE)
    plot = Plot(left=52, right=WIDTH - 172, top=32, bottom=HEIGHT - 38, x_span=(0, side.length / shift),
                y_span=(low - 0.7, high + 0.7))  # fmt: skip
    parts = heading("Breaks about the plate, a middling run of those drawn", "spindle")
    parts += _shift_axis(plot)
    for k in range(low, high + 1, 3):
        parts.append(svg.text((plot.left - 8, plot.y(k) + 4), str(drawn.first + k - 1), Face(
            size=11.7, colour=svg.INK2, anchor="end")))  # fmt: skip
    level = plot.y(place + 0.5)
    parts.append(svg.line((plot.left, level), (plot.right, level), Pen(colour=svg.INK2, width=0.8, dash="4 3")))
    first: dict[int, tuple[float, float]] = {}
    for at, time, cluster in zip(side.place.tolist(), side.time.tolist(), side.cluster.tolist(), strict=True):
        if not low <= at <= high:
            continue
        point = (plot.x(time / shift), plot.y(at))
        if cluster in first:
            parts.append(svg.line(first[cluster], point, Pen(colour=svg.MADDER, width=1.4)))
            parts.append(svg.circle(point, 3.4, Pen(colour=svg.MADDER, width=1.8, fill=svg.PAPER)))
        else:
            first[cluster] = point
            parts.append(svg.dot(point, 2.4, svg.INK))
    labels = [
        EndLabel(y=level, words="no plate holds here", colour=svg.INK2),
        EndLabel(y=plot.top + 10, words="dot: an end's own break", colour=svg.INK),
        EndLabel(y=plot.top + 26, words="ring: struck by its neighbour", colour=svg.MADDER, weight=600),
    ]
    many = int(np.sum((side.place >= low) & (side.place <= high)))
    said = f"{many} breaks of {high - low + 1} spindles about the plate over {digits(side.length / shift, 1)} shifts"
    return svg.figure((WIDTH, HEIGHT), said, [*parts, *end_labels(plot.right + 8, labels)])
