"""A sheet as plain values for JSON."""

from __future__ import annotations

from typing import Any

from ringwright.report.sheets.sheet import Sheet

__all__ = ["sheet_values"]


def sheet_values(sheet: Sheet) -> dict[str, Any]:
    """Give a sheet as values: each row with its SI value as ``si`` beside what is shown; pictures by their words."""
    return {
        "title": sheet.title,
        "answer": sheet.answer,
        "rows": [
            {"name": row.name, "value": row.value, "unit": row.unit, "si": row.raw, "origin": row.origin,
             "note": row.note}
            for row in sheet.rows
        ],
        "tables": [
            {"title": one.title, "origin": one.origin, "note": one.note,
             "rows": [
                 dict(zip(one.columns, row, strict=True)) | ({"why": under} if under else {})
                 for row, under in one.told()
             ]}
            for one in sheet.tables
        ],
        "pictures": [{"title": one.title, "words": one.words} for one in sheet.pictures],
        "warnings": list(sheet.warnings),
        "notes": list(sheet.notes),
        "sources": list(sheet.sources),
        "cautions": list(sheet.cautions),
    }  # fmt: skip
