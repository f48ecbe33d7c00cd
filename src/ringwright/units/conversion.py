"""Between SI values and numbers of a unit: linear and reciprocal."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ringwright.units.table import QUANTITIES, Unit

__all__ = ["from_unit", "in_unit", "unit_of"]

Number = TypeVar("Number", float, NDArray[np.float64])


def unit_of(quantity: str, symbol: str | None = None) -> Unit:
    """Find the unit of a quantity by its symbol, or the one shown by default; KeyError if there is none."""
    units = QUANTITIES[quantity].units
    if symbol is None:
        return units[0]
    for unit in units:
        if unit.symbol == symbol:
            return unit
    raise KeyError(f"{symbol} is no unit of {quantity}; its units are {', '.join(u.symbol for u in units)}")


def from_unit(number: Number, quantity: str, symbol: str) -> Number:
    """Turn a number of a unit (float or array) into its SI value."""
    unit = unit_of(quantity, symbol)
    factor = float(unit.factor)
    return factor / number if unit.reciprocal else number * factor


def in_unit(value: Number, quantity: str, symbol: str | None = None) -> Number:
    """Turn an SI value (float or array) into a number of a unit, by default the one shown first."""
    unit = unit_of(quantity, symbol)
    factor = float(unit.factor)
    return factor / value if unit.reciprocal else value / factor
