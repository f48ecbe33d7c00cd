"""A sheet as plain text for the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from ringwright.report.sheets.sheet import Row, Sheet, Table

__all__ = ["sheet_text"]

WIDTH = 96


def sheet_text(sheet: Sheet) -> str:
    """Write a sheet as text: the answer first, then the numbers with unit and origin, warnings, tables, notes."""
    lines = [sheet.title, "", *textwrap.wrap(sheet.answer, WIDTH)]
    lines += _listed("Mind", sheet.warnings)
    lines += ["", *_rows(sheet.rows)] if sheet.rows else []
    for table in sheet.tables:
        lines += ["", *_table(table)]
    lines += _listed("Notes", sheet.notes)
    lines += _listed("Sources", sheet.sources)
    lines += _listed("Safety", sheet.cautions)
    return "\n".join(lines)


def _rows(rows: Sequence[Row]) -> list[str]:
    name = max(len(row.name) for row in rows)
    value = max(len(row.value) for row in rows)
    unit = max(len(row.unit) for row in rows)
    lines = []
    for row in rows:
        head = f"{row.name:<{name}}  {row.value:>{value}} {row.unit:<{unit}}  "
        told = f"{row.origin}; {row.note}" if row.note else row.origin
        lines += textwrap.wrap(head + told, WIDTH + 14, subsequent_indent=" " * len(head), drop_whitespace=True)
    return [line.rstrip() for line in lines]


def _table(table: Table) -> list[str]:
    cells = [table.columns, *table.rows]
    widths = [max(len(row[i]) for row in cells) for i in range(len(table.columns))]

    def laid(row: tuple[str, ...]) -> str:
        return "  ".join(
            f"{cell:>{width}}" if i in table.numbers else f"{cell:<{width}}"
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()

    lines = [f"{table.title} ({table.origin})", laid(table.columns), "  ".join("-" * width for width in widths)]
    lines += [laid(row) for row in table.rows]
    return lines + (textwrap.wrap(table.note, WIDTH) if table.note else [])


def _listed(head: str, sentences: Sequence[str]) -> list[str]:
    if not sentences:
        return []
    lines = ["", f"{head}:"]
    for one in sentences:
        lines += textwrap.wrap(one, WIDTH, initial_indent="- ", subsequent_indent="  ")
    return lines
