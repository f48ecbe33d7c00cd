"""The work list as plain values for text, JSON and the printed sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from string import ascii_uppercase
from typing import Any

from ringwright.findings.finding import Estimate, Sureness
from ringwright.judgement.cautions import Caution
from ringwright.worklist.follow_up import FollowUp
from ringwright.worklist.task import Effect, Task, WorkList

__all__ = ["DoneRow", "ListToShow", "TickRow", "effect_words", "lettered", "list_values", "sureness_words"]


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


def lettered(tasks: Sequence[Task]) -> dict[Caution, str]:
    """Give each caution of these tasks a letter, so that it is written in full once and pointed to by each task."""
    known = dict.fromkeys(one for task in tasks for one in task.cautions)
    return {one: ascii_uppercase[k] for k, one in enumerate(known)}


def sureness_words(sureness: Sureness) -> str:
    """Write a word of sureness as a sentence of its own."""
    return f"{sureness.value[0].upper()}{sureness.value[1:]}."


def effect_words(effect: Effect | None) -> str:
    """Tell the effect with its interval and its origin; empty where there is none."""
    if effect is None:
        return ""
    step = 0 if effect.value >= 10 else 1
    value, low, high = (f"{one:.{step}f}" for one in (effect.value, effect.low, effect.high))
    return f"About {value} breaks a shift ({low} to {high}) are due to it: computed from {effect.rests_on}."


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
