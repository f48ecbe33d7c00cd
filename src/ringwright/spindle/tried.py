"""What may be tried on a spindle in place of what the mill has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from ringwright.mill.field import stated
from ringwright.mill.rotor import Rotor
from ringwright.refusal import Fault, Refusal
from ringwright.units import show

__all__ = ["AS_BUILT", "NAMES", "TriedSpindle", "rotor_as_tried"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedSpindle:
    """Another oil, spring or neck; None leaves what the mill has.

    ``oil_viscosity`` [m2/s] at 40 degrees; the same oil family is taken, so that it thins with warmth as the mill's
    does. ``oil_celsius`` its temperature, ``foot_stiffness`` and ``neck_stiffness`` [N/m], ``film_gap`` [m],
    ``tube_runout_tip`` [m].
    """

    oil_viscosity: float | None = None
    oil_celsius: float | None = None
    foot_stiffness: float | None = None
    neck_stiffness: float | None = None
    film_gap: float | None = None
    tube_runout_tip: float | None = None


AS_BUILT = TriedSpindle()
"""Nothing tried."""

NAMES: Mapping[str, str] = MappingProxyType(
    {
        "oil_viscosity": "oil at 40 degrees",
        "oil_celsius": "oil temperature",
        "foot_stiffness": "spring of the foot step",
        "neck_stiffness": "neck bearing",
        "film_gap": "gap of the oil film",
        "tube_runout_tip": "run-out of the tube's tip",
    }
)
"""What each is called where it is typed, and where it is refused."""


def rotor_as_tried(rotor: Rotor, tried: TriedSpindle) -> Rotor:
    """Give the rotor with what is tried; Refusal with every value out of its range."""
    given = {name: getattr(tried, name) for name in TriedSpindle.__dataclass_fields__}
    changes = {name: value for name, value in given.items() if value is not None}
    faults = []
    for name, value in changes.items():
        field = stated(Rotor, name)
        if not field.allows(value):
            shown = show(value, field.quantity, field.unit)
            faults.append(Fault(where=NAMES[name], got=shown, wants=f"{field.in_words()} ({field.meaning})"))
    if not faults and "film_gap" in changes and changes["film_gap"] >= rotor.film_radius / 2:
        wants = f"less than half the film's radius of {show(rotor.film_radius, 'length', 'mm')}"
        gap = show(changes["film_gap"], "length", "mm")
        faults.append(Fault(where=NAMES["film_gap"], got=gap, wants=wants))
    if faults:
        raise Refusal(faults)
    return rotor.model_copy(update=changes)
