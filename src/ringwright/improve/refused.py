"""Refusals of the search: limits that contradict each other, and a production out of reach."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from ringwright.improve.search import Found
from ringwright.improve.tried import NONE, SHAPES
from ringwright.improve.watch import STOPPED
from ringwright.refusal import Fault, Refusal
from ringwright.units import show

__all__ = ["refuse_none", "refuse_out_of_reach", "told_lack"]

STEADY = SHAPES.index("steady")
_WORDS = {
    "steady": "a steady balloon",
    "separator": "the room to the separator",
    "separator at low friction": "the room to the separator at the lowest ring friction",
    "cop": "the room to the cop",
    "tube tip": "the room to the tube's tip",
}


def refuse_none(found: Found) -> None:
    """Raise Refusal if no candidate keeps every limit of shape: say which two fight, or which one is never kept."""
    room, count = found.tried.room, len(found.picks)
    if found.tried.keeps.any():
        return
    keeps = room >= 0
    never = [column for column in range(len(SHAPES)) if not keeps[:, column].any()]
    lacking = told_lack(found, int(np.argmin(found.tried.shortfall)))
    mend = f"The nearest candidate lacks {' and '.join(lacking)}. No speed mends this."
    if never:
        got = f"at odds with {' and with '.join(_WORDS[SHAPES[column]] for column in never)} at all {count} candidates"
    else:
        fights = [pair for pair in combinations(range(len(SHAPES)), 2) if not keeps[:, pair].all(axis=1).any()]
        pairs = fights or [tuple(np.argsort(keeps.sum(axis=0), kind="stable")[:2])]
        one, other = (_WORDS[SHAPES[int(column)]] for column in pairs[0])
        got = f"a fight between {one} and {other}: no one of {count} candidates keeps both"
    wants = "a reach of the parts within which one candidate keeps every limit"
    stopped = found.ended == STOPPED
    if stopped:
        mend = f"It was stopped early; let it run on. {mend}"
    where = f"the search over the parts{', stopped early,' if stopped else ''}"
    raise Refusal(Fault(where=where, got=got, wants=wants, mend=mend))


def told_lack(found: Found, number: int) -> tuple[str, ...]:
    """Tell what a candidate lacks in room, limit by limit."""
    room = found.tried.room[number]
    if room[STEADY] < 0:
        return (_WORDS["steady"],)
    return tuple(
        _WORDS[SHAPES[column]]
        if room[column] <= NONE
        else f"{_WORDS[SHAPES[column]]} by {show(float(-room[column]), 'length', 'mm', 1)}"
        for column in np.flatnonzero(room < 0)
    )


def refuse_out_of_reach(production: float, speed: float, most: float) -> None:
    """Raise Refusal if more is asked for than any candidate makes."""
    if speed <= most * (1 + 1e-9):
        return
    top = show(production * most / speed, "output", "g/h", 1)
    raise Refusal(
        Fault(
            where="the production asked for",
            got=show(production, "output", "g/h", 1),
            wants=f"at most {top}, the most that any candidate makes within the limits",
            mend="ringwright improve --for production says which limit holds it.",
        )
    )
