"""What rounds of spindle speeds ask of the shift: the spindles, tapes and belts that run slow beyond chance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from ringwright.drive.cautions import STROBOSCOPE
from ringwright.findings.finding import Answer, Sureness
from ringwright.judgement.cautions import RULES_FIRST, Caution
from ringwright.worklist.listing import in_order, task_of
from ringwright.worklist.task import FrameFacts, WorkList

__all__ = ["with_speeds"]

_STROBOSCOPE = Caution(
    work="reading speeds with a stroboscope",
    act=STROBOSCOPE.removesuffix(f" {RULES_FIRST}").rstrip("."),
    harm="A hand goes into the spindle, the balloon or the belt.",
)


def with_speeds(work: WorkList, answers: Sequence[Answer], frames: Mapping[str, FrameFacts]) -> WorkList:
    """Add the tasks of rounds of speeds, one answer for each frame read; too early gives a line and no task."""
    tasks = [
        replace(made, question="", cautions=(*made.cautions, _STROBOSCOPE))
        for answer in answers
        for one in answer.findings
        if one.frame in frames and (made := task_of(one, frames, {}, 0.0))
    ]
    missing = [one.sentence for one in answers if one.sureness is Sureness.TOO_EARLY]
    return replace(work, tasks=in_order((*work.tasks, *tasks), frames), missing=(*work.missing, *missing))
