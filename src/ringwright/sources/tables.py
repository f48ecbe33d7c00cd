"""Printed tables that come with the package, each with its source."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

__all__ = ["TravellerMassTable", "traveller_mass_table"]

Range = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class TravellerMassTable:
    """Traveller mass by count as printed: rows of (linear density [kg/m], lightest [kg], heaviest [kg]), fine first."""

    source: str
    where: str
    caution: str
    cotton: tuple[Range, ...]
    blend: tuple[Range, ...]


@cache
def traveller_mass_table() -> TravellerMassTable:
    """Read the table of traveller mass by count, once; the blend column ends at 80 Ne, the cotton column at 120 Ne."""
    text = resources.files("ringwright.sources").joinpath("traveller_mass.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)
    fine_first = sorted(table["rows"], key=lambda row: float(row[1]))
    cotton = tuple((row[1] * 1e-6, row[2] * 1e-6, row[3] * 1e-6) for row in fine_first)
    blend = tuple((row[1] * 1e-6, row[4] * 1e-6, row[5] * 1e-6) for row in fine_first if len(row) > 4)
    return TravellerMassTable(
        source=table["source"], where=table["where"], caution=table["caution"], cotton=cotton, blend=blend
    )
