"""The speed through the doff as a figure: courses under the envelope of the limits, and the same in characters."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ringwright.report import svg
from ringwright.report.chart import DASHED_B, EndLabel, Plot, end_labels, grid, heading, middle, ticks
from ringwright.report.number import digits, in_unit
from ringwright.report.svg import Pen, Point

__all__ = ["CourseFigure", "CourseLine", "course_chart", "terminal_course"]

LEFT, RIGHT = 52.0, 128.0
STEP = 5.0 * math.sqrt(2.0)
ROWS, AXIS = 14, 8
BEST = Pen(colour=svg.WOAD, width=2.4, cap="round")


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseLine:
    """Speeds [rad/s] at shares of the doff's yarn, 0 to 1."""

    name: str
    shares: Sequence[float]
    speeds: Sequence[float]

    def at(self, share: float) -> float:
        """Speed at a share, by straight lines."""
        for k in range(1, len(self.shares)):
            if share <= self.shares[k] or k == len(self.shares) - 1:
                gap = self.shares[k] - self.shares[k - 1]
                part = min(max((share - self.shares[k - 1]) / gap, 0.0), 1.0) if gap else 1.0
                return self.speeds[k - 1] + part * (self.speeds[k] - self.speeds[k - 1])
        return self.speeds[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseFigure:
    """The best course and the present one under the envelope; ``limits`` names what makes it, with "; " between."""

    best: CourseLine
    present: CourseLine
    envelope: CourseLine
    limits: str


def course_chart(shown: CourseFigure, *, width: float = 640.0, height: float = 300.0) -> str:
    """Draw spindle speed (rpm) against the share of the doff's yarn (%) as an SVG figure."""
    low, high = _span(shown)
    plot = Plot(
        left=LEFT, right=width - RIGHT, top=32.0, bottom=height - 40.0, x_span=(0.0, 1.0), y_span=(low, high)
    )  # fmt: skip
    wall = _points(plot, shown.envelope)
    best, present = _points(plot, shown.best), _points(plot, shown.present)
    parts = [*heading("Spindle speed through the doff", "rpm"), *grid(plot, ticks(high, low=low)), *_share_axis(plot)]
    parts += [*_hatched_above(plot, wall), svg.polyline(wall, svg.WALL)]
    parts += [svg.polyline(present, DASHED_B), svg.polyline(best, BEST)]
    parts += [_corner(point) for point in best]
    labels = [
        EndLabel(y=best[-1][1], words=shown.best.name, colour=svg.WOAD, weight=600),
        EndLabel(y=present[-1][1], words=shown.present.name, colour=svg.MADDER),
    ]
    names = shown.limits.split("; ")
    labels += [
        EndLabel(y=wall[-1][1] - 14 * (len(names) - k), words=name, colour=svg.INK2) for k, name in enumerate(names)
    ]
    return svg.figure((width, height), _said(shown), [*parts, *end_labels(plot.right + 8, labels)])


def _span(shown: CourseFigure) -> tuple[float, float]:
    """Give the span of the speed axis [rpm]; not from nought, so that the courses can be told apart."""
    speeds = [in_unit(v, "rpm") for line in (shown.best, shown.present, shown.envelope) for v in line.speeds]
    low, high = min(speeds), max(speeds)
    room = max(high - low, 0.06 * high)
    return math.floor((low - 0.15 * room) / 100) * 100, math.ceil((high + 0.22 * room) / 100) * 100


def _points(plot: Plot, line: CourseLine) -> list[Point]:
    return plot.points(line.shares, [in_unit(speed, "rpm") for speed in line.speeds])


def _corner(point: Point) -> str:
    return svg.rectangle((point[0] - 3, point[1] - 3), (6, 6), Pen(colour=svg.WOAD, width=1.5, fill=svg.PAPER))


def _share_axis(plot: Plot) -> list[str]:
    parts = [svg.line((plot.left, plot.bottom), (plot.right, plot.bottom), svg.THIN)]
    for share in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0):
        x = plot.x(share)
        parts.append(svg.line((x, plot.bottom), (x, plot.bottom + 4), svg.THIN))
        parts.append(svg.text((x, plot.bottom + 16), digits(100 * share, 1.0), middle(svg.TICK)))
    parts.append(svg.text((plot.left, plot.bottom + 32), "yarn on the cop, % of the doff", svg.TICK))
    return parts


def _hatched_above(plot: Plot, wall: Sequence[Point]) -> list[str]:
    """Hatch from the envelope up to the top of the plot with slanted lines, each cut where it meets the envelope."""
    runs = []
    offset = STEP
    width, height = plot.right - plot.left, plot.bottom - plot.top
    while offset < width + height:
        inside: list[Point] = []
        for k in range(int(min(offset, height)) + 1):
            x, y = plot.left + offset - k, plot.top + k
            if plot.left <= x <= plot.right and y <= _height(wall, x):
                inside.append((x, y))
        if len(inside) > 1:
            runs.append(svg.line(inside[0], inside[-1], svg.WALL_HATCH))
        offset += STEP
    return runs


def _height(wall: Sequence[Point], x: float) -> float:
    for (x0, y0), (x1, y1) in pairwise(wall):
        if x0 <= x <= x1:
            return y0 if x1 == x0 else y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return wall[-1][1]


def _said(shown: CourseFigure) -> str:
    def ends(line: CourseLine) -> str:
        return (
            f"{digits(in_unit(min(line.speeds), 'rpm'), 10.0)} to {digits(in_unit(max(line.speeds), 'rpm'), 10.0)} rpm"
        )

    return (
        f"Spindle speed through the doff: {shown.best.name} {ends(shown.best)}, {shown.present.name} "
        f"{ends(shown.present)}, limit {ends(shown.envelope)} ({shown.limits})."
    )


def terminal_course(shown: CourseFigure, columns: int) -> list[str]:
    """Draw the same chart as characters: # the best course, o the present one, / beyond the limit."""
    across = columns - AXIS - 2
    low, high = _span(shown)
    marks = ticks(high, low=low)
    lines = []
    for row in range(ROWS):
        upper = high - (high - low) * row / ROWS
        lower = high - (high - low) * (row + 1) / ROWS
        label = next((digits(v, 10.0) for v in marks if lower < v <= upper), "")
        cells = "".join(_cell(shown, (c + 0.5) / across, (lower, upper)) for c in range(across))
        lines.append(f"{label:>{AXIS - 1}} {cells}".rstrip())
    lines.append(" " * AXIS + "-" * across)
    half = across // 2
    lines.append(f"{'':<{AXIS}}{'0':<{half}}{'50':<{half - 13}}100 % of yarn")
    lines.append(f"# {shown.best.name}, o {shown.present.name}, / beyond the limit: {shown.limits}")
    return lines


def _cell(shown: CourseFigure, share: float, span: tuple[float, float]) -> str:
    lower, upper = span
    for line, mark in ((shown.best, "#"), (shown.present, "o")):
        if lower < in_unit(line.at(share), "rpm") <= upper:
            return mark
    return "/" if in_unit(shown.envelope.at(share), "rpm") <= lower else " "
