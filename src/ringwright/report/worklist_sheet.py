"""The work list to print: a tagged PDF on A4 set by typst, and one HTML file that needs nothing beside it."""

from __future__ import annotations

import json
from base64 import b64encode
from datetime import UTC, datetime
from typing import Any

from jinja2 import Environment, StrictUndefined

from ringwright.report.typesetting import FONTS, TEMPLATES, pdf
from ringwright.report.worklist_rows import LOCK_OUT, RULES, of_group, pointed, task_cautions
from ringwright.report.worklist_view import ListToShow, caution_words, cautions_in_full, group_rows, list_values

__all__ = ["list_html", "list_pdf"]


def list_pdf(shown: ListToShow, *, made_at: datetime | None = None) -> bytes:
    """Set the list as PDF/UA-1; its words reach the template as data, so nothing typed in a note is carried out."""
    moment = (made_at or datetime.now(tz=UTC)).replace(microsecond=0)
    inputs = {"list": json.dumps(_sheet(shown, moment), ensure_ascii=False, sort_keys=True)}
    return pdf(TEMPLATES.joinpath("worklist.typ").read_bytes(), inputs, moment)


def list_html(shown: ListToShow, *, made_at: datetime | None = None) -> str:
    """Write the list as one page of HTML that prints on A4; every word of it is escaped."""
    view = _sheet(shown, (made_at or datetime.now(tz=UTC)).replace(microsecond=0))
    view["font"] = b64encode(FONTS.joinpath("card-plain.woff2").read_bytes()).decode("ascii")
    page = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return page.from_string(TEMPLATES.joinpath("worklist.html.j2").read_text(encoding="utf-8")).render(view)


def _sheet(shown: ListToShow, moment: datetime) -> dict[str, Any]:
    """Give the cautions in full, then the open tasks group by group; each points to its cautions by letter."""
    values = list_values(shown)
    groups = []
    for one in group_rows(shown):
        if rows := [row for row in one["tasks"] if row["open"]]:
            tasks = [{**row, "mind": task_cautions(row)} for row in pointed(rows)]
            groups.append({"title": one["title"], **of_group(rows), "tasks": tasks})
    return {
        "mill": values["mill"], "origin": values["origin"], "done": values["done"], "too_early": values["too_early"],
        "groups": groups, "rules": RULES, "lock_out": LOCK_OUT,
        "cautions": cautions_in_full(shown),
        "always": [caution_words(one) for one in shown.work.always],
        "made": f"{moment:%Y-%m-%d %H:%M} {moment.tzname()}",
    }  # fmt: skip
