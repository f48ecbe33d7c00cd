"""The work list as plain text for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from ringwright.report.worklist_rows import LOCK_OUT, RULES, of_group, pointed, task_cautions
from ringwright.report.worklist_view import (
    DoneRow,
    ListToShow,
    TickRow,
    caution_words,
    cautions_in_full,
    group_rows,
)

__all__ = ["history_text", "list_text"]

WIDTH = 96


def list_text(shown: ListToShow) -> str:
    """Write the cautions, what is to do frame by frame, what was done and whether it helped, what it is too early for.

    Each caution stands in full once, before the first task; each task points to it by its letter.
    """
    lines = textwrap.wrap(f"{shown.mill}, from {shown.origin}.", WIDTH)
    lines += ["", *_cautions(shown)]
    groups = [(one["title"], [row for row in one["tasks"] if row["open"]]) for one in group_rows(shown)]
    many = sum(len(rows) for _, rows in groups)
    lines += ["", f"What to do, frame by frame: {many} {'task' if many == 1 else 'tasks'}."]
    for title, rows in groups:
        lines += _group(title, rows) if rows else []
    if shown.done:
        lines += ["", "Done, and what the records say since:"]
        for row in shown.done:
            lines += ["", *_done(row)]
    if shown.work.missing:
        lines += ["", "Too early for a task:", *(line for one in shown.work.missing for line in _wrapped(one, "  "))]
    return "\n".join(lines)


def _cautions(shown: ListToShow) -> list[str]:
    lines = [f"Read first. {RULES}"]
    for letter, words in cautions_in_full(shown):
        lines += _wrapped(f"{letter}: {words}", "  ")
    for one in shown.work.always:
        lines += _wrapped(f"Always: {caution_words(one)}", "  ")
    return lines


def _group(title: str, rows: Sequence[Mapping[str, Any]]) -> list[str]:
    of = of_group(rows)
    lines = ["", *_wrapped(f"{title}: {len(rows)} {'task' if len(rows) == 1 else 'tasks'}. {of['computed']}", "")]
    if of["cautions"]:
        first = f"{LOCK_OUT}. " if of["lock_out"] else ""
        lines += _wrapped(f"{first}{', '.join(f'{letter} {work}' for letter, work in of['cautions'])}.", "  ")
    for row in pointed(rows):
        lines += ["", *_task(row)]
    return lines


def _task(row: Mapping[str, Any]) -> list[str]:
    lines = _wrapped(f"{row['number']}. [ ] {row['what']}, {row['when']}.  ({row['key']})", "")
    caution = task_cautions(row)
    told = (caution, row["before"], f"Why: {row['evidence']} {row['sure']}", row["effect"], row["look"])
    for words in told:
        lines += _wrapped(words, "    ") if words else []
    return lines + ([f"    Evidence: {row['command']}"] if row["command"] else [])


def _done(row: DoneRow) -> list[str]:
    lines = _wrapped(f"[x] {row.what}  ({row.key})", "  ")
    lines += _wrapped(f"{row.when}, {row.by}: {row.note}", "      ")
    word = "" if row.since.sureness is None else f" [{row.since.sureness.value}]"
    lines += _wrapped(f"{row.since.sentence}{word}", "      ")
    return lines + (_wrapped(f"Cannot say: {row.since.cannot_say}", "      ") if row.since.cannot_say else [])


def history_text(rows: Sequence[TickRow]) -> str:
    """Write every tick, first to last; one that was taken back is marked and says by whom and why."""
    lines = []
    for row in rows:
        lines += _wrapped(f"{'[x]' if not row.taken_back else '[-]'} {row.what}  ({row.key})", "  ")
        lines += _wrapped(f"{row.when}, {row.by}: {row.note}", "      ")
        lines += _wrapped(f"Taken back {row.taken_back}", "      ") if row.taken_back else []
    return "\n".join(lines) if lines else "No task was ticked so far."


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=f"{indent}  ", break_on_hyphens=False)
