"""A sheet as a tagged PDF on A4, set by typst with the fonts that the package carries."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from ringwright.report.sheets.sheet import Sheet
from ringwright.report.svg import printable
from ringwright.report.typesetting import TEMPLATES, pdf

__all__ = ["sheet_pdf"]


def sheet_pdf(sheet: Sheet, *, made_at: datetime | None = None) -> bytes:
    """Set a sheet as PDF/UA-1; with ``made_at`` given (it needs a time zone) always the same bytes.

    Words reach the template as data, never as markup. Raises Refusal for letters that no font in the package draws.
    """
    moment = (made_at or datetime.now(tz=UTC)).replace(microsecond=0)
    inputs = {"sheet": json.dumps(_view(sheet, moment), ensure_ascii=False, sort_keys=True)}
    return pdf(TEMPLATES.joinpath("sheet.typ").read_bytes(), inputs, moment)


def _view(sheet: Sheet, moment: datetime) -> dict[str, Any]:
    view = {
        "title": sheet.title,
        "answer": sheet.answer,
        "made": f"{moment:%Y-%m-%d %H:%M} {moment.tzname()}",
        "rows": [[row.name, row.value, row.unit, _origin(row.origin, row.note)] for row in sheet.rows],
        "tables": [
            {"title": one.title, "origin": one.origin, "columns": one.columns, "rows": one.rows,
             "numbers": one.numbers, "note": one.note, "under": one.under or ("",) * len(one.rows)}
            for one in sheet.tables
        ],
        "warnings": sheet.warnings,
        "notes": sheet.notes,
        "sources": sheet.sources,
        "cautions": sheet.cautions,
    }  # fmt: skip
    pictures = [
        {"title": printable(one.title), "figure": one.svg, "about": printable(one.about), "said": one.words,
         "headed": one.headed}
        for one in sheet.pictures
    ]
    return {**_printable(view), "pictures": pictures}


def _origin(origin: str, note: str) -> str:
    return f"{origin}; {note}" if note else origin


def _printable(value: Any) -> Any:  # noqa: ANN401 - words at any depth
    """Write every word with letters that the fonts have."""
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, dict):
        return {key: _printable(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_printable(one) for one in value]
    return value
