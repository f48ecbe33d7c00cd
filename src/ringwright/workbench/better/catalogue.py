"""The questions of what pays, in the order in which they are mostly asked."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ringwright.mill import Mill
from ringwright.refusal import Fault, Refusal, nearest
from ringwright.workbench.better.economy import BREAKS, COMPARE, COST, ENERGY, SPREAD
from ringwright.workbench.better.improving import COURSE, IMPROVE, SURVEY
from ringwright.workbench.better.question import Question, Say, Stopped, Told

__all__ = ["QUESTIONS", "answer_long", "answer_now", "question_at"]

QUESTIONS: Mapping[str, Question] = MappingProxyType(
    {one.key: one for one in (COURSE, IMPROVE, COMPARE, ENERGY, COST, BREAKS, SPREAD, SURVEY)}
)


def question_at(key: str) -> Question:
    """Find a question by its key; Refusal with the nearest key if there is none."""
    if key in QUESTIONS:
        return QUESTIONS[key]
    wants = f"one of {', '.join(QUESTIONS)}"
    raise Refusal(Fault(where="the question", got=f'"{key}"', wants=wants, mend=nearest(key, list(QUESTIONS))))


def answer_long(
    key: str, mill: Mill, names: tuple[str, str], typed: Mapping[str, str], say: Say, stopped: Stopped
) -> Told:
    """Answer a question in a process of its own, which may be stopped."""
    return question_at(key).answer(mill, names, typed, say, stopped)


def answer_now(key: str, mill: Mill, names: tuple[str, str], typed: Mapping[str, str]) -> Told:
    """Answer a question that takes a second or two."""
    return question_at(key).answer(mill, names, typed, lambda _: None, lambda: False)
