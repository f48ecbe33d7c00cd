"""The questions of what pays, in the order in which they are mostly asked."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from itertools import combinations
from types import MappingProxyType

from ringwright.refusal import Fault, Refusal, nearest
from ringwright.report.sheets.sheet import Sheet
from ringwright.units import SWITCHED, written_in
from ringwright.verbs.paying import Paid
from ringwright.workbench.better.economy import BREAKS, CALIBRATE, COMPARE, COST, ENERGY, SPREAD
from ringwright.workbench.better.improving import COURSE, IMPROVE, SURVEY
from ringwright.workbench.better.question import Asked, Question, Say, Stopped

__all__ = ["QUESTIONS", "Sheets", "answer_long", "answer_now", "question_at", "sheet_in"]

QUESTIONS: Mapping[str, Question] = MappingProxyType(
    {one.key: one for one in (COURSE, IMPROVE, COMPARE, ENERGY, COST, BREAKS, SPREAD, CALIBRATE, SURVEY)}
)
Sheets = Mapping[frozenset[str], Sheet]
"""A sheet in each of the units that a reader may choose, so that a long answer need not be sought again for them."""
_OPTION = re.compile(r"--[a-z][a-z-]*")


def question_at(key: str) -> Question:
    """Find a question by its key; Refusal with the nearest key if there is none."""
    if key in QUESTIONS:
        return QUESTIONS[key]
    wants = f"one of {', '.join(QUESTIONS)}"
    raise Refusal(Fault(where="the question", got=f'"{key}"', wants=wants, mend=nearest(key, list(QUESTIONS))))


def answer_long(key: str, asked: Asked, say: Say, stopped: Stopped) -> Sheets:
    """Answer a question in a process of its own, which may be stopped; in all units, as none is known there."""
    found = _answered(key, asked, say, stopped)
    sheets = {}
    for count in range(len(SWITCHED) + 1):
        for units in combinations(SWITCHED.values(), count):
            with written_in(units):
                sheets[frozenset(units)] = found.sheet()
    return sheets


def sheet_in(sheets: Sheets, units: tuple[str, ...]) -> Sheet:
    """Give the sheet in the units chosen."""
    return sheets[frozenset(units) & frozenset(SWITCHED.values())]


def answer_now(key: str, asked: Asked) -> Sheet:
    """Answer a question that takes a second or two, in the units chosen."""
    return _answered(key, asked, lambda _: None, lambda: False).sheet()


def _answered(key: str, asked: Asked, say: Say, stopped: Stopped) -> Paid:
    question = question_at(key)
    try:
        question.check(asked)
        return question.answer(asked, say, stopped)
    except Refusal as refusal:
        raise Refusal([_on_page(fault, question) for fault in refusal.faults]) from None


def _on_page(fault: Fault, question: Question) -> Fault:
    """Call each field by its label, where the command line calls it by its option."""
    labels = {blank.option: blank.label for blank in question.blanks if blank.option}

    def named(text: str) -> str:
        return _OPTION.sub(lambda found: labels.get(found[0], found[0]), text)

    return replace(fault, where=named(fault.where), wants=named(fault.wants), mend=named(fault.mend))
