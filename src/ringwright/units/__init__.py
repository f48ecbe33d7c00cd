"""Trade units: the only place where they exist."""

from ringwright.units.chosen import SWITCHED, chosen, chosen_step, chosen_units, written_in
from ringwright.units.conversion import from_unit, in_unit
from ringwright.units.reading import parse, units_as_written
from ringwright.units.showing import NARROW_SPACE, show, show_number
from ringwright.units.table import QUANTITIES, Quantity, Unit

__all__ = [
    "NARROW_SPACE",
    "QUANTITIES",
    "SWITCHED",
    "Quantity",
    "Unit",
    "chosen",
    "chosen_step",
    "chosen_units",
    "from_unit",
    "in_unit",
    "parse",
    "show",
    "show_number",
    "units_as_written",
    "written_in",
]
