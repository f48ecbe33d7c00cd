"""A lesson as a tagged PDF on one landscape sheet of A4, set by typst with the fonts that the package carries."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from importlib.resources import files
from typing import Any

from ringwright.judgement import Caution
from ringwright.lessons.ground import Ground
from ringwright.lessons.lesson import Lesson, Row, Shown
from ringwright.report.number import Number, written
from ringwright.report.svg import printable
from ringwright.report.typesetting import pdf

__all__ = ["lesson_pdf"]


def lesson_pdf(
    lesson: Lesson, ground: Ground, shown: Shown, cautions: tuple[Caution, ...], *, made_at: datetime | None = None
) -> bytes:
    """Set a lesson with its answer; with ``made_at`` given (it needs a time zone) always the same bytes.

    Words reach the template as data, never as markup. Raises Refusal for letters that no font in the package draws.
    """
    view: dict[str, Any] = {
        "title": lesson.question,
        "think": lesson.think,
        "head": f"{ground.mill.name}, {ground.frame} with {ground.yarn}",
        "other": shown.other,
        "moved": shown.moved,
        "when": shown.when,
        "stacked": shown.stacked,
        "pictures": [{"title": p.title, "below": p.below, "said": p.said, "figure": p.figure} for p in shown.pictures],
        "rows": [[row.name, _cell(row.other), _cell(row.moved), _origin(row)] for row in shown.rows],
        "chart": None if shown.chart is None else {"title": shown.chart.title, "figure": shown.chart.figure},
        "reasons": list(shown.reasons),
        "notes": list(shown.notes),
        "sources": [*lesson.sources(ground), f"Left out: {lesson.left_out}"],
        "cautions": [caution.words for caution in cautions],
    }
    template = files("ringwright.lessons").joinpath("templates", "lesson.typ").read_bytes()
    inputs = {"lesson": json.dumps(view, ensure_ascii=False, sort_keys=True)}
    return pdf(template, inputs, (made_at or datetime.now(tz=UTC)).replace(microsecond=0))


def _cell(value: Number | str) -> str:
    return printable(value if isinstance(value, str) else written(value))


def _origin(row: Row) -> str:
    return next((one.origin.value for one in (row.moved, row.other) if isinstance(one, Number)), "")
