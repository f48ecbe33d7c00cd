"""Pictures of studies: bars of spindles with their mean, a strip of boundaries, a rate curve with its band."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from ringwright.findings.finding import Answer
from ringwright.findings.picture import Bars, Curve, Strip
from ringwright.report import svg
from ringwright.report.chart import Plot, grid, heading, middle, ticks
from ringwright.report.number import digits
from ringwright.report.svg import Face, Pen

__all__ = ["bars_figure", "curve_figure", "strip_figure", "study_figures"]

WIDTH = 720.0
_NAMED = Face(size=11.7, weight=600, narrow=True, colour=svg.MADDER, anchor="middle")


def study_figures(answers: Iterable[Answer]) -> dict[str, str]:
    """Draw every answer that has a picture; gives SVG by file name."""
    figures: dict[str, str] = {}
    for answer in answers:
        picture = answer.picture
        if picture is None:
            continue
        stem = re.sub(r"[^A-Za-z0-9]+", "-", f"{answer.question} {picture.title.split(':')[0]}").strip("-")
        match picture:
            case Bars():
                drawn = bars_figure(picture)
            case Strip():
                drawn = strip_figure(picture)
            case Curve():
                drawn = curve_figure(picture)
        figures[f"{stem}.svg"] = drawn
    return figures


def _plot(high: float, x_span: tuple[float, float], height: float) -> Plot:
    return Plot(left=44, right=WIDTH - 90, top=34, bottom=height - 38, x_span=x_span, y_span=(0.0, high))


def _x_axis(plot: Plot, values: Sequence[float], words: str) -> list[str]:
    step = values[1] - values[0] if len(values) > 1 else 1.0
    parts = [svg.line((plot.left, plot.bottom), (plot.right, plot.bottom), svg.THIN)]
    for value in values:
        x = plot.x(value)
        parts.append(svg.line((x, plot.bottom), (x, plot.bottom + 4), svg.THIN))
        parts.append(svg.text((x, plot.bottom + 16), digits(value, step), middle(svg.TICK)))
    parts.append(svg.text(((plot.left + plot.right) / 2, plot.bottom + 32), words, middle(svg.NOTE)))
    return parts


def _numbers(plot: Plot, named: Sequence[int], heights: dict[int, float]) -> list[str]:
    """Write the number of each named place above it, a step higher where the one before is near."""
    parts, last, lift = [], -1e9, 0.0
    for number in sorted(named):
        x = plot.x(number)
        lift = lift + 12 if x - last < 26 else 0.0
        y = max(plot.y(heights[number]) - 5 - lift, plot.top + 4)
        parts.append(svg.text((x, y), str(number), _NAMED))
        last = x
    return parts


def bars_figure(shown: Bars, *, height: float = 240.0) -> str:
    """Draw the breaks of each spindle as a bar, the frame's mean as a line, the named ones in colour with numbers."""
    top = 1.12 * max(*shown.counts, shown.mean, 1)
    many = len(shown.counts)
    plot = _plot(top, (0.5, many + 0.5), height)
    parts = heading(shown.title, "breaks") + grid(plot, ticks(top))
    width = max((plot.right - plot.left) / many * 0.7, 0.4)
    plain, loud = Pen(colour=svg.LINE, width=width), Pen(colour=svg.MADDER, width=max(width, 2.0))
    for number, count in enumerate(shown.counts, start=1):
        if count:
            x = plot.x(number)
            pen = loud if number in shown.named else plain
            parts.append(svg.line((x, plot.bottom), (x, plot.y(count)), pen))
    y = plot.y(shown.mean)
    parts.append(svg.line((plot.left, y), (plot.right, y), Pen(colour=svg.WOAD, width=1.6)))
    parts.append(
        svg.text((plot.right + 6, y + 4), f"mean {shown.mean:.1f}", Face(size=11.7, narrow=True, colour=svg.WOAD))
    )
    parts += _numbers(plot, shown.named, {k: float(c) for k, c in enumerate(shown.counts, start=1)})
    parts += _x_axis(plot, ticks(float(many), low=1.0, most=8), "spindle")
    named = ", ".join(str(k) for k in shown.named) or "none"
    said = f"{shown.title}. Mean {shown.mean:.1f}; spindles that stand out: {named}."
    return svg.figure((WIDTH, height), said, parts)


def strip_figure(shown: Strip, *, height: float = 200.0) -> str:
    """Draw the close pairs at each boundary along a side; the named boundaries in colour with their first spindle."""
    top = 1.2 * max(*shown.pairs, 4)
    first, last = shown.boundaries[0], shown.boundaries[-1]
    plot = _plot(top, (first - 0.5, last + 0.5), height)
    parts = heading(shown.title, "pairs") + grid(plot, ticks(top))
    for boundary, pairs in zip(shown.boundaries, shown.pairs, strict=True):
        if pairs:
            x, loud = plot.x(boundary), boundary in shown.named
            pen = Pen(colour=svg.MADDER if loud else svg.LINE, width=3.0 if loud else 1.0)
            parts.append(svg.line((x, plot.bottom), (x, plot.y(pairs)), pen))
    y = plot.y(shown.expected)
    parts.append(svg.line((plot.left, y), (plot.right, y), Pen(colour=svg.WOAD, width=1.2)))
    words = f"chance {shown.expected:.2f}"
    parts.append(svg.text((plot.right + 6, y), words, Face(size=11.7, narrow=True, colour=svg.WOAD)))
    parts += _numbers(plot, shown.named, dict(zip(shown.boundaries, map(float, shown.pairs), strict=True)))
    parts += _x_axis(plot, ticks(float(last), low=float(first), most=8), "boundary after spindle")
    named = ", ".join(f"{k} and {k + 1}" for k in shown.named) or "none"
    return svg.figure((WIDTH, height), f"{shown.title}. Boundaries that stand out: {named}.", parts)


def curve_figure(shown: Curve, *, height: float = 260.0) -> str:
    """Draw a rate along an axis: the fitted curve in its band of 95 %, and the rates as counted."""
    top = 1.08 * max(*shown.high, *shown.counted, 1e-9)
    plot = _plot(top, (min(0.0, shown.at[0]), max(shown.at[-1], *shown.counted_at)), height)
    parts = heading(shown.title, "breaks per 1000 spindle-hours") + grid(plot, ticks(top))
    low, high = plot.points(shown.at, shown.low), plot.points(shown.at, shown.high)
    parts.append(svg.band(low, high, svg.WOADWASH))
    parts.append(svg.polyline(plot.points(shown.at, shown.rate), Pen(colour=svg.WOAD, width=2.2)))
    parts += [svg.dot(point, 2.4, svg.INK2) for point in plot.points(shown.counted_at, shown.counted)]
    y = plot.y(shown.rate[-1])
    parts.append(svg.text((plot.right + 6, y + 4), "fitted", Face(size=11.7, narrow=True, colour=svg.WOAD)))
    parts.append(svg.text((plot.right + 6, y + 18), "band: 95 %", svg.NOTE))
    parts.append(svg.text((plot.right + 6, y + 32), "dots: counted", svg.NOTE))
    parts += _x_axis(plot, ticks(plot.x_span[1], low=plot.x_span[0], most=8), shown.axis)
    said = f"{shown.title}: from {shown.rate[0]:.1f} to {shown.rate[-1]:.1f} breaks per 1000 spindle-hours."
    return svg.figure((WIDTH, height), said, parts)
