"""A sheet as the files that a command writes: PDF, HTML, each figure as SVG and PNG, and the values as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import orjson

from ringwright.report.sheets.sheet import Sheet
from ringwright.report.sheets.sheet_html import sheet_html
from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.report.typesetting import png

__all__ = ["sheet_files"]


def sheet_files(sheet: Sheet, stem: str, values: Mapping[str, Any]) -> dict[str, bytes]:
    """Give the files by their names, which begin with a stem; raises Refusal for letters that no font draws."""
    files = {f"{stem}.pdf": sheet_pdf(sheet), f"{stem}.html": sheet_html(sheet).encode()}
    files[f"{stem}.json"] = orjson.dumps(values, option=orjson.OPT_INDENT_2)
    for number, picture in enumerate(sheet.pictures, 1):
        name = stem if len(sheet.pictures) == 1 else f"{stem}-{picture.key or number}"
        files |= {f"{name}.svg": picture.svg.encode(), f"{name}.png": png(picture.svg)}
    return files
