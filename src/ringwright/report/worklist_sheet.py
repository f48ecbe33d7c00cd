"""The work list to print: a tagged PDF on A4 set by typst, and one HTML file that needs nothing beside it."""

from __future__ import annotations

import json
from base64 import b64encode
from datetime import UTC, datetime
from typing import Any

from jinja2 import Environment, StrictUndefined

from ringwright.report.typesetting import FONTS, TEMPLATES, pdf
from ringwright.report.worklist_view import ListToShow, effect_words, lettered, list_values, sureness_words

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
    """Give the values with the words of effect and sureness; a caution is written out once and pointed to by letter."""
    values = list_values(shown)
    letters = lettered([one for one in shown.work.tasks if shown.is_open(one)])
    for task, row in zip(shown.work.tasks, values["tasks"], strict=True):
        ticked = shown.ticked(task)
        row["effect"] = effect_words(task.effect)
        row["sure"] = sureness_words(task.sureness)
        row["before"] = "" if ticked is None else f"Done before, {ticked.when}: {ticked.since.sentence}"
        row["caution_acts"] = [f"{letters[one]}. {one.act}." for one in task.cautions if one in letters]
    return {
        **values,
        "tasks": [one for one in values["tasks"] if one["open"]],
        "task_cautions": [f"{letter}. {one.words}" for one, letter in letters.items()],
        "made": f"{moment:%Y-%m-%d %H:%M} {moment.tzname()}",
    }
