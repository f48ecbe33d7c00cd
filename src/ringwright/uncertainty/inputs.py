"""The inputs that are not sure, each with the ends between which it lies nineteen times in twenty."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtri, stdtrit

from ringwright.mill import origin_of
from ringwright.mill.spread import read_spread
from ringwright.mill.table import Entry, Table, number_at, stated_at
from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal
from ringwright.uncertainty.calibration import PARAMETERS

if TYPE_CHECKING:
    from ringwright.setting.choice import Choice
    from ringwright.uncertainty.kept import KeptFit

__all__ = ["Input", "inputs_of", "moves_places", "with_values"]

# Factors on values that nobody has measured; no source, our estimate. They hold where the mill states no spread.
ASSUMED = {
    "yarn.traveller_friction": (0.75, 1.25),
    "yarn.drag_coefficient": (0.75, 1.3),
    "frame.guide.friction": (0.75, 1.35),
    "frame.control_ring.friction": (0.75, 1.35),
}
# Changing these leaves the places of a doff where they are.
PLACE_FREE = {
    "frame.ring.friction",
    "frame.guide.friction",
    "frame.control_ring.friction",
    "yarn.traveller_friction",
    "yarn.drag_coefficient",
    "yarn.density",
    "yarn.strength",
    "traveller.mass",
}
TAIL = 1e-3
"""Chance cut off at either end, so that no sample runs out of what a mill's file allows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One input that is not sure, SI: its key (as frame.ring.friction), its value, its ends, and who says so."""

    key: str
    meaning: str
    quantity: str
    unit: str
    value: float
    low: float
    high: float
    origin: str
    log_error: float = 0.0
    """Standard error of the value's logarithm where it was fitted; else nought."""
    freedom: int = 0
    """Readings to spare of the fit."""
    bounds: tuple[float, float] = (-np.inf, np.inf)
    """What no sample may pass: the range in which a fitted value was sought."""

    def at(self, chance: Array) -> Array:
        """Give the value below which it lies with a chance: half a bell to either side of the value.

        A fitted value's logarithm follows Student's law, as its interval does.
        """
        kept = np.clip(chance, TAIL, 1 - TAIL)
        if self.log_error:
            drawn = self.value * np.exp(stdtrit(self.freedom, kept) * self.log_error)
            return np.asarray(np.clip(drawn, *self.bounds), dtype=np.float64)
        z = ndtri(kept)
        sides = np.where(z < 0, self.value - self.low, self.high - self.value)
        return np.asarray(self.value + sides * z / float(ndtri(0.975)), dtype=np.float64)


def inputs_of(choice: Choice, fitted: KeptFit | None = None) -> list[Input]:
    """List the inputs of a choice that are not sure.

    Values of a fit come first, with their errors; then spreads of the mill's file; then the ring's own lowest and
    highest friction; then, for frictions and drag that nobody has measured, spreads that are assumed here and say so.
    """
    found: dict[str, Input] = {} if fitted is None else _fitted(choice, fitted)
    for part, entry in _entries(choice).items():
        for key, text in entry.spread.items():
            field = stated_at(type(entry), key)
            if field is not None and f"{part}.{key}" not in found:
                found[f"{part}.{key}"] = _input(entry, part, key, read_spread(text, field), "the mill's file")
    ring = choice.frame.ring
    if "frame.ring.friction" not in found and ring.friction_low < ring.friction_high:
        ends = (ring.friction_low, ring.friction_high)
        found["frame.ring.friction"] = _input(choice.frame, "frame", "ring.friction", ends, "the mill's file")
    for full, (low, high) in ASSUMED.items():
        part, _, key = full.partition(".")
        entry = _entries(choice)[part]
        value = number_at(entry, key)
        if full not in found and value is not None and origin_of(entry, key)[0] != "measured":
            found[full] = _input(entry, part, key, (low * value, high * value), "assumed")
    return list(found.values())


def _fitted(choice: Choice, fitted: KeptFit) -> dict[str, Input]:
    """Give the inputs of a fit whose values stand in the choice; one that is tried otherwise is left out."""
    found = {}
    ranges = {parameter.name: (parameter.low, parameter.high) for parameter in PARAMETERS}
    rows = zip(fitted.names, fitted.keys, fitted.values, fitted.log_errors, fitted.interval(), strict=True)
    for name, full, value, error, ends in rows:
        part, _, key = full.partition(".")
        entry = _entries(choice)[part]
        if abs((number_at(entry, key) or 0.0) - value) <= 1e-9 * value:
            one = _input(entry, part, key, (float(ends[0]), float(ends[1])), fitted.words)
            found[full] = replace(one, log_error=float(error), freedom=fitted.freedom, bounds=ranges[name])
    return found


def _entries(choice: Choice) -> dict[str, Entry]:
    return {"frame": choice.frame, "yarn": choice.yarn, "setting": choice.setting, "traveller": choice.traveller}


def _input(entry: Entry, part: str, key: str, ends: tuple[float, float], origin: str) -> Input:
    field, value = stated_at(type(entry), key), number_at(entry, key)
    if field is None or value is None:
        raise Refusal(Fault(where=f"{part}.{key}", got="without a value", wants="a value to go with its spread"))
    low, high = ends
    if not low <= value <= high:  # another value is tried: its spread goes with it, in proportion
        low, high = (end * value / float(np.sqrt(low * high)) for end in (low, high))
    return Input(
        key=f"{part}.{key}", meaning=field.meaning, quantity=field.quantity, unit=field.unit, value=value, low=low,
        high=high, origin=origin,
    )  # fmt: skip


def moves_places(inputs: Sequence[Input]) -> bool:
    """Say whether any of the inputs moves the places of a doff, so that they must be laid out for each sample."""
    return any(one.key not in PLACE_FREE for one in inputs)


def with_values(choice: Choice, inputs: Sequence[Input], values: Sequence[float]) -> Choice:
    """Give the choice with other values of some inputs."""
    entries: dict[str, Table] = dict(_entries(choice))
    for one, value in zip(inputs, values, strict=True):
        part, _, key = one.key.partition(".")
        entries[part] = _changed(entries[part], key, float(value))
    return replace(choice, **entries)  # type: ignore[arg-type]  # each part keeps its own type


def _changed(table: Table, key: str, value: float) -> Table:
    first, _, rest = key.partition(".")
    return table.model_copy(update={first: _changed(getattr(table, first), rest, value) if rest else value})
