"""A spin plan as plain values: SI numbers whose names end in their unit, with their origins and sources beside them."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any, Final

from ringwright.setting.figure import Figure
from ringwright.setting.planned import Plan
from ringwright.sources import bibliography

__all__ = ["figures_of", "plan_values"]

_ENDINGS: Final = {
    "count": "kg_per_m",
    "twist": "turns_per_m",
    "twist multiplier": "turns_per_m_root_kg_per_m",
    "rotation": "rad_per_s",
    "length": "m",
    "mass": "kg",
    "speed": "m_per_s",
    "time": "s",
    "output": "kg_per_s",
    "share": "share",
}


def plan_values(plan: Plan) -> dict[str, Any]:
    """Set out a plan for a program: names, ``values``, ``origins`` and ``sources`` by the same keys, notes.

    A key is the figure's place with dots, its last part ending in the SI unit; a plain ratio has no ending, a number
    of things ends in what is counted. ``sources`` name entries of ``bibliography``.
    """
    found = {_key(place, figure): figure for place, figure in figures_of(plan).items()}
    used = dict.fromkeys(source for figure in found.values() for source in figure.sources)
    return {
        **{name: getattr(plan, name) for name in ("mill", "frame", "yarn", "setting", "roving", "traveller")},
        "values": {key: figure.value for key, figure in found.items()},
        "origins": {key: figure.origin for key, figure in found.items()},
        "origin_notes": {key: figure.note for key, figure in found.items() if figure.note},
        "sources": {key: list(figure.sources) for key, figure in found.items() if figure.sources},
        "bibliography": {key: str(bibliography()[key]) for key in used},
        "notes": list(plan.notes),
    }


def figures_of(part: object, place: str = "") -> dict[str, Figure]:
    """Collect every figure of a plan, or of a part of one, by its place with dots; what is None is left out."""
    if isinstance(part, Figure):
        return {place: part}
    if not is_dataclass(part):
        return {}
    found: dict[str, Figure] = {}
    for field in fields(part):
        found |= figures_of(getattr(part, field.name), f"{place}.{field.name}" if place else field.name)
    return found


def _key(place: str, figure: Figure) -> str:
    """Put the SI unit behind a place, unless the place ends so already."""
    ending = figure.unit if figure.quantity == "ratio" else _ENDINGS[figure.quantity]
    said = not ending or place.endswith((f".{ending}", f"_{ending}"))
    return place if said else f"{place}_{ending}"
