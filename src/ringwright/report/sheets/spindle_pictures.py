"""The spindle's pictures: critical speeds through the doff, sweep over speed, and the spindle as it bends."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from ringwright.physics.cop import profile, tube_diameter
from ringwright.physics.real import Array
from ringwright.physics.whirl import Whirl
from ringwright.report import svg
from ringwright.report.chart import (
    EndLabel,
    Plot,
    end_labels,
    grid,
    heading,
    middle,
    minute_axis,
    spread,
    ticks,
    wall_labels,
)
from ringwright.report.number import digits
from ringwright.report.svg import Face, Pen, Point
from ringwright.setting.problem import cop_shape
from ringwright.spindle import SpindleStudy
from ringwright.spindle.building import blade_at, rail_zero, sleeve_at
from ringwright.spindle.study import run_up
from ringwright.units import chosen, in_unit

__all__ = ["bent_figure", "criticals_figure", "sweep_figure"]

WIDTH, HEIGHT = 640.0, 320.0
FULL = Pen(colour=svg.WOAD, width=2.4, cap="round")
EMPTY = Pen(colour=svg.MADDER, width=1.9, dash="6 4")
At = Callable[[float, float, float], Point]
"""Places a point: across and up [m], and the axis that it counts from."""
EDGE = Pen(colour=svg.INK, width=1.4)


def _rpm(values: Array) -> list[float]:
    return [in_unit(float(v), "rotation", "rpm") for v in values]


def criticals_figure(study: SpindleStudy) -> str:
    """Draw critical speeds and the course over the minutes of the doff, with the margin wanted as a band (rpm)."""
    course, margin = study.course, study.rotor.least_margin
    time = [float(t) for t in course.time]
    shown = [k for k in range(2) if np.isfinite(study.criticals[:, k]).all()]
    top = 1.03 * max(max(_rpm(study.criticals[:, k])) for k in shown) / (1 - margin)
    plot = Plot(left=56, right=WIDTH - 136, top=32, bottom=HEIGHT - 24, x_span=(time[0], time[-1]), y_span=(0, top))
    parts, labels = heading("Critical speeds and the spindle's own speed through the doff", "rpm"), []
    for k in shown:
        critical = study.criticals[:, k]
        low, high = (plot.points(time, _rpm(critical / (1 + side * margin))) for side in (1, -1))
        parts += [svg.band(low, high, svg.WASH), svg.polyline(plot.points(time, _rpm(critical)), svg.WALL)]
        words = f"{('first', 'second')[k]} critical speed"
        labels.append(EndLabel(y=plot.y(_rpm(critical)[-1]), words=words))
    parts += grid(plot, ticks(top)) + minute_axis(plot)
    run = plot.points(time, _rpm(course.speed))
    parts.append(svg.polyline(run, FULL))
    labels.append(EndLabel(y=run[-1][1], words="the course", colour=svg.WOAD, weight=600))
    labels.append(EndLabel(y=plot.bottom - 8, words=f"band: {digits(100 * margin, 1)} % wanted", colour=svg.INK2))
    said = "Critical speeds through the doff and the spindle's speed; the numbers stand in the tables"
    return svg.figure((WIDTH, HEIGHT), said, [*parts, *end_labels(plot.right + 8, labels)])


def sweep_figure(study: SpindleStudy) -> str:
    """Draw the sweep of the tube's tip over the spindle's speed, empty tube and full cop."""
    most = 1.15 * float(study.course.speed.max())
    runs = [run_up(study, place, most) for place in (0, len(study.course.time) - 1)]
    unit = chosen("mm")
    limit = in_unit(study.rotor.sweep_most, "length", unit)
    top = 1.15 * max(limit, *(float(in_unit(sweep.max(), "length", unit)) for _, sweep in runs))
    plot = Plot(left=56, right=WIDTH - 136, top=32, bottom=HEIGHT - 38, x_span=(0, in_unit(most, "rotation", "rpm")),
                y_span=(0, top))  # fmt: skip
    y = plot.y(limit)
    parts = heading("Sweep of the tube's tip over the spindle's speed", unit)
    parts += [
        svg.hatch((plot.left, plot.top), (plot.right - plot.left, y - plot.top), svg.WALL_HATCH, spacing=9.0),
        svg.line((plot.left, y), (plot.right, y), svg.WALL),
        *grid(plot, ticks(top)),
        *_speed_axis(plot),
    ]
    labels = wall_labels(plot, limit, "to be looked at\n(at running speed)")
    for (spins, sweep), pen, words in zip(runs, (EMPTY, FULL), ("empty tube", "full cop"), strict=True):
        points = plot.points(_rpm(spins), [float(in_unit(v, "length", unit)) for v in sweep])
        parts += [svg.polyline(points, Pen(colour=svg.PAPER, width=5.0)), svg.polyline(points, pen)]
        labels.append(EndLabel(y=points[-1][1], words=words, colour=pen.colour, weight=600))
    main = plot.x(in_unit(study.choice.setting.main_speed, "rotation", "rpm"))
    parts.append(svg.line((main, plot.top), (main, plot.bottom), svg.CENTRE))
    parts.append(svg.text((main - 4, plot.bottom - 6), "main speed", Face(size=11.7, anchor="end", colour=svg.INK2)))
    said = "Sweep of the tube's tip over speed, empty tube and full cop; the numbers stand in the tables"
    return svg.figure((WIDTH, HEIGHT), said, [*parts, *end_labels(plot.right + 8, labels)])


def _speed_axis(plot: Plot) -> list[str]:
    values = ticks(plot.x_span[1], most=6)
    parts = [svg.line((plot.left, plot.bottom), (plot.right, plot.bottom), svg.THIN)]
    for value in values:
        x = plot.x(value)
        parts.append(svg.line((x, plot.bottom), (x, plot.bottom + 4), svg.THIN))
        parts.append(svg.text((x, plot.bottom + 16), digits(value, 10.0), middle(svg.TICK)))
    parts.append(svg.text((plot.right + 8, plot.bottom + 16), "rpm", svg.TICK))
    return parts


def bent_figure(study: SpindleStudy) -> str:
    """Draw the spindle with its full cop to scale, and beside it how its axis bends in its slowest forward whirls."""
    low, high = -study.rotor.bearing_distance - 0.008, study.spindle.tube_tip + 0.006
    scale, top = 1.15e3, 30.0
    height = top + scale * (high - low) + 30

    def at(across: float, level: float, axis: float) -> Point:
        return axis + scale * across, top + scale * (high - level)

    parts = heading("The spindle to scale, and how its axis bends", "full cop")
    parts += _spindle(study, at, 92.0)
    whirls = [one for one in _forward(study.whirls[1]) if one[0] < 3 * study.choice.setting.main_speed][:2]
    for k, (frequency, decrement, shape) in enumerate(whirls):
        axis = 290.0 + 190.0 * k
        parts += _axis(study, at, axis, shape)
        told = (f"{digits(in_unit(frequency, 'rotation', 'rpm'), 10)} whirls a minute",
                f"decrement {digits(decrement, 0.01)}")  # fmt: skip
        parts += [svg.text((axis - 40, height - 18 + 15 * row), words, svg.NOTE) for row, words in enumerate(told)]
    said = "The spindle to scale with neck and foot, and the shapes of its slowest forward whirls at the main speed"
    return svg.figure((WIDTH, height + 8), said, parts)


def _forward(of: Whirl) -> list[tuple[float, float, Array]]:
    return [
        (float(f), float(d), np.asarray(np.real(shape[::2]), dtype=np.float64))
        for f, d, shape in zip(of.frequency, of.decrement, of.shape, strict=True)
        if f > 0
    ]


def _axis(study: SpindleStudy, at: At, axis: float, shape: Array) -> list[str]:
    heights = study.spindle.shaft.heights
    turned = shape * np.sign(shape[np.argmax(np.abs(shape))])
    points = [at(0.042 * float(v), float(z), axis) for v, z in zip(turned, heights, strict=True)]
    parts = [svg.line(at(0, float(heights[0]), axis), at(0, float(heights[-1]), axis), svg.CENTRE)]
    parts.append(svg.polyline(points, FULL))
    for level, name in ((0.0, "neck"), (float(heights[0]), "foot")):
        parts += [svg.line(at(-0.012, level, axis), at(0.012, level, axis), svg.THIN)]
        parts.append(svg.text((at(0.014, level, axis)[0], at(0, level, axis)[1] + 4), name, svg.NOTE))
    return parts


def _spindle(study: SpindleStudy, at: At, axis: float) -> list[str]:
    rotor, frame = study.rotor, study.choice.frame
    heights, tip = study.spindle.shaft.heights, float(study.spindle.shaft.heights[-1])
    zero, shape = rail_zero(frame.model_copy(update={"rotor": rotor})), cop_shape(frame)
    tube = np.linspace(rotor.neck_depth, study.spindle.tube_tip, 60)
    bare, full = tube_diameter(shape, tube - zero), profile(shape, shape.last_foot, tube - zero)
    outlines: Sequence[tuple[Array, Array, Pen]] = (
        (tube, np.asarray(full), Pen(colour=svg.INK, width=1.15, fill=svg.WASH)),
        (tube, np.asarray(bare), svg.EDGE),
        (heights, sleeve_at(rotor, tip, heights), svg.EDGE),
        (heights, blade_at(rotor, tip, heights), Pen(colour=svg.INK2, width=0.8, fill=svg.PAPER)),
    )
    parts = []
    for levels, across, pen in outlines:
        sides = [[at(side * float(d) / 2, float(z), axis) for d, z in zip(across, levels, strict=True)]
                 for side in (-1, 1)]  # fmt: skip
        parts.append(svg.area([*sides[0], *reversed(sides[1])], pen))
    wharve, half = frame.spindle.wharve_diameter / 2, rotor.wharve_length / 2
    corner, end = at(-wharve, half, axis), at(wharve, -half, axis)
    parts.append(svg.rectangle(corner, (end[0] - corner[0], end[1] - corner[1]), EDGE))
    parts.append(
        svg.line(at(0, -rotor.bearing_distance - 0.004, axis), at(0, study.spindle.tube_tip, axis), svg.CENTRE)
    )
    names = (
        ("cop", float(tube[34]), float(full[34])),
        ("wharve, neck bearing", 0.0, 2 * wharve),
        ("foot step in oil", float(heights[0]), rotor.foot_diameter),
        ("tube", float(tube[-3]), float(bare[-3])),
    )
    beside = spread([at(0, level, axis)[1] for _, level, _ in names], 14.0)
    for (name, level, wide), y in zip(names, beside, strict=True):
        near = at(wide / 2, level, axis)
        parts += [svg.leader([(axis + 36, y), (axis + 30, y), near]), svg.text((axis + 40, y + 4), name, svg.NOTE)]
    return parts
