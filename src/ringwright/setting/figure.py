"""A number with everything that must be told of it: unit, origin and sources."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from ringwright.mill import origin_of

__all__ = ["COMPUTED", "STATED", "Figure", "computed", "from_mill"]

COMPUTED: Final = "computed"
STATED: Final = "stated"
"""Typed by the person who asks, as the mass of an order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One value in SI with the quantity and unit to show it in, its origin, its sources and a note on the origin.

    ``unit`` is a unit of the quantity; for a plain number (quantity "ratio") it is the word for what is counted, or "".
    ``origin`` is measured, computed, assumed or common practice; stated for what the asker typed.
    ``sources`` are keys of the bibliography. ``note`` is what the mill file says beside the value's origin.
    """

    value: float
    quantity: str
    unit: str
    origin: str
    sources: tuple[str, ...] = ()
    note: str = ""


def computed(value: float, quantity: str, unit: str, *sources: str) -> Figure:
    """Give the figure of a result, with the keys of the sources of its equation."""
    return Figure(value=float(value), quantity=quantity, unit=unit, origin=COMPUTED, sources=sources)


def from_mill(entry: Any, key: str, quantity: str, unit: str) -> Figure:  # noqa: ANN401 - any table of the mill
    """Give the figure of a value of the mill at a dotted key, with the origin that the mill states for it."""
    value: Any = entry
    for part in key.split("."):
        value = getattr(value, part)
    origin, note = origin_of(entry, key)
    told = f"{entry.name}, {key}: {note}" if note else ""
    return Figure(value=float(value), quantity=quantity, unit=unit, origin=origin, note=told)
