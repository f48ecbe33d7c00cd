"""How lessons write figures: with their unit, and with the verb that the two figures call for."""

from __future__ import annotations

import math

from ringwright.lessons.ground import Ground
from ringwright.mill import Frame, origin_of
from ringwright.report.number import UNITS, Number, Origin, digits, in_unit, written
from ringwright.setting.doff import Doff
from ringwright.setting.problem import wall
from ringwright.sources.bibliography import bibliography
from ringwright.units import chosen

__all__ = [
    "NO_BALLOON",
    "axis",
    "axis_value",
    "changed",
    "cite",
    "computed",
    "edge",
    "inputs_of",
    "minute",
    "number_or",
    "reaches",
    "source",
    "stated",
    "told",
]

NO_BALLOON = "no steady balloon"


def computed(value: float, unit: str, step: float | None = None) -> Number:
    """Give a computed number."""
    return Number(value=value, unit=unit, origin=Origin.COMPUTED, step=step)


def number_or(value: float, unit: str, step: float | None = None, *, otherwise: str = NO_BALLOON) -> Number | str:
    """Give a computed number, or a sentence where there is none."""
    return computed(value, unit, step) if math.isfinite(value) else otherwise


def stated(ground: Ground, entry: str, key: str, unit: str, step: float | None = None) -> Number:
    """Give a value of the mill ("frame", "ring.diameter") with the origin that the mill states for it."""
    table = getattr(ground.choice, entry)
    value = table
    for part in key.split("."):
        value = getattr(value, part)
    return Number(value=float(value), unit=unit, origin=Origin(origin_of(table, key)[0]), step=step)


def axis(unit: str) -> str:
    """Name the unit of an axis, as the reader chose it; "in" stands badly without a figure."""
    return "inches" if chosen(unit) == "in" else UNITS[chosen(unit)][2]


def axis_value(value: float, unit: str) -> float:
    """Give where an SI value lies on an axis of this unit, or of the one chosen in its place."""
    return in_unit(value, chosen(unit))


def told(value: float, unit: str, step: float | None = None) -> str:
    """Write a figure with its unit; one that is not there is told in words."""
    return written(computed(value, unit, step)) if math.isfinite(value) else NO_BALLOON


def changed(before: float, after: float, unit: str, step: float | None = None) -> str:
    """Write how a quantity goes from one figure to another: it rises, it falls, or it stays."""
    if not (math.isfinite(before) and math.isfinite(after)):
        return f"goes from {told(before, unit, step)} to {told(after, unit, step)}"
    one, other = told(before, unit, step), told(after, unit, step)
    if one == other:
        return f"stays at {one}"
    return f"{'rises' if after > before else 'falls'} from {one} to {other}"


def edge(frame: Frame) -> str:
    """Say where the room of a balloon ends: at the plate's face, or at half the gauge without plates."""
    room = told(wall(frame), "mm", 0.1)
    return f"the plate stands at {room}" if frame.separators.fitted else f"half the gauge is {room}"


def reaches(radius: float, frame: Frame) -> str:
    """Say how far from the spindle a balloon reaches, and where its room ends; or that there is none."""
    if not math.isfinite(radius):
        return f"no steady balloon here; {edge(frame)}"
    return f"reaches {told(radius, 'mm', 0.1)} from the spindle; {edge(frame)}"


def minute(doff: Doff, index: int) -> str:
    """Say when in the doff a place is, and where in its stroke."""
    places = doff.places
    row = doff.places_per_stroke
    start = index // row * row
    heights = places.ring_height[start : start + row]
    height = places.ring_height[index]
    where = "within a stroke"
    if height == heights.min():
        where = "at the foot of a stroke"
    elif height == heights.max():
        where = "at the top of a stroke"
    return f"minute {digits(places.time[index] / 60, 1.0)} of {digits(doff.problem.doff_time / 60, 1.0)}, {where}"


def source(key: str, what: str) -> str:
    """Write what a source of the bibliography is named for, with its grade."""
    found = bibliography()[key]
    return f"{what}: {found.grade.value}, no source." if key == "common-practice" else f"{what}: {found}."


def cite(key: str) -> str:
    """Name a source of the bibliography in few words: author, year, and how good it is."""
    found = bibliography()[key]
    year = f" {found.year}" if found.year else ""
    return f"{found.author.split(',')[0]}{year} ({found.grade.value}{'' if found.read else ', not read'})"


_INPUTS = (
    ("frame", "ring.friction", "ring friction"),
    ("yarn", "traveller_friction", "friction of yarn on traveller"),
    ("yarn", "drag_coefficient", "drag coefficient"),
)


def inputs_of(ground: Ground) -> str:
    """Say the inputs of the balloon that no caliper gives, with their origins."""
    tables = {"frame": ground.choice.frame, "yarn": ground.choice.yarn}
    words = []
    for entry, key, name in _INPUTS:
        number = stated(ground, entry, key, "1")
        words.append(f"{name} {digits(in_unit(number.value, '1'), 0.01)} ({origin_of(tables[entry], key)[0]})")
    return f"Computed with the balloon model of this program, air drag included; {', '.join(words)}."
