"""Figures of energy and money: power by part through the doff, and the cost of a kilogram over speed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ringwright.economy import EconomicSpeed, Energy
from ringwright.report import svg
from ringwright.report.chart import EndLabel, Plot, end_labels, grid, heading, middle, minute_axis, ticks
from ringwright.report.number import digits, in_unit
from ringwright.report.svg import Face, Pen
from ringwright.setting.doff import Doff

__all__ = ["cost_chart", "power_chart"]

SIZE = (640.0, 320.0)
SHADES = ("#17509A", "#5C86BE", "#A9C1E0", "#DBE7F5", "#C9D2CE", "#9DABA6", "#7C8A86", "#B9C2BE", "#E8EDEA")


def power_chart(doff: Doff, energy: Energy) -> str:
    """Draw the power of one spindle (W) by part against minutes, stacked, the mean of each stroke."""
    rows = {name: part.reshape(-1, doff.places_per_stroke).mean(axis=1) for name, part in energy.parts.items()}
    time = [float(t) for t in doff.stroke_time]
    total = sum(rows.values())
    top = 1.08 * float(np.max(total))
    plot = Plot(left=40, right=SIZE[0] - 170, top=32, bottom=SIZE[1] - 22, x_span=(0.0, time[-1]), y_span=(0.0, top))
    parts, labels, below = heading("Power of one spindle through the doff", "W"), [], np.zeros(len(time))
    for (name, row), shade in zip(rows.items(), SHADES, strict=True):
        above = below + row
        lower, upper = (plot.points(time, [float(v) for v in edge]) for edge in (below, above))
        parts += [svg.band(lower, upper, shade), svg.polyline(upper, Pen(colour=svg.PAPER, width=0.6))]
        words = f"{name}, {digits(energy.means[name], 0.1)}"
        labels.append(EndLabel(y=(lower[-1][1] + upper[-1][1]) / 2, words=words))
        below = above
    parts += grid(plot, ticks(top)) + minute_axis(plot) + end_labels(plot.right + 8, labels)
    said = f"Power of one spindle through the doff: {digits(sum(energy.means.values()), 0.1)} W in the mean."
    return svg.figure(SIZE, said, parts)


def cost_chart(found: EconomicSpeed, currency: str) -> str:
    """Draw the cost of a kilogram by part against main speed, with the setting and the speed that pays best."""
    speeds = [in_unit(v, "rpm") for v in found.speeds]
    runs = {
        "total": [c.total for c in found.costs],
        "spindle's hour": [c.spindle for c in found.costs],
        "energy": [c.energy for c in found.costs],
        "piecing": [c.piecing for c in found.costs],
        "roving lost": [c.waste for c in found.costs],
    }
    top = min(1.08 * max(runs["total"]), 2.5 * found.best.total)
    plot = Plot(
        left=48, right=SIZE[0] - 110, top=32, bottom=SIZE[1] - 38, x_span=(speeds[0], speeds[-1]), y_span=(0, top)
    )
    parts = heading("Cost of 1 kg of yarn over main speed", currency) + grid(plot, ticks(top)) + _speed_axis(plot)
    labels = []
    for name, values in runs.items():
        seen = [(x, v) for x, v in zip(speeds, values, strict=True) if v <= top]
        points = plot.points([x for x, _ in seen], [v for _, v in seen])
        heavy = name == "total"
        parts.append(svg.polyline(points, Pen(colour=svg.WOAD if heavy else svg.INK2, width=2.4 if heavy else 1.1)))
        if len(seen) < len(values):  # it leaves the plot at the top: its name stands where it does so
            x, y = points[-1]
            face = Face(size=11.7, weight=600 if heavy else 400, narrow=True, anchor="end" if heavy else "start")
            parts.append(svg.text((x - 8 if heavy else x + 8, y + 4), name, face))
            continue
        labels.append(EndLabel(y=points[-1][1], words=name, weight=600 if heavy else 400))
    parts += _mark(plot, found.as_set_speed, found.as_set.total, "as set", below=False)
    parts += _mark(plot, found.best_speed, found.best.total, "pays best", below=True)
    parts += end_labels(plot.right + 8, labels)
    return svg.figure(
        SIZE, f"Cost of a kilogram over speed: best at {digits(in_unit(found.best_speed, 'rpm'), 10)} rpm.", parts
    )


def _mark(plot: Plot, speed: float, cost: float, words: str, *, below: bool) -> list[str]:
    x, y = plot.x(in_unit(speed, "rpm")), plot.y(cost)
    at = (x, y + 18) if below else (x, y - 10)
    return [svg.dot((x, y), 3.5, svg.MADDER), svg.text(at, words, middle(svg.NAME))]


def _speed_axis(plot: Plot) -> list[str]:
    low, high = plot.x_span
    values: Sequence[float] = ticks(high, low=low, most=6)
    parts = [svg.line((plot.left, plot.bottom), (plot.right, plot.bottom), svg.THIN)]
    for value in values:
        x = plot.x(value)
        parts.append(svg.line((x, plot.bottom), (x, plot.bottom + 4), svg.THIN))
        parts.append(svg.text((x, plot.bottom + 16), digits(value, 10.0), middle(svg.TICK)))
    parts.append(svg.text((plot.right + 30, plot.bottom + 16), "rpm", svg.TICK))
    return parts
