"""Columns of results as CSV, each heading with its unit."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.report.number import UNITS, in_unit

__all__ = ["Column", "columns_csv"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A named run of SI values and the unit to write them in; values that are not finite are left empty."""

    name: str
    unit: str
    values: Sequence[float]


def columns_csv(columns: Sequence[Column]) -> str:
    """Write columns of one length as CSV with headings such as "winding tension, cN"; six figures a value."""
    lengths = {len(column.values) for column in columns}
    if len(lengths) > 1:
        raise ValueError("the columns of a table must have one length")
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    labels = ((column.name, UNITS[column.unit][2]) for column in columns)
    writer.writerow([f"{name}, {label}" if label else name for name, label in labels])
    writer.writerows(zip(*([_cell(v, c.unit) for v in c.values] for c in columns), strict=True))
    return text.getvalue()


def _cell(value: float, unit: str) -> str:
    return f"{in_unit(value, unit):.6g}" if math.isfinite(value) else ""
