"""A lesson as plain text for the terminal: question, numbers, reason, and where they come from."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from ringwright.lessons.catalogue import LESSONS
from ringwright.lessons.ground import Ground
from ringwright.lessons.lesson import Lesson, Row, Shown
from ringwright.report.number import Number, written

__all__ = ["lesson_list", "lesson_text"]

WIDTH = 96


def lesson_list() -> str:
    """List the lessons: key, question, and what is moved."""
    lines = ["Lessons: one question each, and one part to move."]
    lines += [f"  {one.key:<13} {one.question} You move: {_lower(one.control.name)}." for one in LESSONS.values()]
    return "\n".join(lines) + "\n"


def lesson_text(lesson: Lesson, ground: Ground, shown: Shown) -> str:
    """Write a lesson with its answer as lines of at most 96 columns."""
    blocks = [
        [f"{lesson.question} {ground.mill.name}, {ground.frame} with {ground.yarn}.", *_wrapped(lesson.think)],
        [f"What it does: left {shown.other}, right {shown.moved}", *(_row(row) for row in shown.rows)],
        _wrapped(shown.when),
        [line for k, one in enumerate(shown.reasons, start=1) for line in _wrapped(one, f"{k}. ")],
        [line for one in shown.notes for line in _wrapped(one, "Mind: ")],
        [line for one in lesson.sources(ground) for line in _wrapped(one, "From: ")],
        _wrapped(lesson.left_out, "Left out: "),
    ]
    return "\n".join(line for block in blocks if block for line in ("", *block))[1:] + "\n"


def _wrapped(words: str, first: str = "") -> list[str]:
    return textwrap.wrap(words, WIDTH, initial_indent=first, subsequent_indent=" " * len(first), break_on_hyphens=False)


def _row(row: Row) -> str:
    numbers: Iterable[Number | str] = (row.other, row.moved)
    origins = [one.origin.value for one in numbers if isinstance(one, Number)]
    other, moved = (one if isinstance(one, str) else written(one) for one in (row.other, row.moved))
    return f"  {row.name:<36}{other:>22}{moved:>22}  {origins[0] if origins else ''}".rstrip()


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]
