"""Tension through the doff as a chart of characters, legible without colour."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ringwright.report.chart import ticks
from ringwright.report.number import digits, in_unit
from ringwright.report.tension_chart import TensionCourse, TensionFigure

__all__ = ["terminal_tension"]

ROWS, AXIS, MARGIN = 15, 6, 14
HATCH, EDGE_UPPER, EDGE_LOWER, BAND, GUIDE, UNSTEADY, PEAK_B = "/", "▀", "▄", "░", "·", "x", "o"


def terminal_tension(shown: TensionFigure, columns: int) -> list[str]:
    """Draw the winding tension's band with its heavy upper edge, the guide as dots, the limit as hatching."""
    across = columns - AXIS - MARGIN
    a = shown.a
    limit = in_unit(shown.limit, "cN") if shown.limit is not None else math.inf
    peaks = [*a.winding_high, *(shown.b.winding_high if shown.b else ())]
    highest = max((in_unit(v, "cN") for v in peaks if math.isfinite(v)), default=1.0)
    top = max(1.1 * limit, 1.08 * highest) if limit < 2.2 * highest else 1.15 * highest
    grid = _cells(shown, across, top)
    lines = [_axis_line(row, top, limit, cells) for row, cells in enumerate(grid)]
    last = a.time[-1] / 60.0
    words = f"0{'':<{across - 12}}{digits(last, 1.0):>5} minutes"
    lines += [f"{'0':>{AXIS - 1}} " + "-" * across, " " * AXIS + words]
    lines.append("▀ ▄ highest and ░ range of winding tension in each stroke, · at the lappet")
    if limit < math.inf:
        name = shown.limit_name.replace("\n", " ")
        lines.append(f"/ the limit, {digits(limit, 1.0)} cN: {name}" + ("" if top > limit else "; above this chart"))
    if shown.b:
        lines.append(f"o highest winding tension of {shown.b.name}")
    if any(not math.isfinite(v) for v in a.winding_high):
        lines.append("x no steady balloon")
    if shown.speed:
        corners = zip(shown.speed.time, shown.speed.speed, strict=True)
        told = [f"{digits(in_unit(v, 'rpm'), 10.0)} at minute {digits(t / 60.0, 1.0)}" for t, v in corners]
        lines.append(f"spindle speed, rpm: {', '.join(told)}")
    return lines


def _cells(shown: TensionFigure, across: int, top: float) -> list[list[str]]:
    grid = [[" " for _ in range(across)] for _ in range(ROWS)]
    for column in range(across):
        time = shown.a.time[-1] * (column + 0.5) / across
        if time >= shown.a.time[0]:
            k = _nearest(shown.a.time, time)
            _column(grid, column, [in_unit(run[k], "cN") / top for run in _runs(shown.a)])
        if shown.b and shown.b.time[0] <= time <= shown.b.time[-1]:
            peak = in_unit(shown.b.winding_high[_nearest(shown.b.time, time)], "cN") / top
            if math.isfinite(peak):
                grid[_row(peak)][column] = PEAK_B
    return grid


def _nearest(times: Sequence[float], time: float) -> int:
    return min(range(len(times)), key=lambda k: abs(times[k] - time))


def _runs(a: TensionCourse) -> tuple[Sequence[float], ...]:
    return (a.winding_low, a.winding_high, a.guide_low, a.guide_high)


def _column(grid: list[list[str]], column: int, shares: list[float]) -> None:
    low, high, *guide = shares
    if not all(math.isfinite(v) for v in shares):
        grid[ROWS - 1][column] = UNSTEADY
        return
    for row in range(_row(high), _row(low) + 1):
        grid[row][column] = BAND
    for value in guide:
        grid[_row(value)][column] = GUIDE
    part = (1.0 - high) * ROWS - _row(high)
    grid[_row(high)][column] = EDGE_UPPER if part < 0.5 else EDGE_LOWER


def _row(share: float) -> int:
    return min(ROWS - 1, max(0, math.floor((1.0 - share) * ROWS)))


def _axis_line(row: int, top: float, limit: float, cells: Sequence[str]) -> str:
    upper, lower = top * (1.0 - row / ROWS), top * (1.0 - (row + 1) / ROWS)
    if lower >= limit or lower < limit <= upper:
        label = digits(limit, 1.0) if lower < limit <= upper else ""
        return f"{label:>{AXIS - 1}} " + "".join(HATCH if cell == " " else cell for cell in cells)
    marked = [v for v in ticks(top) if lower < v <= upper and 0 < v < 0.9 * limit]
    label = digits(marked[0], 1.0) if marked else ""
    return f"{label:>{AXIS - 1}} " + "".join(cells)
