"""The tables of a centring sheet: the sides, the single spindles to correct, how many are off, and the drift."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ringwright.centring.drift import Drift
from ringwright.centring.effect import AGREES, TESTED
from ringwright.centring.found import Found
from ringwright.centring.words import day_after, drift_words, mm, move_words, peak_words
from ringwright.report.number import digits, shown_in
from ringwright.report.sheets.sheet import Table
from ringwright.units import chosen, show
from ringwright.units.showing import show_number

__all__ = ["centring_tables", "drift_table"]

COMPUTED = "computed"
PEAK_WORDS = (
    "About: the yarn stops on the traveller for part of each turn; the peak is the linear answer's, which the motion "
    f"in time bore out to {100 * AGREES:.0f} %. At least: more than {TESTED:.0f} times the offset at which the yarn "
    "first stops, or the yarn leaves the control ring; only this much is known."
)

_RAIL_HEADS = (
    "off along", "off to front", "trend along", "trend to front", "scatter along", "scatter to front",
)  # fmt: skip


def centring_tables(found: Found) -> tuple[Table, ...]:
    """Make the tables; one without rows says that there is nothing to tell."""
    return _rails(found), _list(found), _counts(found), drift_table(found.drifts, found.read_us)


def _rails(found: Found) -> Table:
    rows = []
    for rail in found.judged.rails:
        shift = next((one for one in found.judged.shifts if one.rail is rail), None)
        off = [shown_in(float(v), "length", "mm", 0.001)[0] for v in (*rail.middle, *rail.trend, *rail.scatter)]
        done = "leave" if shift is None else f"shift it; spares {shift.spared}"
        rows.append((f"{rail.part} rail, side {rail.side}", off[0], off[1], off[2], off[3], off[4], off[5], done))
    return Table(
        title="What each side has in common",
        columns=("rail", *(f"{what}, {chosen('mm')}" for what in _RAIL_HEADS), "what to do"),
        rows=tuple(rows), origin=COMPUTED, numbers=(1, 2, 3, 4, 5, 6),
        note="Off: at the middle of the side, towards higher numbers and to the front. Trend: change from the first "
        "spindle to the last. Scatter: standard deviation of single spindles about it, the gauge's part with it.",
    )  # fmt: skip


def _list(found: Found) -> Table:
    judged, rows = found.judged, []
    minutes = found.frame.centring.minutes_per_spindle / 60
    for number, stop in enumerate(judged.stops, 1):
        for one in stop:
            for k, (what, way, clock) in enumerate(move_words(one, judged)):
                head = (str(number), str(one.spindle), str(one.side)) if k == 0 else ("", "", "")
                rows.append((*head, what, way, clock, peak_words(one) if k == 0 else ""))
    centred = show(float(np.nanmax(found.answering.doff.forces.guide_tension)), "force", "cN", 1)
    time = digits(minutes * max((len(stop) for stop in judged.stops), default=0), 1.0)
    return Table(
        title="Single spindles to correct", rows=tuple(rows), origin=COMPUTED, numbers=(1, 6),
        columns=("stop", "spindle", "side", "move the", "which way", "clock", "peak, cN"),
        note="Stops stand in the order of their worst spindle; within a stop one walks up side 1 and back down side 2; "
        f"about {time} min for the longest. Clock: seen from above by the person before the spindle, 12 o'clock away. "
        f"Peak: highest tension at the guide in a turn, in the worst place of the doff; {centred} with all centred. "
        f"{PEAK_WORDS} Guide and control ring are told for after the spindle's own "
        "move. Read each spindle again once it is moved.",
    )  # fmt: skip


def _counts(found: Found) -> Table:
    rows = tuple(
        (one.part, show_number(one.read), show_number(one.over), show_number(one.named)) for one in found.judged.counts
    )
    return Table(
        title="How many are off, as read", columns=("part", "read", "beyond tolerance", "of these for certain"),
        rows=rows, origin=COMPUTED, numbers=(1, 2, 3),
        note="For certain: a part that stands just at its tolerance is named with a chance of at most 2.5 %, and a "
        "round in which all are centred names any at all with at most 5 %.",
    )  # fmt: skip


def drift_table(drifts: Sequence[Drift], read_us: int, title: str = "Drift from round to round") -> Table:
    """Make the table of the drift of each part; the last round was read at ``read_us`` (µs UTC)."""
    rows = []
    for one in drifts:
        due = [day_after(read_us, wait) for wait in (one.wait, one.wait_low, one.wait_high)]
        span = digits(one.span / 86_400, 1.0)
        rows.append((one.part, str(one.rounds), show_number(one.spindles), span, drift_words(one), *due))
    return Table(
        title=title, rows=tuple(rows), origin=COMPUTED, numbers=(1, 2, 3),
        columns=("part", "rounds", "changes", "days", f"half a year's wander, {chosen('mm')}", "due", "from", "to"),
        note="Wander: standard deviation on one axis of what chance moves a spindle by in half a year, the gauge's "
        f"part taken off, with its 95 % interval. {_moved(drifts)}",
    )  # fmt: skip


def _moved(drifts: Sequence[Drift]) -> str:
    told = [
        f"the {one.part}s of side {side.side} moved as a whole by {mm(float(side.moved[0]))} along and "
        f"{mm(float(side.moved[1]))} to the front"
        for one in drifts for side in one.sides if side.certain
    ]  # fmt: skip
    return f"Between the last two rounds {'; '.join(told)}." if told else "No side moved as a whole beyond chance."
