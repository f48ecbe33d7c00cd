"""How a number is written: rounded to what it can bear, with its unit and the mark of where it came from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from typing import Final

from ringwright import units
from ringwright.units import NARROW_SPACE

__all__ = [
    "NARROW_SPACE", "UNITS", "Number", "Origin", "digits", "figures", "in_unit", "interval", "label", "shown_in",
    "signed", "written",
]  # fmt: skip


class Origin(Enum):
    """Where a number came from; the value is the word that stands beside its mark."""

    MEASURED = "measured"
    COMPUTED = "computed"
    ASSUMED = "assumed"
    COMMON_PRACTICE = "common practice"


# unit: (its quantity in the table of units, step to which a value is rounded, label). A label "" marks a pure number
# whose name must say what it is. Lengths are told to 1 mm; near a limit the caller asks for 0.1 mm.
UNITS: Final[dict[str, tuple[str, float, str]]] = {
    "mm": ("length", 1.0, "mm"),
    "in": ("length", 0.01, "in"),
    "m": ("length", 1.0, "m"),
    "m/min": ("speed", 0.1, "m/min"),
    "m/s": ("speed", 0.1, "m/s"),
    "rpm": ("rotation", 10.0, "rpm"),
    "mg": ("mass", 0.1, "mg"),
    "g": ("mass", 1.0, "g"),
    "kg": ("mass", 1.0, "kg"),
    "g/h": ("output", 0.1, "g/h"),
    "kg/h": ("output", 0.1, "kg/h"),
    "cN": ("force", 0.1, "cN"),
    "N": ("force", 0.01, "N"),
    "cN/tex": ("tenacity", 0.1, "cN/tex"),
    "Wh/kg": ("specific energy", 0.1, "Wh/kg"),
    "W": ("power", 0.1, "W"),
    "kW": ("power", 0.1, "kW"),
    "tex": ("count", 0.1, "tex"),
    "Ne": ("count", 0.1, "Ne"),
    "hank": ("count", 0.01, "hank"),
    "t/m": ("twist", 1.0, "t/m"),
    "tpi": ("twist", 0.1, "tpi"),
    "TM": ("twist multiplier", 0.01, "TM"),
    "min": ("time", 1.0, "min"),
    "h": ("time", 0.1, "h"),
    "days": ("time", 1.0, "days"),
    "degrees": ("angle", 1.0, "degrees"),
    "%": ("share", 0.1, "%"),
    "mN m": ("torque", 0.01, "mN m"),
    "mm2/s": ("kinematic viscosity", 0.1, "mm2/s"),
    "N s/m": ("damping", 1.0, "N s/m"),
    "times": ("ratio", 0.1, "times"),
    "teeth": ("ratio", 1.0, "teeth"),
    "spindles": ("ratio", 1.0, "spindles"),
    "frames": ("ratio", 1.0, "frames"),
    "fibres": ("ratio", 1.0, "fibres"),
    "strokes": ("ratio", 1.0, "strokes"),
    "shifts": ("ratio", 1.0, "shifts"),
    "breaks": ("ratio", 0.01, "breaks"),
    "1": ("ratio", 0.01, ""),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """One value in SI with the trade unit to show it in, its origin, and its interval where there is one.

    ``step`` overrides the rounding step (in the shown unit); ``source`` is a key of the card's list of sources.
    """

    value: float
    unit: str
    origin: Origin
    low: float | None = None
    high: float | None = None
    step: float | None = None
    source: str = ""

    def __post_init__(self) -> None:
        if self.unit not in UNITS:
            raise ValueError(f"no rule for writing the unit {self.unit!r}; known: {', '.join(UNITS)}")
        if (self.low is None) != (self.high is None):
            raise ValueError("an interval needs both its ends")
        if not all(math.isfinite(v) for v in (self.value, self.low or 0.0, self.high or 0.0)):
            raise ValueError("a number that is not finite cannot be shown; say in words what happened")


def in_unit(value: float, unit: str) -> float:
    """Convert an SI value to the unit it is shown in."""
    quantity = UNITS[unit][0]
    if unit == "days":
        return units.in_unit(value, quantity, "h") / 24.0
    symbol = {"degrees": "°"}.get(unit, "1" if quantity == "ratio" else unit)
    return units.in_unit(value, quantity, symbol)


def digits(value: float, step: float) -> str:
    """Write a bare number rounded to a step: narrow spaces from four digits on, true minus, no negative nought."""
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    if abs(step * 10**decimals - round(step * 10**decimals)) > 1e-6:  # as 0.25 and 2.5, which need one figure more
        decimals += 1
    return units.show_number(round(value / step) * step, decimals)


def shown_in(value: float, quantity: str, symbol: str, step: float) -> tuple[str, str]:
    """Write an SI value of a quantity, rounded to a step of the unit: figures and unit, as the reader chose it."""
    unit = units.chosen(symbol)
    number = units.in_unit(value, quantity, unit)
    return digits(number, units.chosen_step(symbol, step, number)), unit


def label(number: Number) -> str:
    """Give the unit that stands after the figures, as the reader chose it; "" for a pure number."""
    return UNITS[units.chosen(number.unit)][2]


def figures(number: Number) -> str:
    """Write the value alone, without its unit."""
    text = _figures(number, number.value)
    # A traveller's number is written as its series has it: 45, 35.5.
    return text.removesuffix(".0") if number.unit == "mg" and number.step is None else text


def interval(number: Number) -> str:
    """Write the interval as "28.4 to 41.1", or nothing where there is none."""
    if number.low is None or number.high is None:
        return ""
    unit = units.chosen(number.unit)
    ends = sorted((number.low, number.high), key=lambda v: in_unit(v, unit))  # Ne runs the other way
    return " to ".join(_figures(number, v) for v in ends)


def _figures(number: Number, value: float) -> str:
    shown = in_unit(value, units.chosen(number.unit))
    step = number.step if number.step is not None else UNITS[number.unit][1]
    return digits(shown, units.chosen_step(number.unit, step, shown))


def written(number: Number, *, with_interval: bool = False) -> str:
    """Write the value with its unit, and its interval in brackets when asked: "33.5 cN (28.4 to 41.1)"."""
    unit = label(number)
    text = figures(number) + (NARROW_SPACE + unit if unit else "")
    span = interval(number) if with_interval else ""
    return f"{text} ({span})" if span else text


def signed(number: Number) -> str:
    """Write an error or a difference with its sign and unit; one that rounds to nought has no sign."""
    rises = number.value > 0 and any(c in "123456789" for c in figures(number))
    return ("+" if rises else "") + written(number)

