"""A sheet as plain text for the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from ringwright.report.sheets.sheet import Row, Sheet, Table

__all__ = ["sheet_text"]

WIDTH = 96
NARROW = 60
"""Letters before a note from which it goes below its row."""
INDENT = "    "


def sheet_text(sheet: Sheet) -> str:
    """Write a sheet as text: answer, warnings and safety, then the numbers with unit and origin, tables, notes."""
    lines = [sheet.title, "", *textwrap.wrap(sheet.answer, WIDTH)]
    lines += _listed("Mind", sheet.warnings)
    lines += _listed("Safety", sheet.cautions)
    lines += ["", *_rows(sheet.rows)] if sheet.rows else []
    for picture in sheet.pictures:
        lines += ["", picture.title, *(f"  {line}" for line in picture.letters)] if picture.letters else []
    for table in sheet.tables:
        lines += ["", *_table(table)]
    lines += _listed("Notes", sheet.notes)
    lines += _listed("Sources", sheet.sources)
    return "\n".join(lines)


def _rows(rows: Sequence[Row]) -> list[str]:
    name = max(len(row.name) for row in rows)
    value = max(len(row.value) for row in rows)
    unit = max(len(row.unit) for row in rows)
    lines = []
    for row in rows:
        head = f"{row.name:<{name}}  {row.value:>{value}} {row.unit:<{unit}}  "
        told = f"{row.origin}; {row.note}" if row.note else row.origin
        if len(head + told) > WIDTH + 14 and len(head) > NARROW:  # the note would stand in a column too narrow to read
            below = textwrap.wrap(row.note, WIDTH, initial_indent=INDENT, subsequent_indent=INDENT)
            lines += [head + row.origin, *below]
            continue
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
    for row, under in table.told():
        lines += [laid(row), *textwrap.wrap(under, WIDTH, initial_indent=INDENT, subsequent_indent=INDENT)]
    return lines + (textwrap.wrap(table.note, WIDTH) if table.note else [])


def _listed(head: str, sentences: Sequence[str]) -> list[str]:
    if not sentences:
        return []
    lines = ["", f"{head}:"]
    for one in sentences:
        lines += textwrap.wrap(one, WIDTH, initial_indent="- ", subsequent_indent="  ")
    return lines
