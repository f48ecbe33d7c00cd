"""A doff to be played: every solved place as short whole numbers, and the balloon's shape at a grid of them."""

from __future__ import annotations

from typing import Any

import numpy as np

from ringwright.mill import Mill
from ringwright.physics.outcome import Outcome
from ringwright.physics.position import solve
from ringwright.physics.real import Array
from ringwright.setting.choice import Trial
from ringwright.setting.doff import Doff, solve_doff
from ringwright.setting.problem import cop_shape, positions, wall
from ringwright.workbench.solving import Line, lines

__all__ = ["POINTS", "play_of"]

POINTS = 25
"""Points of each balloon, even in depth from guide to traveller."""
SHAPES_EVERY_STROKE, SHAPES_EVERY_PLACE = 5, 4
_TENTH_MM, _TENTH_CN, _RPM = 1e4, 1e3, 30 / np.pi


def play_of(mill: Mill, frame: str, yarn: str, trial: Trial) -> dict[str, Any]:
    """Solve a doff and pack it: lengths in tenths of a mm, tensions in tenths of a cN, time in s, angles in mrad.

    A place without a steady balloon has None. ``grid`` gives strokes sampled and places in each; the runs of places
    follow it, stroke by stroke. ``shapes`` are the balloons at every fifth stroke and every fourth place.
    """
    doff = solve_doff(mill, frame, yarn, trial)
    share = mill.limits.get("strength_share")
    limit = None if share is None else share.value * doff.choice.yarn.strength
    row, p, f = doff.places_per_stroke, doff.places, doff.forces
    return {
        "grid": [len(p) // row, row],
        "phase": [round(float(v), 5) for v in p.phase[:row]],
        "time": _whole(p.time, 10.0),
        "share": [round(float(v), 5) for v in p.share[::row]],
        "strokes": doff.problem.strokes,
        "doff_time": doff.problem.doff_time,
        "content": 1e3 * doff.problem.content,
        "limit": None if limit is None else _TENTH_CN * limit,
        "foot": _whole(p.foot_height[::row], _TENTH_MM),
        "ring": _whole(p.ring_height, _TENTH_MM),
        "guide": _whole(p.guide_height, _TENTH_MM),
        "control": _whole(p.control_ring_height, _TENTH_MM),
        "wound": _whole(p.winding_diameter, _TENTH_MM),
        "rpm": _whole(p.spindle_speed, _RPM),
        "winding": _whole(f.winding_tension, _TENTH_CN),
        "below": _whole(f.guide_tension, _TENTH_CN),
        "triangle": _whole(f.triangle_most, _TENTH_CN),
        "radius": _whole(f.largest_radius, _TENTH_MM),
        "press": _whole(f.control_ring_force, _TENTH_CN),
        "unsteady": int(np.sum(f.outcome != Outcome.STEADY)),
        "notes": list(doff.notes),
        "frame": _frame(doff),
        "shapes": _shapes(doff),
    }


def _whole(values: Array, factor: float) -> list[int | None]:
    return [None if np.isnan(v) else round(float(v) * factor) for v in values]


def _frame(doff: Doff) -> dict[str, Any]:
    """Give what stands still, in tenths of a mm."""
    frame, shape = doff.choice.frame, cop_shape(doff.choice.frame)
    measures = {
        "ring": frame.ring.diameter,
        "control": 0.0 if frame.control_ring is None else frame.control_ring.diameter,
        "wall": wall(frame),
        "tube_foot": -frame.tube.bare_bottom,
        "tube_tip": frame.tube.length - frame.tube.bare_bottom,
        "tube_bottom": frame.tube.bottom_diameter,
        "tube_top": frame.tube.top_diameter,
        "cop": shape.cop_diameter,
        "base": shape.base_height,
        "chase": shape.chase,
        "lift": shape.lift,
        "foot_diameter": shape.tube_foot_diameter,
        "top_diameter": shape.tube_top_diameter,
    }
    told = {name: round(_TENTH_MM * value, 1) for name, value in measures.items()}
    return {**told, "plates": frame.separators.fitted}


def _shapes(doff: Doff) -> dict[str, Any]:
    strokes, row = len(doff.places) // doff.places_per_stroke, doff.places_per_stroke
    at_strokes = np.unique(np.append(np.arange(0, strokes, SHAPES_EVERY_STROKE), strokes - 1))
    at_places = np.unique(np.append(np.arange(0, row, SHAPES_EVERY_PLACE), row - 1))
    index = (at_strokes[:, None] * row + at_places[None, :]).ravel()
    asked = positions(doff.choice, doff.places.take(index))
    drawn = [_shape(line) for line in lines(asked, solve(asked))]
    return {"strokes": at_strokes.tolist(), "places": at_places.tolist(), "lines": drawn}


def _shape(line: Line | None) -> list[list[int]] | None:
    """Give radius and azimuth at even depths."""
    if line is None:
        return None
    depth = np.linspace(0.0, float(line.depth[-1]), POINTS)
    radius, azimuth = np.interp(depth, line.depth, line.radius), np.interp(depth, line.depth, line.azimuth)
    return [[round(float(v) * _TENTH_MM) for v in radius], [round(float(v) * 1e3) for v in azimuth]]
