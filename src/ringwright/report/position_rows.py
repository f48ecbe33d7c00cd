"""Solved positions as plain keys with the unit in the name: what ``ringwright position --json`` prints."""

from __future__ import annotations

from math import isnan, pi
from typing import Any

import numpy as np

from ringwright.physics.outcome import SENTENCES, Outcome
from ringwright.physics.position import LimitMasses, Positions, Solutions

__all__ = ["COLUMNS", "LIMITS", "passed", "rows", "sentence"]

COLUMNS: tuple[tuple[str, str, float], ...] = (
    ("guide_tension_cN", "guide_tension", 100.0),
    ("ring_tension_cN", "ring_tension", 100.0),
    ("winding_tension_cN", "winding_tension", 100.0),
    ("winding_ratio", "winding_ratio", 1.0),
    ("traveller_wrap_deg", "traveller_wrap", 180.0 / pi),
    ("balloon_length_mm", "balloon_length", 1000.0),
    ("largest_radius_mm", "largest_radius", 1000.0),
    ("largest_radius_depth_mm", "largest_radius_depth", 1000.0),
    ("lag_deg", "lag", 180.0 / pi),
    ("ring_force_cN", "ring_force", 100.0),
    ("ring_force_radial_cN", "ring_force_radial", 100.0),
    ("ring_force_axial_cN", "ring_force_axial", 100.0),
    ("guide_angle_deg", "guide_angle", 180.0 / pi),
    ("control_ring_force_cN", "control_ring_force", 100.0),
    ("control_ring_bend_deg", "control_ring_bend", 180.0 / pi),
)
"""Key, field of ``Solutions``, and factor from SI."""
LIMITS: tuple[tuple[str, str], ...] = (
    ("fold_traveller_mass_mg", "fold"),
    ("neck_traveller_mass_mg", "neck"),
    ("lift_off_traveller_mass_mg", "lift_off"),
    ("touch_traveller_mass_mg", "touch"),
)
_MG = 1e6
_STEADY = int(Outcome.STEADY)


def rows(p: Positions, s: Solutions, limits: LimitMasses | None = None) -> list[dict[str, Any]]:
    """Make one plain row a position: results (None where there is none), ``outcome``, ``message``, ``passed``."""
    columns = [(getattr(s, field) * factor).tolist() for _, field, factor in COLUMNS]
    names = [name for name, _, _ in COLUMNS]
    outcomes = s.outcome.tolist()
    table: list[dict[str, Any]] = []
    for i, values in enumerate(zip(*columns, strict=True)):
        outcome = outcomes[i]
        if outcome == _STEADY:
            row: dict[str, Any] = dict(zip(names, values, strict=True))
        else:
            row = dict.fromkeys(names)
        row["outcome"] = Outcome(outcome).word
        row["message"] = sentence(p, s, i)
        row["passed"] = passed(p, s, i) if outcome == _STEADY else []
        table.append(row)
    if limits is not None:
        _add_limits(table, limits)
    return table


def _add_limits(table: list[dict[str, Any]], limits: LimitMasses) -> None:
    masses = {key: (getattr(limits, field) * _MG).tolist() for key, field in LIMITS}
    for i, row in enumerate(table):
        row["limits"] = {key: None if isnan(values[i]) else values[i] for key, values in masses.items()}
        if not limits.followed[i]:
            row["limits_message"] = (
                f"The branch could be followed only down to a traveller of {limits.lightest[i] * _MG:.4g} mg;"
                " limits below that are not known."
            )


def passed(p: Positions, s: Solutions, i: int) -> list[str]:
    """Name the limits that a steady balloon is beyond although it is steady: the neck, the separator, the cop."""
    beyond = []
    if not isnan(s.neck_radius[i]) and s.neck_depth[i] > p.control_ring_depth[i]:
        beyond.append("neck")
    if not isnan(p.gauge[i]) and s.largest_radius[i] > 0.5 * p.gauge[i]:
        beyond.append("separator")
    if s.neck_radius[i] < 0.5 * p.winding_diameter[i]:
        beyond.append("cop")
    return beyond


def sentence(p: Positions, s: Solutions, i: int) -> str:
    """Say in words how position ``i`` ended, and by how much a limit was passed."""
    outcome = Outcome(int(s.outcome[i]))
    if outcome is Outcome.STEADY:
        return _steady_sentence(p, s, i)
    own, limit = p.traveller_mass[i] * _MG, s.stopped_at_mass[i] * _MG
    if outcome is Outcome.NOT_CONVERGED or np.isnan(limit):
        return SENTENCES[outcome]
    short = f"{own:.4g} mg is {limit - own:.3g} mg lighter than"
    if outcome is Outcome.FOLD:
        return f"No steady balloon: {short} the fold at {limit:.4g} mg; the balloon collapses."
    return f"No steady balloon: {short} the {limit:.4g} mg at which the traveller lifts off the ring."


def _steady_sentence(p: Positions, s: Solutions, i: int) -> str:
    words = {
        "neck": "it has a neck",
        "separator": f"it is {(s.largest_radius[i] - 0.5 * p.gauge[i]) * 1000:.3g} mm past half the gauge",
        "cop": f"its neck of {s.neck_radius[i] * 1000:.3g} mm radius is narrower than the cop",
    }
    beyond = [words[name] for name in passed(p, s, i)]
    if not beyond:
        return SENTENCES[Outcome.STEADY]
    return f"A steady balloon was found on the taut branch, but {' and '.join(beyond)}."
