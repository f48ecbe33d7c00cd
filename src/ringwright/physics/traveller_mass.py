"""The usual range of traveller mass for a count, from a printed table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ringwright.sources.tables import traveller_mass_table

__all__ = ["Column", "MassRange", "table_span", "usual_traveller_mass"]

Column = Literal["cotton", "blend"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MassRange:
    """The lightest and heaviest traveller [kg] that a table gives for a count, and the table's source."""

    lightest: float
    heaviest: float
    source: str


def table_span(column: Column) -> tuple[float, float]:
    """Return the finest and the coarsest yarn [kg/m] of a column of the table; blend stands for synthetic too."""
    rows = _rows(column)
    return rows[0][0], rows[-1][0]


def usual_traveller_mass(linear_density: float, column: Column) -> MassRange | None:
    """Return the usual traveller masses for a yarn [kg/m]; None where the count lies outside the table.

    Between two rows both limits follow a power of linear density; nothing is extrapolated. At a row the printed
    numbers come back. The table gives no ring, speed or profile. Source: Baraiya 2016.
    """
    finest, coarsest = table_span(column)
    slack = 6e-3  # the table prints tex to two or three digits, so that 120 Ne (4.921 tex) is its row of 4.9 tex
    if not finest * (1 - slack) <= linear_density <= coarsest * (1 + slack):
        return None
    rows = _rows(column)
    lightest, heaviest = (_between(linear_density, [(row[0], row[side]) for row in rows]) for side in (1, 2))
    return MassRange(lightest=lightest, heaviest=heaviest, source=traveller_mass_table().source)


def _rows(column: Column) -> Sequence[tuple[float, float, float]]:
    table = traveller_mass_table()
    return table.cotton if column == "cotton" else table.blend


def _between(linear_density: float, points: Sequence[tuple[float, float]]) -> float:
    counts, masses = np.log(np.array(points)).T
    return float(np.exp(np.interp(np.log(linear_density), counts, masses)))
