"""The findings of a round in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import numpy as np

from ringwright.centring.direction import clock_words, way_words
from ringwright.centring.drift import Drift
from ringwright.centring.effect import Grade
from ringwright.centring.found import Found
from ringwright.centring.judging import Correction, Judged, RailShift
from ringwright.units import chosen, in_unit, show, show_number

__all__ = [
    "COMMON_PRACTICE", "answer", "day_after", "drift_words", "due_of", "due_words", "mm", "move_words", "peak_words",
    "shift_words",
]  # fmt: skip

COMMON_PRACTICE = "common practice is every 6 to 12 months and after a change of rings, from memory, no source"


def mm(value: float) -> str:
    """Write a length to 0.01 mm, or as finely in inches."""
    return show(value, "length", "mm", 2)


def answer(found: Found) -> str:
    """Say what a person should know first."""
    judged = found.judged
    if not judged.counts and judged.round.set_aside:
        return "No reading could be used, so no spindle is judged; the lines set aside say why."
    if not judged.counts:
        return "No round is given. What follows holds for the frame: what offsets do, and the pointer's target."
    shifts = [shift_words(one) for one in judged.shifts]
    sentences = [f"{one}, which spares {shift.spared} single corrections." for one, shift in
                 zip(shifts, judged.shifts, strict=True)]  # fmt: skip
    sentences.append(_singles(judged, after=bool(shifts)))
    sentences.append(due_words(found.drifts, found.read_us))
    return " ".join(sentences)


def shift_words(shift: RailShift) -> str:
    """Say how a rail stands off, and how it is shifted."""
    rail, middle = shift.rail, shift.rail.line[len(shift.rail.line) // 2]
    off = float(np.hypot(*middle))
    head = f"The {rail.part}s of side {rail.side} stand off as a whole, by {mm(off)} at the middle of the side"
    first = way_words(shift.first.along, shift.first.out)
    if shift.alike:
        return f"{head}: shift the {rail.part} rail {first}"
    last = way_words(shift.last.along, shift.last.out)
    return f"{head}: shift the {rail.part} rail {first} at its first spindle, and {last} at its last"


def _singles(judged: Judged, *, after: bool) -> str:
    corrections = judged.corrections
    if not corrections:
        stay = "stays" if after else "is"
        return f"No single spindle {stay} beyond its tolerance for certain."
    worst = max(corrections, key=lambda one: (np.nan_to_num(one.swing, nan=-1.0), max(m.amount for m in one.moves)))
    sides = range(1, judged.sides.sides + 1)
    where = " and ".join(f"{judged.of_side(side)} on side {side}" for side in sides if judged.of_side(side))
    then = "Then correct" if after else "Correct"
    stops = f"{len(judged.stops)} stops" if len(judged.stops) > 1 else "one stop"
    many = f"{len(corrections)} single spindles" if len(corrections) > 1 else "one single spindle"
    return f"{then} {many} ({where}) in {stops}, spindle {worst.spindle} being the worst."


def move_words(one: Correction, judged: Judged) -> list[tuple[str, str, str]]:
    """Give each move of a correction as what is moved, the way in two parts, and the clock with the amount."""
    return [
        (move.what, way_words(move.along, move.out),
         f"{mm(move.amount)} to {clock_words(move.along, move.out, one.spindle, judged.sides)}")
        for move in one.moves
    ]  # fmt: skip


def peak_words(one: Correction) -> str:
    """Say how high the tension rises in each turn, in cN, and how far that is known."""
    if one.grade is None or not np.isfinite(one.peak):
        return "not worked out"
    if one.grade is Grade.BEYOND:
        return f"at least {show(one.at_least, 'force', 'cN', 0)}"
    if one.grade is Grade.STOPS:
        return f"about {show(one.peak, 'force', 'cN', 0)}"
    return show(one.peak, "force", "cN", 1)


def drift_words(drift: Drift) -> str:
    """Say how fast a part drifts, as what half a year makes of one axis."""
    half_year = 182.625 * 86_400
    ends = [float(np.sqrt(rate * half_year)) for rate in (drift.rate, drift.rate_low, drift.rate_high)]
    unit, decimals = chosen("mm"), 3 if chosen("mm") == "mm" else 5
    wander, low, high = (show_number(in_unit(end, "length", unit), decimals) for end in ends)
    return f"{wander} ({low} to {high})"


def day_after(read_us: int, wait: float) -> str:
    """Give the day a wait [s] after a moment; a wait beyond 20 years is told as such."""
    if not wait < 20 * 365.25 * 86_400:
        return "more than 20 years on"
    return f"{datetime.fromtimestamp(read_us / 1e6, UTC) + timedelta(seconds=wait):%Y-%m-%d}"


def due_of(drifts: Sequence[Drift]) -> Drift | None:
    """Give the part whose next round is due first; None where no drift is known."""
    return min(drifts, key=lambda one: one.wait, default=None)


def due_words(drifts: Sequence[Drift], read_us: int) -> str:
    """Say when the next round is due, or why that cannot be said."""
    first = due_of(drifts)
    if first is None:
        return f"One round only says nothing of drift; for the next, {COMMON_PRACTICE}."
    if first.wait == 0:
        return f"The next round is due at once: more of the {first.part}s stay beyond the tolerance than is allowed."
    days = [day_after(read_us, wait) for wait in (first.wait, first.wait_low, first.wait_high)]
    return f"The next round is due about {days[0]} ({days[1]} to {days[2]}), for the {first.part}s."
