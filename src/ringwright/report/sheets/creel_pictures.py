"""Figures of the creel: tension from full to empty between its walls, the band of the brake, the week's renewals."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from ringwright.creel.unwound import Unwound
from ringwright.creel.week import Week
from ringwright.report import svg
from ringwright.report.chart import EndLabel, Plot, end_labels, grid, heading, middle, right, ticks
from ringwright.report.number import digits, in_unit
from ringwright.report.svg import Face, Pen

__all__ = ["brake_figure", "tension_figure", "week_figure"]

WIDTH = 640.0
STEADY = Pen(colour=svg.WOAD, width=2.4, cap="round")
LIMITED = Face(size=11.7, narrow=True, colour=svg.INK2)


def tension_figure(found: Unwound) -> str:
    """Draw tension (cN) over the roving left on the bobbin, from full to empty, between overrun and false draft."""
    share = [100 * (1 - float(one)) for one in found.share]
    rows = {
        name: [100 * float(one) for one in getattr(found, name)] for name in ("steady", "highest", "lowest", "least")
    }
    wall = 100 * found.supply.frame.creel.cohesion_share * found.weak
    most = max(rows["highest"])
    top = 1.15 * (max(most, wall) if wall <= 2.2 * most else most)
    plot = Plot(left=44, right=WIDTH - 190, top=34, bottom=252, x_span=(0, 100), y_span=(0, top))
    parts = heading("Tension of the roving at the back rollers, from full bobbin to empty", "cN")
    upper, lower = plot.points(share, rows["highest"]), plot.points(share, rows["lowest"])
    parts.append(svg.band(lower, upper, svg.WOADWASH))
    labels = [EndLabel(y=lower[-1][1], words="lowest of the jerks", colour=svg.INK2)]
    if wall < top:
        y = plot.y(wall)
        parts += [
            svg.hatch((plot.left, plot.top), (plot.right - plot.left, y - plot.top), svg.WALL_HATCH, spacing=5.0),
            svg.line((plot.left, y), (plot.right, y), svg.WALL),
        ]  # fmt: skip
        labels.append(EndLabel(y=y, words=f"false draft from {digits(wall, 1.0)} on", colour=svg.INK2))
    least = plot.points(share, rows["least"])
    parts += [_under(plot, rows["least"]), svg.polyline(least, svg.WALL)]
    labels.append(EndLabel(y=least[-1][1] + 8, words="below: runs on", colour=svg.INK2))
    parts += grid(plot, ticks(top))
    steady = plot.points(share, rows["steady"])
    parts += [svg.polyline(upper, Pen(colour=svg.WOAD, width=1.4)), svg.polyline(steady, STEADY)]
    labels += [
        EndLabel(y=steady[-1][1], words="even running", colour=svg.WOAD, weight=600),
        EndLabel(y=upper[-1][1], words="highest, start or jerks", colour=svg.WOAD),
    ]
    parts += _axis(plot, "% drawn off") + end_labels(plot.right + 8, _above(labels, plot.bottom - 6))
    said = (
        f"Even running rises from {digits(rows['steady'][0], 0.1)} cN at the full bobbin to "
        f"{digits(rows['steady'][-1], 0.1)} cN at the empty one; the highest is {digits(most, 0.1)} cN."
    )
    return svg.figure((WIDTH, 290.0), said, parts)


def _above(labels: Sequence[EndLabel], bottom: float) -> list[EndLabel]:
    """Lift labels so that, moved apart, none hangs below a height."""
    lowest_first = sorted(labels, key=lambda one: -one.y)
    return [replace(one, y=min(one.y, bottom - 13.5 * k)) for k, one in enumerate(lowest_first)]


def _under(plot: Plot, least: Sequence[float]) -> str:
    """Hatch below the least tension: where the bobbin runs on."""
    depth = plot.bottom - plot.y(min(least))
    if depth < 2:
        return ""
    return svg.hatch((plot.left, plot.bottom - depth), (plot.right - plot.left, depth), svg.WALL_HATCH, spacing=5.0)


def _axis(plot: Plot, words: str) -> list[str]:
    low, high = plot.x_span
    values = ticks(high, low=low, most=6)
    parts = [svg.line((plot.left, plot.bottom), (plot.right, plot.bottom), svg.THIN)]
    for value in values:
        x = plot.x(value)
        parts.append(svg.line((x, plot.bottom), (x, plot.bottom + 4), svg.THIN))
        parts.append(svg.text((x, plot.bottom + 16), digits(value, values[1] - values[0]), middle(svg.TICK)))
    return [*parts, svg.text((plot.right + 20, plot.bottom + 16), words, svg.TICK)]


def brake_figure(found: Unwound) -> str:
    """Draw the band of the brake (mN m), hatched where the bobbin runs on or the roving is drawn, and the brake."""
    band, brake = found.band, in_unit(found.brake, "mN m")
    low = in_unit(band.lowest, "mN m")
    high = None if band.highest is None else in_unit(band.highest, "mN m")
    top = 1.25 * max(low, brake, high or 0.0, 0.2)
    plot = Plot(left=20, right=WIDTH - 60, top=40, bottom=74, x_span=(0, top), y_span=(0, 1))
    height = plot.bottom - plot.top
    ends = [(0.0, low), (0.0 if high is None else high, top)]
    parts = heading("Brake on the hanging bobbin", "mN m")
    parts.append(svg.rectangle((plot.left, plot.top), (plot.right - plot.left, height), Pen(width=0.8, fill=svg.PAPER)))
    for start, end in ends:
        x = plot.x(start)
        if plot.x(end) - x > 1:
            parts.append(svg.hatch((x, plot.top), (plot.x(end) - x, height), svg.WALL_HATCH, spacing=5.0))
            parts += [
                svg.line((plot.x(v), plot.top), (plot.x(v), plot.bottom), svg.WALL) for v in (start, end) if 0 < v < top
            ]
    x = plot.x(brake)
    parts += [
        svg.line((x, plot.top - 8), (x, plot.bottom + 8), Pen(colour=svg.WOAD, width=3)),
        svg.text((x, plot.top - 12), f"as set or tried {digits(brake, 0.01)}", _placed(x)),
        *_axis(plot, "mN m"),
    ]
    parts += [svg.text((plot.left, 112), f"left: {band.lowest_by}", LIMITED)] if low > 0 else []
    parts.append(svg.text((plot.right, 112), f"right: {band.highest_by}", right(LIMITED)))
    said = f"The brake is {digits(brake, 0.01)} mN m; its band runs from {digits(low, 0.01)} to " + (
        "nowhere, as the roving is drawn too far without any." if high is None else f"{digits(high, 0.01)} mN m."
    )
    return svg.figure((WIDTH, 120.0), said, parts)


def _placed(x: float) -> Face:
    """Set words beside the mark so that they stay on the figure."""
    face = Face(size=12.5, weight=600, colour=svg.WOAD)
    if x < 90:
        return face
    return right(face) if x > WIDTH - 160 else middle(face)


def week_figure(found: Week) -> str:
    """Draw the week: each frame's renewals as bars from due to done, and the hands' time taken in each shift."""
    hours = found.log.horizon / 3600
    rows = len(found.frames)
    plot = Plot(left=52, right=WIDTH - 84, top=36, bottom=36 + 30.0 * rows, x_span=(0, hours), y_span=(0, rows))
    parts = heading(
        "Renewals through the week, each bar from when they are due to when the last bobbin hangs", "by frame"
    )
    for k, frame in enumerate(found.frames):
        name = frame.plan.supply.frame.name
        y = plot.top + 30.0 * k
        parts += [svg.line((plot.left, y + 26), (plot.right, y + 26), svg.GRID), svg.text((0, y + 18), name, svg.NAME)]
        for job in (one for one in found.log.jobs if one.frame == name):
            end = hours if math.isnan(job.done) else job.done / 3600
            x = plot.x(job.due / 3600)
            width = max(plot.x(end) - x, 0.8)
            late = Pen(colour=svg.MADDER, width=1.0)
            parts.append(
                svg.rectangle((x, y + 4), (width, 20.0), late) if job.empty else svg.filled(
                    ((x, y + 8), (x + width, y + 8), (x + width, y + 22), (x, y + 22)), svg.WOAD)
            )  # fmt: skip
    return svg.figure((WIDTH, plot.bottom + 168), _week_said(found), [*parts, *_days(plot), *_load(found, plot)])


def _days(plot: Plot) -> list[str]:
    parts = []
    for day in range(math.ceil(plot.x_span[1] / 24)):
        x = plot.x(24.0 * day)
        parts += [
            svg.line((x, plot.top), (x, plot.bottom), svg.GRID),
            svg.text((x + 3, plot.bottom + 14), f"day {day + 1}", svg.TICK),
        ]
    return parts


def _load(found: Week, above: Plot) -> list[str]:
    """Draw the share of the hands' time that creeling took, by shift, under the renewals."""
    length = found.shift_length / 3600
    loads = [100 * one.work / one.available if one.available else 0.0 for one in found.shifts]
    plot = Plot(left=above.left, right=above.right, top=above.bottom + 52, bottom=above.bottom + 146,
                x_span=above.x_span, y_span=(0, 110))  # fmt: skip
    parts = [
        svg.text((0, plot.top - 14), "Time of the creelers taken, by shift, %", Face(size=14.0, weight=600)),
        *grid(plot, [0, 50, 100]),
    ]
    for k, (load, shift) in enumerate(zip(loads, found.shifts, strict=True)):
        left, end = plot.x(k * length), plot.x(min((k + 1) * length, plot.x_span[1]))
        corner, size = (left + 1.5, plot.y(load)), (max(end - left - 3, 0.5), plot.bottom - plot.y(load))
        parts.append(svg.rectangle(corner, size, Pen(colour=svg.WOAD, width=1.0, fill=svg.WOADWASH)))
        if shift.empty:
            parts.append(
                svg.text((left + 3, plot.bottom - 4), str(shift.empty), Face(size=11.7, weight=600, colour=svg.MADDER))
            )
    note = "hollow bars and figures: bobbins that ran empty first"
    return [*parts, svg.text((plot.left, plot.bottom + 18), note, Face(size=11.7, colour=svg.MADDER, narrow=True))]


def _week_said(found: Week) -> str:
    renewed, empty = (sum(getattr(one, name) for one in found.frames) for name in ("renewed", "empty"))
    return f"In the week {renewed} bobbins are renewed; {empty} ran empty before their turn."
