"""The lessons in the order in which they are taught.

The traveller comes first, since its pull is what all tensions come from; then what the stroke, the balloon's height and
its room do to it; then spindle, drive and creel, each of which needs no other.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ringwright.lessons import (
    belts,
    control_ring,
    cop_stage,
    creel_brake,
    guide,
    off_centre,
    separators,
    spindle_oil,
    traveller,
    wharve,
)
from ringwright.lessons.lesson import Lesson
from ringwright.refusal import Fault, Refusal, nearest

__all__ = ["LESSONS", "before", "lesson_at", "next_after"]

LESSONS: Mapping[str, Lesson] = MappingProxyType(
    {
        one.key: one
        for one in (
            traveller.LESSON,
            cop_stage.LESSON,
            guide.LESSON,
            control_ring.LESSON,
            separators.LESSON,
            off_centre.LESSON,
            spindle_oil.LESSON,
            wharve.LESSON,
            belts.LESSON,
            creel_brake.LESSON,
        )
    }
)


def lesson_at(key: str) -> Lesson:
    """Find a lesson by its key; Refusal with the nearest key if there is none."""
    if key in LESSONS:
        return LESSONS[key]
    wants = f"one of {', '.join(LESSONS)}"
    raise Refusal(Fault(where="the lesson", got=f'"{key}"', wants=wants, mend=nearest(key, list(LESSONS))))


def before(key: str) -> Lesson:
    """Give the lesson that comes before; before the first the last."""
    keys = list(LESSONS)
    return LESSONS[keys[keys.index(key) - 1]]


def next_after(key: str) -> Lesson:
    """Give the lesson that follows; after the last the first."""
    keys = list(LESSONS)
    return LESSONS[keys[(keys.index(key) + 1) % len(keys)]]
