"""Trade units: the only place where they exist."""

from ringwright.units.conversion import from_unit, in_unit
from ringwright.units.reading import parse, units_as_written
from ringwright.units.showing import NARROW_SPACE, show, show_number
from ringwright.units.table import QUANTITIES, Quantity, Unit

__all__ = [
    "NARROW_SPACE",
    "QUANTITIES",
    "Quantity",
    "Unit",
    "from_unit",
    "in_unit",
    "parse",
    "show",
    "show_number",
    "units_as_written",
]
