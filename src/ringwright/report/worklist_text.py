"""The work list as plain text for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence

from ringwright.judgement.cautions import Caution
from ringwright.report.worklist_view import DoneRow, ListToShow, TickRow, effect_words, lettered, sureness_words
from ringwright.worklist.task import Task

__all__ = ["history_text", "list_text"]

WIDTH = 96


def list_text(shown: ListToShow) -> str:
    """Write what is to do in its order, what was done and whether it helped, and what it is too early for."""
    tasks = [one for one in shown.work.tasks if shown.is_open(one)]
    letters = lettered(tasks)
    lines = textwrap.wrap(f"{shown.mill}, from {shown.origin}.", WIDTH)
    lines += ["", f"What to do, in this order: {len(tasks)} {'task' if len(tasks) == 1 else 'tasks'}."]
    for number, task in enumerate(tasks, 1):
        lines += ["", *_task(shown, task, number, letters)]
    if shown.done:
        lines += ["", "Done, and what the records say since:"]
        for row in shown.done:
            lines += ["", *_done(row)]
    if shown.work.missing:
        lines += ["", "Too early for a task:", *(line for one in shown.work.missing for line in _wrapped(one, "  "))]
    if letters:
        lines += ["", "The cautions in full:"]
        lines += [line for one, letter in letters.items() for line in _wrapped(f"{letter}: {one.words}", "  ")]
    lines += ["", "Always:", *(line for one in shown.work.always for line in _wrapped(one.words, "  "))]
    return "\n".join(lines)


def _task(shown: ListToShow, task: Task, number: int, letters: Mapping[Caution, str]) -> list[str]:
    lines = _wrapped(f"{number}. [ ] {task.what}, {task.when}.  ({task.key})", "")
    row = shown.ticked(task)
    if row is not None:
        lines += _wrapped(f"Done before, {row.when} by {row.by}, and still open: {row.since.sentence}", "    ")
    lines += _wrapped(f"Why: {task.evidence} {sureness_words(task.sureness)}", "    ")
    lines += _wrapped(effect_words(task.effect), "    ")
    lines += _wrapped(task.look_at, "    ")
    for caution in task.cautions:
        lines += _wrapped(f"Caution {letters[caution]}: {caution.act}.", "    ")
    command = shown.study_of(task)
    return lines + ([f"    Evidence: {command}"] if command else [])


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
