"""The plain frame of every chart: two scales, few grid lines, a minute axis, labels at the ends of lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.report import svg
from ringwright.report.number import digits
from ringwright.report.svg import Face, Pen, Point

__all__ = [
    "EndLabel",
    "Plot",
    "end_labels",
    "grid",
    "heading",
    "middle",
    "minute_axis",
    "right",
    "spread",
    "ticks",
    "wall_above",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """A rectangle of a figure in user units, and the values at its edges."""

    left: float
    right: float
    top: float
    bottom: float
    x_span: tuple[float, float]
    y_span: tuple[float, float]

    def x(self, value: float) -> float:
        """Place a value across."""
        low, high = self.x_span
        return self.left + (self.right - self.left) * (value - low) / (high - low)

    def y(self, value: float) -> float:
        """Place a value upwards."""
        low, high = self.y_span
        return self.bottom - (self.bottom - self.top) * (value - low) / (high - low)

    def points(self, xs: Sequence[float], ys: Sequence[float]) -> list[Point]:
        """Place a run of values."""
        return [(self.x(x), self.y(y)) for x, y in zip(xs, ys, strict=True)]


def ticks(high: float, *, low: float = 0.0, most: int = 4) -> list[float]:
    """Choose round steps from a low value (taken up to a whole step) to at most a high one, no more than ``most``."""
    if not (math.isfinite(high) and math.isfinite(low) and high > low):
        raise ValueError("an axis needs a finite span above nought")
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * m for m in (1.0, 2.0, 2.5, 5.0, 10.0) if power * m >= rough * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [step * k for k in range(first, math.floor(high / step + 1e-9) + 1)]


def grid(plot: Plot, values: Sequence[float]) -> list[str]:
    """Rule hairlines at values and write each at the left; nought is a firmer line."""
    step = values[1] - values[0] if len(values) > 1 else 1.0
    parts = []
    for value in values:
        y = plot.y(value)
        parts.append(svg.line((plot.left, y), (plot.right, y), svg.THIN if value == 0 else svg.GRID))
        parts.append(svg.text((plot.left - 6, y + 4), digits(value, step), right(svg.TICK)))
    return parts


def right(face: Face) -> Face:
    """Set the same face so that it ends at its point."""
    return Face(size=face.size, weight=face.weight, narrow=face.narrow, colour=face.colour, anchor="end")


def middle(face: Face) -> Face:
    """Set the same face so that its middle is at its point."""
    return Face(size=face.size, weight=face.weight, narrow=face.narrow, colour=face.colour, anchor="middle")


def minute_axis(plot: Plot) -> list[str]:
    """Draw the time axis in minutes below a plot whose x span is in seconds."""
    low, high = (v / 60.0 for v in plot.x_span)
    values = ticks(high, low=low, most=7)
    parts = [svg.line((plot.left, plot.bottom), (plot.right, plot.bottom), svg.THIN)]
    for value in values:
        x = plot.x(60.0 * value)
        parts.append(svg.line((x, plot.bottom), (x, plot.bottom + 4), svg.THIN))
        parts.append(svg.text((x, plot.bottom + 16), digits(value, values[1] - values[0]), middle(svg.TICK)))
    parts.append(svg.text((plot.right + 8, plot.bottom + 16), "minutes", svg.TICK))
    return parts


def wall_above(plot: Plot, value: float) -> list[str]:
    """Hatch the forbidden part of a plot, from a value up to the top, and write the value at the left."""
    y = plot.y(value)
    return [
        svg.hatch((plot.left, plot.top), (plot.right - plot.left, y - plot.top), svg.WALL_HATCH, spacing=5.0),
        svg.line((plot.left, y), (plot.right, y), svg.WALL),
        svg.text((plot.left - 6, y + 4), digits(value, 1.0), right(Face(size=11.7, weight=600))),
    ]


def wall_labels(plot: Plot, value: float, words: str) -> list[EndLabel]:
    """Name a limit at the right of its line; a line break in the words gives two labels."""
    lines = words.split("\n")
    return [
        EndLabel(y=plot.y(value) - 13.5 * (len(lines) - 1 - k), words=line, colour=svg.INK2)
        for k, line in enumerate(lines)
    ]


def heading(words: str, unit: str) -> list[str]:
    """Write a chart's title with its unit at the upper left."""
    return [svg.text((0, 13), f"{words}, {unit}", Face(size=14.0, weight=600))]


@dataclass(frozen=True, slots=True, kw_only=True)
class EndLabel:
    """Words at the right-hand end of a line, at its height, in its colour."""

    y: float
    words: str
    colour: str = svg.INK
    weight: int = 400


def spread(wanted: Sequence[float], gap: float) -> list[float]:
    """Move positions apart to at least a gap, keeping their order and their middle as far as can be."""
    order = sorted(range(len(wanted)), key=lambda k: wanted[k])
    blocks: list[list[float]] = []  # each: sum of (wanted - k * gap), count
    for k in order:
        blocks.append([wanted[k], 1.0])
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][1] + gap * blocks[-2][1] > blocks[-1][0] / blocks[-1][1]:
            total, count = blocks.pop()
            blocks[-1][0] += total - gap * blocks[-1][1] * count
            blocks[-1][1] += count
    placed = [total / count + gap * n for total, count in blocks for n in range(int(count))]
    result = [0.0] * len(wanted)
    for k, y in zip(order, placed, strict=True):
        result[k] = y
    return result


def end_labels(x: float, labels: Sequence[EndLabel], *, gap: float = 13.5) -> list[str]:
    """Write labels at the ends of lines, moved apart where they would touch."""
    places = spread([label.y for label in labels], gap)
    return [
        svg.text((x, y + 4), label.words, Face(size=11.7, weight=label.weight, narrow=True, colour=label.colour))
        for label, y in zip(labels, places, strict=True)
    ]


DOTTED = "1.5 3"
DASHED = "6 4"
THIN_A = Pen(colour=svg.WOAD, width=1.0)
HEAVY_A = Pen(colour=svg.WOAD, width=2.4, cap="round")
DOTTED_A = Pen(colour=svg.WOAD, width=1.5, dash=DOTTED, cap="round")
DASHED_B = Pen(colour=svg.MADDER, width=1.8, dash=DASHED)
