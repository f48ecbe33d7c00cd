"""Findings and rooms made into a list of tasks: worst effect first, and each frame walked once."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from ringwright.findings.finding import Answer, Estimate, Finding, Sureness
from ringwright.judgement.cautions import joined
from ringwright.judgement.room import Room
from ringwright.worklist.task import Effect, FrameFacts, Task, WorkList, task_key
from ringwright.worklist.wording import ALWAYS, WORDING, cautions_for, what_to_do

__all__ = ["IF_TIME", "WHOLE_MILL", "grouped", "in_order", "make_list", "room_task", "task_of"]

IF_TIME: Final = "May be chance: if time is left"
WHOLE_MILL: Final = "The whole mill"

_DOUBT: Final = (Sureness.MAY_BE_CHANCE, Sureness.TOO_EARLY)


def make_list(
    answers: Sequence[Answer], rooms: Mapping[str, tuple[str, Sequence[Room]]], frames: Mapping[str, FrameFacts],
    shift_h: float,
) -> WorkList:  # fmt: skip
    """Make the list; ``rooms`` gives the frame and rooms of each setting by its name, ``shift_h`` the shift in h.

    A finding that is too early, or a room whose sign hangs on a friction not measured, gives a line and no task.
    """
    rates = {one.frame: one.estimate for one in answers if one.question == "rates" and one.estimate}
    tasks = [
        task_of(one, frames, rates, shift_h)
        for answer in answers
        for one in answer.findings
        if one.sureness is not Sureness.TOO_EARLY
    ]
    missing = [one.sentence for one in answers if one.sureness is Sureness.TOO_EARLY]
    for setting, (frame, held) in rooms.items():
        tasks += [room_task(setting, frame, room) for room in held if room.room is not None and room.room < 0]
        missing += [_undecided(setting, room) for room in held if _hangs_on_friction(room)]
    always = dict.fromkeys(one for frame in frames.values() for one in frame.cautions if one.work in ALWAYS)
    return WorkList(tasks=in_order(tasks, frames), missing=tuple(missing), always=joined(always))


def task_of(one: Finding, frames: Mapping[str, FrameFacts], rates: Mapping[str, Estimate], shift_h: float) -> Task:
    """Make the task of one finding."""
    wording = WORDING[one.kind]
    facts = frames.get(one.frame)
    return Task(
        key=task_key(one.kind, one.frame, one.spindles, one.shift), kind=one.kind, what=what_to_do(one),
        when=wording.when, look_at=wording.look_at, evidence=one.sentence, sureness=one.sureness,
        cautions=cautions_for(wording.works, facts.cautions if facts else ()), frame=one.frame, side=one.side,
        spindles=one.spindles, question=wording.question, target=_target(one),
        effect=None if facts is None or one.frame not in rates else _effect(one, facts, rates[one.frame], shift_h),
    )  # fmt: skip


def _target(one: Finding) -> float:
    """Give the ratio of rates, after against before, that a full cure would make."""
    if one.kind in {"spindle", "drive group"} and one.estimate.unit == "times":
        return 1 / one.estimate.value
    return 0.0 if one.kind == "separator" else math.nan


def _effect(one: Finding, frame: FrameFacts, rate: Estimate, shift_h: float) -> Effect | None:
    """Give the breaks of a shift above the ordinary; None for a kind that says nothing of a lasting excess."""
    ordinary = rate.value / 1000 * shift_h  # breaks of an ordinary spindle in a shift
    rests_on = f"{frame.name}'s {rate.value:.1f} breaks per 1000 spindle-hours and a shift of {shift_h:g} h"
    assumed = ""
    ends = one.estimate.value, one.estimate.low, one.estimate.high
    if one.kind in {"spindle", "drive group"} and one.estimate.unit == "times":
        values = [(times - 1) * ordinary * len(one.spindles) for times in ends]
    elif one.kind == "separator":
        values = [share * 2 * ordinary for share in ends]
    elif one.kind == "traveller age":
        values = [(times - 1) / 2 * ordinary * frame.spindles for times in ends]
        assumed = "an even rise over the travellers' life"
    elif one.kind == "change" and one.estimate.value > 1:
        values = [(1 - 1 / max(times, 1e-9)) * ordinary * frame.spindles for times in ends]
    else:
        return None
    return Effect(value=values[0], low=values[1], high=values[2], rests_on=rests_on, assumed=assumed)


def room_task(setting: str, frame: str, room: Room) -> Task:
    """Make the task of a setting that passes a limit; sure where it does so over the whole band of ring friction."""
    whole = room.high is None or room.high < 0
    return Task(
        key=f"{setting}-{room.key.replace('_', '-')}", kind="room", frame=frame,
        what=f"Change setting {setting}: {room.name} is {room.words}", when="before it is run again",
        look_at="Try another traveller or speed on paper first, then print the card anew.", evidence=room.sentence,
        sureness=Sureness.SURE if whole else Sureness.LIKELY, cautions=(), limit_passed=True,
    )  # fmt: skip


def _hangs_on_friction(room: Room) -> bool:
    return room.room is not None and room.room >= 0 and room.low is not None and room.low < 0


def _undecided(setting: str, room: Room) -> str:
    return (
        f"Setting {setting}: too early to tell whether it passes the limit {room.name}, {room.interval_words} "
        f"{room.unit} over {room.band}; the ring friction is missing, so measure it."
    )


def in_order(tasks: Sequence[Task], frames: Mapping[str, FrameFacts]) -> tuple[Task, ...]:
    """Order the tasks frame by frame, so that each is gone to once; on it, up side 1 and back down side 2.

    The frame with a passed limit stands first, then that with the worst effect, then what has no effect in breaks, and
    last what is about no one frame. On a frame a passed limit stands first, then its walk and what concerns it as a
    whole, the worse of them first. What may be chance stands last of all. That order is our own choice.
    """
    worst: dict[tuple[bool, object], float] = {}
    for task in tasks:
        for place in (task.frame, _round(task)):
            at = (task.sureness in _DOUBT, place)
            worst[at] = max(worst.get(at, -math.inf), _weight(task))

    def order(task: Task) -> tuple[object, ...]:
        doubt = task.sureness in _DOUBT
        by_frame = (doubt, not task.frame, -worst[doubt, task.frame], task.frame)
        on_it = (-worst[doubt, _round(task)], _round(task), _walk(task, frames), -_weight(task))
        return (*by_frame, *on_it, task.key)

    return tuple(sorted(tasks, key=order))


def grouped(tasks: Sequence[Task]) -> tuple[tuple[str, tuple[Task, ...]], ...]:
    """Part tasks in their order into one group for each frame; gives each group's title and its tasks.

    What may be chance is one group for all frames, to be looked at where time is left.
    """
    found: dict[str, list[Task]] = {}
    for task in tasks:
        title = IF_TIME if task.sureness in _DOUBT else task.frame or WHOLE_MILL
        found.setdefault(title, []).append(task)
    return tuple((title, tuple(held)) for title, held in found.items())


def _round(task: Task) -> tuple[str, bool, bool]:
    """Name the round: the walk along a frame, or the things that concern it as a whole."""
    return task.frame, bool(task.spindles), task.limit_passed


def _weight(task: Task) -> float:
    if task.limit_passed:
        return math.inf
    return -1.0 if task.effect is None else task.effect.value


def _walk(task: Task, frames: Mapping[str, FrameFacts]) -> int:
    """Give the place along the walk: places of side 1 upwards, then those of side 2 back to its start.

    Spindles are numbered through, and place p of side 2 stands across from place p of side 1.
    """
    facts = frames.get(task.frame)
    if not task.spindles or facts is None:
        return 0
    if task.turn:  # a walk of its own, after what is looked at in passing
        return facts.spindles + task.turn
    of_side = max(1, facts.spindles // facts.sides)
    side, place = divmod(task.spindles[0] - 1, of_side)
    return side * of_side + (place if side % 2 == 0 else of_side - 1 - place)
