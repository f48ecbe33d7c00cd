"""How a page writes numbers: the report's own rounding, in the units that the reader chose."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from ringwright.report.number import UNITS, Number, figures, interval
from ringwright.units import from_unit, in_unit, show_number

__all__ = ["SWITCHED", "Written", "chosen_unit", "field_text", "write"]

SWITCHED = {"tex": "Ne", "t/m": "tpi", "mm": "in"}
"""Unit as it is, and what it may be switched to."""
_INCH_DECIMALS = {1.0: 2, 0.1: 3}

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
    unit = chosen_unit(number.unit, units)
    if unit == "in":
        decimals = _INCH_DECIMALS.get(number.step or 1.0, 2)
        text = show_number(in_unit(number.value, "length", "in"), decimals)
        ends = [show_number(in_unit(v, "length", "in"), decimals) for v in (number.low, number.high) if v is not None]
        return (text, "in", " to ".join(ends), number.origin.value)
    if unit != number.unit:
        number = replace(number, unit=unit, step=None)
        if number.low is not None and number.high is not None:  # Ne runs the other way
            low, high = sorted((number.low, number.high), key=lambda v: in_unit(v, UNITS[unit][0], unit))
            number = replace(number, low=low, high=high)
    return (figures(number), UNITS[unit][2], interval(number), number.origin.value)


SMALL_DECIMALS = 3


def field_text(value: float, quantity: str, unit: str) -> str:
    """Write a value as a person would type it into a field: "45 mg", "16 000 rpm", "0.1"."""
    number = in_unit(value, quantity, unit)
    decimals = {"rpm": 0, "mg": 1, "mm": 1, "in": 3, "1": 3}.get(unit, 2)
    if 0 < abs(number) < 1:  # a small value keeps its figures: 0.02 mm must not become 0 mm
        decimals = max(decimals, SMALL_DECIMALS)
    text = show_number(number, decimals)
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text if unit == "1" else f"{text} {unit}"


def slider_span(span: tuple[float, float, float], quantity: str, unit: str, shown: str) -> tuple[float, float, float]:
    """Give a slider's least, most and step in the unit shown."""
    if shown == unit:
        return span
    low, high = (in_unit(from_unit(end, quantity, unit), quantity, shown) for end in span[:2])
    return (round(low, 2), round(high, 2), 0.02)
