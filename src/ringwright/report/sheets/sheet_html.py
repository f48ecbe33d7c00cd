"""A sheet as one HTML file that needs nothing beside it, and prints on A4."""

from __future__ import annotations

from base64 import b64encode
from datetime import UTC, datetime

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from ringwright.report.sheets.sheet import Sheet
from ringwright.report.typesetting import FONTS, TEMPLATES

__all__ = ["sheet_html"]


def sheet_html(sheet: Sheet, *, made_at: datetime | None = None) -> str:
    """Write a sheet as HTML; every word of it is escaped, and the figures' words were escaped where they were drawn."""
    moment = (made_at or datetime.now(tz=UTC)).replace(microsecond=0)
    page = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return page.from_string(TEMPLATES.joinpath("sheet.html.j2").read_text(encoding="utf-8")).render(
        sheet=sheet,
        figures=[(one, Markup(one.svg)) for one in sheet.pictures],  # noqa: S704
        font=b64encode(FONTS.joinpath("card-plain.woff2").read_bytes()).decode("ascii"),
        made=f"{moment:%Y-%m-%d %H:%M} {moment.tzname()}",
    )
