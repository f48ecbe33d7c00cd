"""How a page writes numbers: the report's own rounding, in the units that the reader chose."""

from __future__ import annotations

import math
from collections.abc import Collection

from ringwright.report.number import Number, figures, interval, label
from ringwright.units import SWITCHED, from_unit, in_unit, show_number, written_in

__all__ = ["Written", "chosen_unit", "field_text", "slider_span", "write"]

Written = tuple[str, str, str, str]
"""Figures, unit, interval and origin word."""


def chosen_unit(unit: str, units: Collection[str]) -> str:
    """Give the unit in which a value of this unit is shown."""
    other = SWITCHED.get(unit, "")
    return other if other in units else unit


def write(number: Number | str | None, units: Collection[str]) -> Written:
    """Write a number; a sentence stands alone."""
    if number is None:
        return ("", "", "", "")
    if isinstance(number, str):
        return (number, "", "", "")
    with written_in(units):
        return (figures(number), label(number), interval(number), number.origin.value)


SMALL_DECIMALS = 3


def field_text(value: float, quantity: str, unit: str) -> str:
    """Write a value as a person would type it into a field: "45 mg", "16 000 rpm", "0.1"."""
    number = in_unit(value, quantity, unit)
    decimals = {"rpm": 0, "mg": 1, "mm": 1, "in": 3, "1": 3}.get(unit, 2)
    if 0 < abs(number) < 1:  # a small value keeps its figures: 0.02 mm must not become 0 mm
        decimals = max(decimals, SMALL_DECIMALS, 2 - math.floor(math.log10(abs(number))) if unit == "in" else 0)
    text = show_number(number, decimals)
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text if unit == "1" else f"{text} {unit}"


def slider_span(span: tuple[float, float, float], quantity: str, unit: str, shown: str) -> tuple[float, float, float]:
    """Give a slider's least, most and step in the unit shown: a round step no coarser than its own, ends within."""
    if shown == unit:
        return span
    low, high, step = (in_unit(from_unit(end, quantity, unit), quantity, shown) for end in span)
    power = 10.0 ** math.floor(math.log10(step))
    step = next(times * power for times in (5, 2, 1) if times * power <= step)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    ends = math.ceil(low / step - 1e-9) * step, math.floor(high / step + 1e-9) * step
    return (round(ends[0], decimals), round(ends[1], decimals), round(step, decimals))
