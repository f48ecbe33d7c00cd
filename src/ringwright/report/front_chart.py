"""The trade-off of production against tension or heat, as a figure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.report import svg
from ringwright.report.chart import DASHED_B, EndLabel, Plot, end_labels, grid, heading, middle, ticks
from ringwright.report.number import digits, in_unit
from ringwright.report.svg import Pen

__all__ = ["FrontFigure", "front_chart"]

DEAR = 1.5
LEFT, RIGHT = 44.0, 128.0
LINE = Pen(colour=svg.WOAD, width=2.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontFigure:
    """Production [kg/s] with the least value of all candidates, and with the parts as set (inf where out of reach).

    ``changed`` counts the parts that each point changes; ``as_set`` is production and value of the present run.
    """

    title: str
    unit: str
    production: Sequence[float]
    least: Sequence[float]
    present: Sequence[float]
    changed: Sequence[int]
    as_set: tuple[float, float] | None
    named: str = ""
    """What to call the unit where it is the mill's own, as a currency; else the unit's own name."""


def front_chart(shown: FrontFigure, *, width: float = 460.0, height: float = 300.0) -> str:
    """Draw the front against production (g/spindle-h) as an SVG figure.

    Tension and heat stand on nought; a cost stands on a round value below its least, as it moves by a few per cent, and
    what is dearer than half as much again as the best is left out.
    """
    across = [in_unit(value, "g/h") for value in shown.production]
    limit = DEAR * max(shown.least) if shown.named else math.inf
    present = [value if value <= limit else math.inf for value in shown.present]
    marks = [*shown.least, *(value for value in present if math.isfinite(value))]
    if shown.as_set is not None:
        marks.append(shown.as_set[1])
        across.append(in_unit(shown.as_set[0], "g/h"))
    high = 1.12 * max(in_unit(value, shown.unit) for value in marks)
    low = 0.0
    if shown.named:
        low = ticks(high, low=0.85 * min(shown.least))[0]
        low -= ticks(high, low=low)[1] - low
    margin = 0.04 * (max(across) - min(across))
    plot = Plot(
        left=LEFT, right=width - RIGHT, top=32.0, bottom=height - 40.0,
        x_span=(min(across) - margin, max(across) + margin), y_span=(low, high),
    )  # fmt: skip
    parts = [
        *heading(shown.title, shown.named or shown.unit),
        *grid(plot, ticks(high, low=low)),
        *_production_axis(plot),
    ]
    labels = []
    for values, pen, name in ((present, DASHED_B, "parts as set"), (shown.least, LINE, "best parts")):
        points = plot.points(
            [in_unit(p, "g/h") for p in shown.production],
            [in_unit(v, shown.unit) if math.isfinite(v) else math.nan for v in values],
        )
        parts += [svg.polyline(run, pen) for run in svg.path_runs(points)]
        ends = [point[1] for point in points if math.isfinite(point[1])]
        if ends:
            labels.append(EndLabel(y=ends[-1], words=name, colour=pen.colour, weight=600 if pen is LINE else 400))
        if pen is LINE:
            parts += [svg.dot(point, 3.0, svg.WOAD) for point in points]
    if shown.as_set is not None:
        x, y = plot.x(in_unit(shown.as_set[0], "g/h")), plot.y(in_unit(shown.as_set[1], shown.unit))
        parts += [svg.circle((x, y), 4.0, Pen(colour=svg.MADDER, width=1.8, fill=svg.PAPER))]
        parts += [svg.text((x - 8, y - 9), "as set", svg.Face(size=11.7, narrow=True, colour=svg.MADDER, anchor="end"))]
    return svg.figure((width, height), _said(shown), [*parts, *end_labels(plot.right + 8, labels)])


def _production_axis(plot: Plot) -> list[str]:
    low, high = plot.x_span
    values = ticks(high, low=low, most=5)
    parts = [svg.line((plot.left, plot.bottom), (plot.right, plot.bottom), svg.THIN)]
    for value in values:
        x = plot.x(value)
        parts.append(svg.line((x, plot.bottom), (x, plot.bottom + 4), svg.THIN))
        parts.append(svg.text((x, plot.bottom + 16), digits(value, min(values[1] - values[0], 1.0)), middle(svg.TICK)))
    parts.append(svg.text((plot.left, plot.bottom + 32), "production of one spindle, g/h", svg.TICK))
    return parts


def _said(shown: FrontFigure) -> str:
    step, word = 0.001 if shown.named else 0.1, shown.named or shown.unit
    ends = [
        f"{digits(in_unit(value, shown.unit), step)} {word} at {digits(in_unit(made, 'g/h'), 0.1)} g/h"
        for made, value in ((shown.production[0], shown.least[0]), (shown.production[-1], shown.least[-1]))
    ]
    return f"{shown.title}: with the best parts from {ends[0]} to {ends[1]}."
