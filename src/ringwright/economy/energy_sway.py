"""How far the energy of a kilogram moves when what it rests on, and nobody has read, goes to the ends of its range."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot

from ringwright.economy.energy import drawn_power
from ringwright.mill import Mill, origin_of
from ringwright.setting.choice import Trial
from ringwright.setting.doff import Doff, solve_doffs

__all__ = ["Sway", "energy_sways", "together"]

RANGES = {
    "bare_spindle": (6.0, 12.0),
    "efficiency": (0.85, 0.94),
    "suction": (1.5, 3.5),
    "drafting": (1.0, 2.0),
    "hairiness": (1.0, 4 / 3),
}
"""Ends for figures of [mill.power] that are not measured, SI: the bare spindle from memory, the others our estimate."""
NAMES = {
    "bare_spindle": "bare spindle, 6 W to 12 W",
    "efficiency": "motor and inverter, 85 % to 94 %",
    "suction": "suction, 1.5 W to 3.5 W",
    "drafting": "drafting, 1 W to 2 W",
    "hairiness": "hairs on the cop, smooth to wool",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sway:
    """One input at the ends of its range, with the energy of 1 kg [J/kg] there."""

    name: str
    low: float
    high: float
    origin: str
    """Of the range: "measured", "assumed", ..."""


def energy_sways(mill: Mill, doff: Doff, trial: Trial) -> tuple[Sway, ...]:
    """Give the energy at the ends of the ring's friction band and of each figure of [mill.power] not measured.

    The ring friction of a trial has no band. Largest sway first.
    """
    found = [] if trial.ring_friction is not None else _friction(mill, doff, trial)
    for key, ends in RANGES.items():
        word, _ = origin_of(mill, f"power.{key}")
        value = float(getattr(mill.power, key))
        if word == "measured" or not min(ends) <= value <= max(ends):
            continue
        powers = [mill.power.model_copy(update={key: end}) for end in ends]
        low, high = sorted(drawn_power(doff, power) * _per_mass(doff) for power in powers)
        found.append(Sway(name=NAMES[key], low=low, high=high, origin=word))
    return tuple(sorted(found, key=lambda one: one.low - one.high))


def together(sways: tuple[Sway, ...], middle: float) -> tuple[float, float]:
    """Give the ends of the energy [J/kg] with all sways together, each going its own way (root of the sum)."""
    below = hypot(*(max(middle - one.low, 0.0) for one in sways))
    above = hypot(*(max(one.high - middle, 0.0) for one in sways))
    return middle - below, middle + above


def _per_mass(doff: Doff) -> float:
    return doff.problem.doff_time / doff.problem.content


def _friction(mill: Mill, doff: Doff, trial: Trial) -> list[Sway]:
    choice = doff.choice
    ring = choice.frame.ring
    if not ring.friction_low < ring.friction_high:
        return []
    trials = [replace(trial, ring_friction=friction) for friction in (ring.friction_low, ring.friction_high)]
    doffs = solve_doffs(mill, choice.frame.name, choice.yarn.name, trials)
    ends = [drawn_power(one, mill.power) * _per_mass(one) for one in doffs]
    if not all(one.forces.winding_tension.min() > 0 for one in doffs):
        return []  # an end of the band has places without a steady balloon: no energy is told for it
    word, _ = origin_of(choice.frame, "ring.friction_high")
    name = f"ring friction, {ring.friction_low:.2g} to {ring.friction_high:.2g}"
    return [Sway(name=name, low=min(ends), high=max(ends), origin=word)]
