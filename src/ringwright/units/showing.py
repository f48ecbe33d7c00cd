"""Show SI values as people read them: narrow spaces, true minus sign, unit after the number."""

from __future__ import annotations

from math import floor, isfinite, log10

from ringwright.units.chosen import chosen, chosen_step
from ringwright.units.conversion import in_unit, unit_of

__all__ = ["NARROW_SPACE", "show", "show_number"]

NARROW_SPACE = "\u202f"
_MINUS = "\u2212"


def show(value: float, quantity: str, unit: str | None = None, digits: int | None = None) -> str:
    """Show an SI value with its unit, or in the unit that the reader chose in its place.

    ``digits`` is the number of decimals; left out, at most four figures without trailing zeros (whole numbers in
    full). A value that is not finite reads "not known".
    """
    usual = unit_of(quantity, unit).symbol
    symbol = chosen(usual)
    if not isfinite(value) or (unit_of(quantity, symbol).reciprocal and value == 0):
        return "not known"
    figure = in_unit(value, quantity, symbol)
    if digits is not None and symbol != usual:
        digits = max(0, -floor(log10(chosen_step(usual, 10.0**-digits, figure)) + 1e-9))
    number = show_number(figure, digits)
    if symbol == "1":
        return number
    return f"{number}{symbol}" if symbol == "°" else f"{number}{NARROW_SPACE}{symbol}"


def show_number(number: float, digits: int | None = None) -> str:
    """Show a plain number, with narrow spaces between thousands from four digits on."""
    if not isfinite(number):
        return "not known"
    decimals = _decimals(number) if digits is None else digits
    text = f"{abs(number):,.{decimals}f}".replace(",", NARROW_SPACE)
    if digits is None and "." in text:
        text = text.rstrip("0").rstrip(".")
    negative = number < 0 and any(figure in text for figure in "123456789")
    return f"{_MINUS}{text}" if negative else text


def _decimals(number: float) -> int:
    """Count the decimals that leave four figures; at most twelve."""
    if number == 0:
        return 0
    return min(12, max(0, 3 - floor(log10(abs(number)))))
