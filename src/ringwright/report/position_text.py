"""One solved position as a short table for a person at a terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ringwright.report.position_rows import LIMITS
from ringwright.setting.position_keys import KEYS

__all__ = ["position_text"]

_RESULTS = (
    ("guide_tension_cN", "Tension at the guide", "cN", 1),
    ("ring_tension_cN", "Tension above the traveller", "cN", 1),
    ("winding_tension_cN", "Winding tension", "cN", 1),
    ("winding_ratio", "Winding over balloon tension", "", 3),
    ("traveller_wrap_deg", "Wrap on the traveller", "degrees", 1),
    ("guide_angle_deg", "Angle at the guide", "degrees", 1),
    ("largest_radius_mm", "Largest radius", "mm", 1),
    ("largest_radius_depth_mm", "  that far below the guide", "mm", 0),
    ("lag_deg", "Traveller ahead of the guide end", "degrees", 1),
    ("balloon_length_mm", "Yarn in the balloon", "mm", 1),
    ("ring_force_cN", "Traveller presses on the ring", "cN", 0),
    ("ring_force_radial_cN", "  outwards", "cN", 0),
    ("ring_force_axial_cN", "  upwards", "cN", 0),
    ("control_ring_force_cN", "Yarn presses on the control ring", "cN", 1),
    ("control_ring_bend_deg", "  and bends there by", "degrees", 1),
)
_LIMIT_NAMES = {
    "fold_traveller_mass_mg": "folds",
    "neck_traveller_mass_mg": "forms a neck",
    "lift_off_traveller_mass_mg": "lets the traveller lift off",
    "touch_traveller_mass_mg": "touches the separator",
}


def position_text(given: Mapping[str, object], result: Mapping[str, Any]) -> str:
    """Set out a result row of ``position_rows.rows`` with its inputs; each number has its unit and origin."""
    lines = ["One spinning position", "", "Given"]
    for key in KEYS:
        if key.name in given:
            lines.append(_line(_label(key.meaning), f"{given[key.name]:g}", key.unit, "stated"))
        elif key.origin == "assumed" and key.default is not None:
            lines.append(_line(_label(key.meaning), f"{key.default:.4g}", key.unit, "assumed"))
    lines += ["", result["message"]]
    if result["outcome"] == "steady":
        lines += ["", "Result"]
        without_ring = not result["control_ring_force_cN"]
        lines += [
            _line(label, f"{result[key]:.{digits}f}", unit, "computed")
            for key, label, unit, digits in _RESULTS
            if not (without_ring and key.startswith("control_ring"))
        ]
    if "limits" in result:
        lines += ["", "As the traveller is made lighter, the balloon"]
        lines += [_limit(key, result["limits"][key], given) for key, _ in LIMITS]
    if "limits_message" in result:
        lines.append(result["limits_message"])
    return "\n".join(lines)


def _label(meaning: str) -> str:
    first, _, _ = meaning.partition(";")
    return first[:1].upper() + first[1:]


def _line(label: str, number: str, unit: str, origin: str) -> str:
    return f"  {label:<58} {number:>9} {unit:<8} {origin}"


def _limit(key: str, mass: float | None, given: Mapping[str, object]) -> str:
    name = _LIMIT_NAMES[key]
    if mass is not None:
        return _line(name, f"{mass:.2f}", "mg", "computed")
    if key.startswith("touch") and "gauge_mm" not in given:
        return f"  {name:<58} not known: no gauge_mm was given"
    return f"  {name:<58} not met: the branch ends before it"
