"""Figures of the drive: speed along the frame between its walls, and slip margin and energy over the wharve."""

from __future__ import annotations

import numpy as np

from ringwright.drive.layout import belts_of
from ringwright.drive.whole import DriveTold
from ringwright.report import svg
from ringwright.report.chart import EndLabel, Plot, end_labels, grid, heading, middle, ticks
from ringwright.report.number import digits
from ringwright.report.svg import Face, Pen
from ringwright.units import chosen, in_unit, show

__all__ = ["speed_figure", "wharve_figure"]

WIDTH = 640.0
MODEL = Pen(colour=svg.WOAD, width=2.2, cap="round")
CAUGHT = Pen(colour=svg.INK, width=1.4, fill=svg.PAPER)
NAMED = Face(size=11.7, weight=600, narrow=True)


def speed_figure(told: DriveTold) -> str:
    """Draw the speed of every spindle against the mean (%), the allowance as walls, readings as dots, slow ones ringed.

    One strip for each side of the frame, spindle numbers below it.
    """
    frame, allowed = told.frame, 100 * told.spread.allowance
    off = 100 * (told.driven.speed / told.driven.speed.mean() - 1)
    read = None if told.read is None else 100 * np.expm1(told.read.study.off)
    seen = off if read is None or not np.isfinite(read).all() else np.concatenate((off, off.min() + read))
    span = min(-1.35 * allowed, 1.15 * float(seen.min())), max(1.35 * allowed, 1.15 * float(seen.max()))
    sides, places = int(frame.sides), int(frame.spindles) // int(frame.sides)
    parts = heading("Speed of the spindles against their mean", "%")
    height = 24.0
    for side in range(sides):
        plot = Plot(
            left=44, right=WIDTH - 108, top=height + 12, bottom=height + 152,
            x_span=(side * places + 1, (side + 1) * places), y_span=span,
        )  # fmt: skip
        parts += _strip(told, plot, allowed, off, side)
        height += 186
    said = (
        f"The model runs from {digits(float(off.min()), 0.01)} % to {digits(float(off.max()), 0.01)} % against the "
        f"mean, within walls at {digits(allowed, 0.1)} % either way."
    )
    return svg.figure((WIDTH, height + 6), said, parts)


def _strip(told: DriveTold, plot: Plot, allowed: float, off: np.ndarray, side: int) -> list[str]:
    low, high = (plot.y(one) for one in (-allowed, allowed))
    width = plot.right - plot.left
    parts = [
        svg.hatch((plot.left, plot.top), (width, high - plot.top), svg.WALL_HATCH, spacing=5.0),
        svg.line((plot.left, high), (plot.right, high), svg.WALL),
        svg.hatch((plot.left, low), (width, plot.bottom - low), svg.WALL_HATCH, spacing=5.0),
        svg.line((plot.left, low), (plot.right, low), svg.WALL),
        *grid(plot, [-allowed, 0.0, allowed]),
    ]  # fmt: skip
    first, last = int(plot.x_span[0]), int(plot.x_span[1])
    numbers = np.arange(first, last + 1)
    caught, dots = _readings(told, plot, first, last)
    parts += dots
    for path in belts_of(told.frame) or (np.arange(len(off)),):
        here = np.sort(path[(path >= first - 1) & (path < last)])
        if len(here):
            # The ends of each belt's piece are drawn as wide as its spindles, so that a tape of one spindle shows.
            xs = [here[0] + 0.5, *(here + 1.0), here[-1] + 1.5]
            ys = [off[here[0]], *off[here], off[here[-1]]]
            ends = [(min(max(x, plot.x_span[0]), plot.x_span[1]), y) for x, y in zip(xs, ys, strict=True)]
            parts.append(svg.polyline([(plot.x(x), plot.y(y)) for x, y in ends], MODEL))
    at_end = float(off[numbers[-1] - 1])
    labels = [
        EndLabel(y=high, words="too much twist", colour=svg.INK2), EndLabel(y=low, words="too little", colour=svg.INK2),
        EndLabel(y=plot.y(at_end), words="model", colour=svg.WOAD, weight=600),
    ]  # fmt: skip
    return [*parts, *caught, *end_labels(plot.right + 8, labels), *_numbers(plot, side)]


def _readings(told: DriveTold, plot: Plot, first: int, last: int) -> tuple[list[str], list[str]]:
    """Give the rings round the spindles named, and the dots of all that were read."""
    if told.read is None or not np.isfinite(told.read.study.off).all():
        return [], []
    study = told.read.study
    model = 100 * (told.driven.speed[study.spindles - 1] / told.driven.speed.mean() - 1)
    ys = model + 100 * np.expm1(study.off)
    here = (study.spindles >= first) & (study.spindles <= last)
    dots = [svg.dot((plot.x(float(x)), plot.y(float(y))), 1.3, svg.LINE)
            for x, y in zip(study.spindles[here], ys[here], strict=True)]  # fmt: skip
    at = dict(zip(study.spindles.tolist(), ys.tolist(), strict=True))
    rings = []
    for found in study.answer.findings:
        mine = [k for k in found.spindles if first <= k <= last and k in at]
        if not mine or len(mine) > 12:
            continue
        rings += [svg.circle((plot.x(k), plot.y(at[k])), 5.0, CAUGHT) for k in mine]
        rings += [svg.dot((plot.x(k), plot.y(at[k])), 1.6) for k in mine]
        middle_of = plot.x(sum(mine) / len(mine))
        name = f"{mine[0]}" if len(mine) == 1 else f"{mine[0]} to {mine[-1]}"
        wide, level, ends = 6.2 * len(name) + 6, plot.y(min(at[k] for k in mine)), middle_of > plot.right - 80
        left = middle_of - 10 - wide if ends else middle_of + 8
        rings.append(svg.rectangle((left, level - 8), (wide, 16), Pen(width=0.0, colour=svg.PAPER, fill=svg.PAPER)))
        rings.append(svg.text((left + 3, level + 4), name, NAMED))
    return rings, dots


def _numbers(plot: Plot, side: int) -> list[str]:
    low, high = plot.x_span
    values = [low, *(v for v in ticks(high, low=low, most=6) if (v - low) / (high - low) > 0.06)]
    parts = [svg.line((plot.left, plot.bottom), (plot.right, plot.bottom), svg.THIN)]
    for value in values:
        x = plot.x(value)
        parts.append(svg.line((x, plot.bottom), (x, plot.bottom + 4), svg.THIN))
        parts.append(svg.text((x, plot.bottom + 16), digits(value, 1.0), middle(svg.TICK)))
    return [*parts, svg.text((plot.right + 22, plot.bottom + 16), f"spindle, side {side + 1}", svg.TICK)]


def wharve_figure(told: DriveTold) -> str:
    """Draw the least pull in hand, and below it the drive's own energy, over the wharve's diameter."""
    runs = [one for one in told.wharves if one.driven is not None]
    unit = chosen("mm")
    xs = [in_unit(one.diameter, "length", unit) for one in runs]
    margins = [one.margin for one in runs]
    energy = [one.driven.drive_energy / 3.6e3 for one in runs if one.driven]
    least = told.frame.drive.wharves.slip_margin
    edge = in_unit(0.4e-3, "length", unit)
    span = (min(xs) - edge, max(xs) + edge)
    top = Plot(left=44, right=WIDTH - 150, top=24, bottom=168, x_span=span, y_span=(0, 1.15 * max(*margins, least)))
    low = Plot(left=44, right=WIDTH - 150, top=222, bottom=340, x_span=span, y_span=(0, 1.2 * max(energy)))
    wall = top.y(least)
    parts = [
        *heading("Least pull in hand at a wharve", "times the pull wanted"), *grid(top, ticks(top.y_span[1])),
        svg.hatch((top.left, wall), (top.right - top.left, top.bottom - wall), svg.WALL_HATCH, spacing=5.0),
        svg.line((top.left, wall), (top.right, wall), svg.WALL),
        svg.text((0, 211), "Energy that the drive itself takes, Wh for each kg of yarn", Face(size=14.0, weight=600)),
        *grid(low, ticks(low.y_span[1])),
    ]  # fmt: skip
    set_at = in_unit(told.frame.spindle.wharve_diameter, "length", unit)
    for plot, ys in ((top, margins), (low, energy)):
        parts.append(svg.polyline(plot.points(xs, ys), MODEL))
        for x, y in zip(xs, ys, strict=True):
            here = abs(x - set_at) < 1e-6
            parts.append(svg.dot((plot.x(x), plot.y(y)), 4.4 if here else 2.4, svg.WOAD))
            if here:
                parts.append(svg.text((plot.x(x), plot.y(y) - 9), "as here", middle(NAMED)))
    parts += end_labels(
        top.right + 8,
        [EndLabel(y=wall, words=f"under {digits(least, 0.1)}: may slip", colour=svg.INK2),
         EndLabel(y=top.y(margins[-1]), words="pull in hand", colour=svg.WOAD, weight=600)],
    )  # fmt: skip
    parts += end_labels(low.right + 8, [EndLabel(y=low.y(energy[-1]), words="drive", colour=svg.WOAD, weight=600)])
    parts += [svg.line((low.left, low.bottom), (low.right, low.bottom), svg.THIN)]
    for x in xs:
        parts.append(svg.line((low.x(x), low.bottom), (low.x(x), low.bottom + 4), svg.THIN))
        step = (1.0 if abs(x - round(x)) < 1e-6 else 0.1) if unit == "mm" else 0.001
        parts.append(svg.text((low.x(x), low.bottom + 16), digits(x, step), middle(svg.TICK)))
    parts.append(svg.text((low.right + 8, low.bottom + 16), f"{unit} wharve", svg.TICK))
    sizes = [show(one.diameter, "length", "mm", 1) for one in runs]
    said = (
        f"The least pull in hand goes from {digits(margins[0], 0.01)} times at {sizes[0]} to "
        f"{digits(margins[-1], 0.01)} at {sizes[-1]}, the drive's energy from {digits(energy[0], 0.1)} to "
        f"{digits(energy[-1], 0.1)} Wh/kg."
    )
    return svg.figure((WIDTH, 366.0), said, parts)
