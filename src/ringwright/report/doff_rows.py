"""A solved doff as plain rows with the unit in each name: what ``--json`` prints and ``--csv`` writes."""

from __future__ import annotations

import csv
import io
import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ringwright.physics import Outcome
from ringwright.setting.doff import Doff

__all__ = ["doff_csv", "doff_json", "place_columns"]

_RPM = 60.0 / (2.0 * math.pi)
_MM, _CN, _MINUTES = 1000.0, 100.0, 1.0 / 60.0


def place_columns(doff: Doff) -> dict[str, list[Any]]:
    """Give every place of the doff, a list for each column; None where there is no steady balloon."""
    p, f = doff.places, doff.forces
    numbers: dict[str, NDArray[np.float64]] = {
        "minute": p.time * _MINUTES,
        "share_of_yarn": p.share,
        "phase_of_stroke": p.phase,
        "ring_rail_height_mm": p.ring_height * _MM,
        "guide_height_mm": p.guide_height * _MM,
        "control_ring_height_mm": p.control_ring_height * _MM,
        "balloon_height_mm": p.balloon_height * _MM,
        "winding_diameter_mm": p.winding_diameter * _MM,
        "spindle_speed_rpm": p.spindle_speed * _RPM,
        "traveller_lag_rpm": p.traveller_lag * _RPM,
        "missing_twist_t_per_m": p.missing_twist,
        "yarn_speed_m_per_min": p.yarn_speed * 60.0,
        "triangle_tension_cN": f.triangle_tension * _CN,
        "triangle_tension_least_cN": f.triangle_least * _CN,
        "triangle_tension_most_cN": f.triangle_most * _CN,
        "guide_tension_cN": f.guide_tension * _CN,
        "ring_tension_cN": f.ring_tension * _CN,
        "winding_tension_cN": f.winding_tension * _CN,
        "largest_radius_mm": f.largest_radius * _MM,
        "separator_room_mm": f.separator_room * _MM,
        "lag_deg": np.degrees(f.lag_angle),
        "control_ring_force_cN": f.control_ring_force * _CN,
        "ring_force_cN": f.ring_force * _CN,
        "traveller_heat_W": f.traveller_heat,
    }
    columns: dict[str, list[Any]] = {"stroke": (p.stroke + 1).tolist()}
    columns |= {name: [None if math.isnan(v) else v for v in values.tolist()] for name, values in numbers.items()}
    columns["outcome"] = [Outcome(code).word for code in f.outcome.tolist()]
    return columns


def doff_json(doff: Doff) -> dict[str, Any]:
    """Give the doff's totals, its envelope a stroke, its places and its notes."""
    problem = doff.problem
    low_high = {
        name: doff.envelope(values * _CN)
        for name, values in (
            ("winding_tension_cN", doff.forces.winding_tension),
            ("guide_tension_cN", doff.forces.guide_tension),
            ("triangle_tension_cN", doff.forces.triangle_tension),
        )
    }
    columns = place_columns(doff)
    return {
        "frame": doff.choice.frame.name,
        "yarn": doff.choice.yarn.name,
        "traveller_mg": float(doff.choice.traveller.mass * 1e6),
        "content_g": float(problem.content * 1000.0),
        "doff_time_min": float(problem.doff_time * _MINUTES),
        "strokes": float(problem.strokes),
        "yarn_length_m": float(problem.yarn_length),
        "mean_spindle_speed_rpm": float(doff.mean_spindle_speed * _RPM),
        "notes": list(doff.notes),
        "strokes_sampled": {
            "minute": (doff.stroke_time * _MINUTES).tolist(),
            **{f"{name}_least": _plain(e.least) for name, e in low_high.items()},
            **{f"{name}_most": _plain(e.most) for name, e in low_high.items()},
        },
        "places": [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)],
    }


def _plain(values: NDArray[np.float64]) -> list[float | None]:
    return [None if math.isnan(v) else v for v in values.tolist()]


def doff_csv(doff: Doff) -> str:
    """Write the places of the doff as CSV, the unit in each heading; empty where there is no steady balloon."""
    columns = place_columns(doff)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    for row in zip(*columns.values(), strict=True):
        writer.writerow("" if v is None else f"{v:.6g}" if isinstance(v, float) else v for v in row)
    return out.getvalue()
