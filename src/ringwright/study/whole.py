"""All questions put to the records of a mill, in the order in which their answers lean on one another."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping

from ringwright.findings.finding import Answer
from ringwright.study.break_rates import break_rates
from ringwright.study.doff_place import hours_since_doff, place_in_cop
from ringwright.study.drive_groups import GroupedSpindles, drive_groups
from ringwright.study.level_changes import rate_changes
from ringwright.study.questions import QUESTIONS
from ringwright.study.records import FrameShape, Records
from ringwright.study.separators import SideBreaks, separators_that_leak
from ringwright.study.shifts import odd_shifts, shifts_that_stand_out
from ringwright.study.spindles import spindles_that_stand_out
from ringwright.study.traveller_age import traveller_age

__all__ = ["answer_all"]


def answer_all(
    records: Records,
    shapes: Mapping[str, FrameShape],
    sides: Iterable[SideBreaks],
    asked: Collection[str] = tuple(QUESTIONS),
    *,
    at_patrol: bool = False,
    begun: Callable[[int, str], None] = lambda *_: None,
) -> list[Answer]:
    """Answer the questions asked; ``sides`` gives the breaks in time, read only if the separators are asked.

    ``begun`` hears of each question as it is begun: how many are done, and its word.
    """
    cells = records.cells
    order = [word for word in QUESTIONS if word in asked]
    answers: list[Answer] = []
    odd = odd_shifts(cells) if {"travellers", "changes"} & set(asked) else []
    spindles = spindles_that_stand_out(records.spindles) if {"spindles", "drive"} & set(asked) else []
    if "rates" in asked:
        begun(order.index("rates"), "rates")
        answers += break_rates(cells)
    if "spindles" in asked:
        begun(order.index("spindles"), "spindles")
        answers += spindles
    if "separators" in asked:
        begun(order.index("separators"), "separators")
        answers += separators_that_leak(sides, at_patrol=at_patrol)
    if "cop" in asked:
        begun(order.index("cop"), "cop")
        answers += place_in_cop(records.cop)
    if "doff" in asked:
        begun(order.index("doff"), "doff")
        answers += hours_since_doff(cells)
    if "travellers" in asked:
        begun(order.index("travellers"), "travellers")
        answers += traveller_age(cells, odd)
    if "shifts" in asked:
        begun(order.index("shifts"), "shifts")
        answers.append(shifts_that_stand_out(cells))
    if "changes" in asked:
        begun(order.index("changes"), "changes")
        answers += rate_changes(cells, odd)
    if "drive" in asked:
        begun(order.index("drive"), "drive")
        named = {(found.frame, found.spindles[0]) for answer in spindles for found in answer.findings}
        groups = [
            GroupedSpindles(counts=one, groups=shapes[one.frame].groups, called=shapes[one.frame].group_called)
            for one in records.spindles
        ]
        answers += drive_groups(groups, named)
    return answers
