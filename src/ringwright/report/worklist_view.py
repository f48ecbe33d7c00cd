"""The work list as plain values for text, JSON and the printed sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from string import ascii_uppercase
from typing import Any

from ringwright.findings.finding import Estimate, Sureness
from ringwright.judgement.cautions import Caution, joined
from ringwright.report.worklist_rows import RULES
from ringwright.worklist.follow_up import FollowUp
from ringwright.worklist.listing import grouped
from ringwright.worklist.task import Effect, Task, WorkList

__all__ = [
    "DoneRow", "ListToShow", "TickRow", "caution_words", "cautions_in_full", "effect_words", "group_rows", "lettered",
    "list_values", "sureness_words",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneRow:
    """A ticked task as it is shown: its key and words, when (text), by whom, the note, and what the records say."""

    key: str
    what: str
    when: str
    by: str
    note: str
    since: FollowUp


@dataclass(frozen=True, slots=True, kw_only=True)
class TickRow:
    """A tick as the history shows it: key and words of its task, when (text), by whom, the note; how it was taken back.

    ``taken_back`` is empty for a tick that stands.
    """

    key: str
    what: str
    when: str
    by: str
    note: str
    taken_back: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ListToShow:
    """A list with what was done, and the words that name the records ("demo" or a store) for the link to a study."""

    mill: str
    origin: str
    command: str
    work: WorkList
    done: tuple[DoneRow, ...]

    def ticked(self, task: Task) -> DoneRow | None:
        """Give the tick of a task, if it has one."""
        return next((one for one in self.done if one.key == task.key), None)

    def is_open(self, task: Task) -> bool:
        """Say whether a task is still to do: never ticked, or ticked and seen not to have helped."""
        row = self.ticked(task)
        return row is None or row.since.helped is False

    def study_of(self, task: Task) -> str:
        """Give the command that shows the evidence of a task; empty for a room, whose card shows it."""
        if not task.question:
            return ""
        frame = f" --frame {task.frame}" if task.frame else ""
        return f"ringwright study {self.command} --question {task.question}{frame} --more"


def lettered(tasks: Sequence[Task]) -> dict[str, tuple[str, Caution]]:
    """Give each caution of these tasks a letter, by its act, so that it is said in full once and pointed to by each."""
    known = joined(one for task in tasks for one in task.cautions)
    return {one.act: (_letter(k), one) for k, one in enumerate(known)}


def _letter(place: int) -> str:
    """Give A to Z, then AA, AB and on."""
    more, last = divmod(place, len(ascii_uppercase))
    return (_letter(more - 1) if more else "") + ascii_uppercase[last]


def group_rows(shown: ListToShow) -> list[dict[str, Any]]:
    """Give the list group by group as plain values: its title, and every task in words, with its number if it is open.

    A caution stands as its letter and its work.
    """
    still = [one for one in shown.work.tasks if shown.is_open(one)]
    letters = _letters(shown)
    numbers = {one.key: number for number, one in enumerate((t for _, g in grouped(still) for t in g), 1)}
    return [
        {"title": title, "tasks": [_row(shown, one, letters, numbers.get(one.key)) for one in tasks]}
        for title, tasks in grouped(shown.work.tasks)
    ]


def _row(
    shown: ListToShow, one: Task, letters: Mapping[str, tuple[str, Caution]], number: int | None
) -> dict[str, Any]:
    ticked = shown.ticked(one)
    before = "" if ticked is None else f"Done before, {ticked.when} by {ticked.by}, and still open: "
    return {
        "number": number, "key": one.key, "kind": one.kind, "what": one.what, "when": one.when, "frame": one.frame,
        "look_at": one.look_at, "evidence": one.evidence, "sure": sureness_words(one.sureness),
        "effect": effect_words(one.effect), "rests_on": "" if one.effect is None else one.effect.rests_on,
        "question": one.question, "command": shown.study_of(one), "open": number is not None,
        "before": before and f"{before}{ticked.since.sentence if ticked else ''}",
        "cautions": [(letters[caution.act][0], caution.work) for caution in joined(one.cautions)],
        "lock_out": any(caution.act.startswith("Stop") for caution in one.cautions),
    }  # fmt: skip


def cautions_in_full(shown: ListToShow, *, every: bool = False) -> list[tuple[str, str]]:
    """Give each caution of the open tasks by its letter, in full; with ``every`` those of the other tasks too.

    The rules that come first are said once, above them all.
    """
    letters = _letters(shown)
    needed = {caution.act for one in shown.work.tasks if every or shown.is_open(one) for caution in one.cautions}
    return [(letter, caution_words(one)) for act, (letter, one) in letters.items() if act in needed]


def _letters(shown: ListToShow) -> dict[str, tuple[str, Caution]]:
    """Give the letters of a list, the open tasks' first, so that page and paper say the same."""
    return lettered(sorted(shown.work.tasks, key=lambda one: not shown.is_open(one)))


def caution_words(one: Caution) -> str:
    """Give a caution with its harm; without the rules where they are those that stand above all cautions."""
    return f"{one.act}. {one.harm}" + ("" if one.rules == RULES else f" {one.rules}")


def sureness_words(sureness: Sureness) -> str:
    """Write a word of sureness as a sentence of its own."""
    return f"{sureness.value[0].upper()}{sureness.value[1:]}."


def effect_words(effect: Effect | None) -> str:
    """Tell the effect with its interval; what it rests on is said once for the frame. Empty where there is none."""
    if effect is None:
        return ""
    step = 0 if effect.value >= 10 else 1
    value, low, high = (f"{one:.{step}f}" for one in (effect.value, effect.low, effect.high))
    also = f", with {effect.assumed} (assumed)" if effect.assumed else ""
    return f"About {value} breaks a shift ({low} to {high}, computed) are due to it{also}."


def list_values(shown: ListToShow) -> dict[str, Any]:
    """Give the list as plain values for JSON, tasks in their order."""
    return {
        "mill": shown.mill,
        "origin": shown.origin,
        "tasks": [_task(shown, one) for one in shown.work.tasks],
        "too_early": list(shown.work.missing),
        "cautions": [one.words for one in shown.work.always],
        "done": [
            {"key": one.key, "what": one.what, "when": one.when, "by": one.by, "note": one.note,
             "since": _since(one.since)}
            for one in shown.done
        ],
    }  # fmt: skip


def _task(shown: ListToShow, task: Task) -> dict[str, Any]:
    return {
        "key": task.key, "what": task.what, "kind": task.kind, "frame": task.frame, "side": task.side,
        "spindles": list(task.spindles), "when": task.when, "look_at": task.look_at, "evidence": task.evidence,
        "evidence_command": shown.study_of(task), "sureness": task.sureness.value,
        "effect_breaks_a_shift": None if task.effect is None else asdict(task.effect),
        "cautions": [one.words for one in task.cautions], "open": shown.is_open(task),
    }  # fmt: skip


def _since(since: FollowUp) -> dict[str, Any]:
    ratio: Estimate | None = since.ratio
    return {
        "sentence": since.sentence, "sureness": None if since.sureness is None else since.sureness.value,
        "helped": since.helped,
        "ratio": None if ratio is None else asdict(ratio), "cannot_say": since.cannot_say,
    }  # fmt: skip
