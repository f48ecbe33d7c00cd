"""The creel's line on the setting card."""

from __future__ import annotations

from math import ceil

from ringwright.creel.judged import card_words
from ringwright.creel.renewal import renewal_plan
from ringwright.creel.supply import supply_of
from ringwright.creel.unwound import unwound_of
from ringwright.mill import Mill

__all__ = ["card_line"]


def card_line(mill: Mill, frame: str, yarn: str) -> str:
    """Give one short line: brake and its band, bobbins to renew at each doff; Refusal for an unknown name."""
    supply = supply_of(mill, frame, yarn)
    plan = renewal_plan(supply, mill.creeling, mill.shift_length)
    return card_words(unwound_of(supply), (ceil(supply.bobbins / plan.cycle), plan.cycle))
