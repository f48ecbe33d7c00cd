"""Did a ticked task help? The rate of its place before and after the tick, against the rest of the frame."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import stats

from ringwright.findings.finding import Answer, Estimate, Sureness, sureness_of
from ringwright.study.rates import mid_p, ratio_interval
from ringwright.study.trial_verdict import LEVEL

__all__ = ["LEAST_SHIFTS", "POWER", "BeforeAfter", "FollowUp", "follow_up", "follow_up_of_trial"]

LEAST_SHIFTS: Final = 3
"""Shifts after the tick below which nothing is said, as a trial asks for."""

POWER: Final = 0.8
"""Chance to see a full cure, below which it is too early."""

_MATTERS: Final = 0.8
"""Ratio of rates that would matter to a frame: a fifth fewer, as for a trial (our choice)."""

_BACK: Final = (
    "A place is named because its count was high, so it comes down somewhat by itself; the more so the less sure the "
    "finding was. Whatever else was done at the same place counts as the task."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeAfter:
    """Breaks (or pairs) of a place before and after, what the frame's other spindles would make it, shifts after."""

    counts: tuple[int, int]
    expected: tuple[float, float]
    shifts_after: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowUp:
    """The answer to whether a task helped: its sentence, its word, the rate after against before where it is known.

    ``helped`` is None while it is too early; so is ``sureness`` where there is nothing to compare, ever.
    """

    sentence: str
    sureness: Sureness | None
    cannot_say: str
    helped: bool | None = None
    ratio: Estimate | None = None


def follow_up(seen: BeforeAfter, target: float, of: str = "breaks") -> FollowUp:
    """Judge a place; ``target`` is the ratio that a full cure would make, ``of`` says what is counted.

    The frame's other spindles stand for air, mixing and speed of the same time. Exact, given the sum of the counts.
    Nothing is said until a full cure would be seen four times in five, so that early looks do not praise chance.
    """
    counts, expected = seen.counts, seen.expected
    told = f"{counts[1]} {of} in {seen.shifts_after:.1f} shifts after, {counts[0]} before"
    need = _shifts_needed(seen, target)
    if need is None:
        return _early(f"Too early to tell: {told}; too few before to see a cure in.")
    if seen.shifts_after < need:
        more = max(1, math.ceil(need - seen.shifts_after))
        return _early(f"Too early to tell: {told}; about {more} more shifts are needed.")
    # Ratio of the later rate to the earlier one.
    turned, exposures = (counts[1], counts[0]), (expected[1], expected[0])
    low, high = ratio_interval(turned, exposures)
    value = (counts[1] / expected[1]) / (counts[0] / expected[0])
    ratio = Estimate(value=value, low=low, high=high, unit="times", meaning="rate after the task against before")
    p = mid_p(turned, exposures)
    word = sureness_of(p, likely=LEVEL)
    numbers = f"{value:.2f} times the rate before ({low:.2f} to {high:.2f}), {told}"
    if word is Sureness.MAY_BE_CHANCE:
        sentence, helped = f"Not shown to help: {numbers}. A full cure would most likely be seen by now.", False
    elif value < 1:
        sentence, helped = f"It helped: {numbers}.", True
    else:
        sentence, helped = f"It breaks more since: {numbers}.", False
    return FollowUp(sentence=sentence, sureness=word, cannot_say=_BACK, helped=helped, ratio=ratio)


def _early(sentence: str) -> FollowUp:
    return FollowUp(sentence=sentence, sureness=Sureness.TOO_EARLY, cannot_say=_BACK)


def _shifts_needed(seen: BeforeAfter, target: float) -> float | None:
    """Give the shifts after the tick in which a full cure is seen with the chance ``POWER``; None if never.

    The rate of the frame is taken to stay as it is since the tick, or before it where nothing ran since.
    """
    before, known = seen.counts[0], seen.expected[0]
    if not before or not known > 0 or mid_p((0, before), (known * 1e6, known)) > LEVEL:
        return None
    if not (seen.shifts_after > 0 and seen.expected[1] > 0):
        return float(LEAST_SHIFTS)
    a_shift = seen.expected[1] / seen.shifts_after
    for shifts in np.unique(np.round(np.geomspace(LEAST_SHIFTS, 3000, 120))):
        if _power(before, known, a_shift * float(shifts), target) >= POWER:
            return float(shifts)
    return None


def _power(before: int, known: float, later: float, target: float) -> float:
    """Give the chance that counts after a full cure are told from those before: the sum over the counts that are."""
    mean = before / known * target * later
    # Fewer breaks are always told more plainly, so the most that is still told is found by halving.
    low, high = -1, math.ceil(before / known * later)
    while high - low > 1:
        middle = (low + high) // 2
        told = mid_p((middle, before), (later, known)) <= LEVEL
        low, high = (middle, high) if told else (low, middle)
    return float(stats.poisson.cdf(low, mean)) if low >= 0 else 0.0


def follow_up_of_trial(judged: Answer) -> FollowUp:
    """Read the answer of a trial, before against after by shift, as that of a task about a whole frame.

    Where chance explains it, the task counts as no help only if the interval leaves no fall of a fifth open.
    """
    helped = None
    if judged.estimate is not None:
        if judged.sureness in {Sureness.SURE, Sureness.LIKELY}:
            helped = judged.estimate.value < 1
        elif judged.estimate.low > _MATTERS:
            helped = False
    return FollowUp(
        sentence=judged.sentence, sureness=judged.sureness, cannot_say=judged.cannot_say, helped=helped,
        ratio=judged.estimate,
    )  # fmt: skip
