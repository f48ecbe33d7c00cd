"""Do ends break more as the travellers age? By shift, against the hours since the traveller change."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final

import numpy as np

from ringwright.findings.finding import Answer, Estimate, Finding, Sureness, sureness_of
from ringwright.study.cells import Cells, ShiftTable, by_shift
from ringwright.study.curve import RateCurve, rate_curve

__all__ = ["age_curve", "traveller_age"]

_LEAST_CHANGES: Final = 2

_CANNOT: Final = (
    "It cannot say what the age does at other speeds or yarns, nor past the oldest travellers seen. What changes at "
    "the same rhythm as the travellers (cleaning, a lot of roving) looks the same."
)


def age_curve(table: ShiftTable, changes: int) -> RateCurve | None:
    """Fit the rate of a frame's shifts against the travellers' age; None where too little is known of it.

    With one change the age and the calendar are one and the same, so two are asked for.
    """
    if changes < _LEAST_CHANGES:
        return None
    known = np.isfinite(table.since_change)
    return rate_curve(table.since_change[known], table.breaks[known], table.weighted[known])


def traveller_age(frames: Sequence[Cells], odd_shifts: Collection[int] = ()) -> list[Answer]:
    """Answer for each frame whether its rate changes with the age of its travellers; odd shifts are left out."""
    return [_answer(cells, by_shift(cells, odd_shifts), len(frames)) for cells in frames]


def _answer(cells: Cells, table: ShiftTable, frames: int) -> Answer:
    frame, found = cells.frame, age_curve(table, cells.changes)
    known = np.isfinite(table.since_change)
    used = f"{int(table.breaks[known].sum())} breaks in {known.sum()} shifts, {cells.changes} traveller changes"
    if found is None:
        return Answer(
            question="travellers", frame=frame, sureness=Sureness.TOO_EARLY, data_used=used, cannot_say=_CANNOT,
            sentence=f"{frame}: too early to tell what the age of the travellers does; changes recorded: "
            f"{cells.changes}, and at least {_LEAST_CHANGES} with shifts after them are needed.",
        )  # fmt: skip
    young, old = (v / 24 for v in found.ends)
    ratio = found.ratio(
        found.ends[1], found.ends[0], f"rate with travellers {old:.1f} days old against {young:.1f} days"
    )
    p = min(1.0, found.p_flat * frames)
    word = sureness_of(p)
    told = f"{ratio.value:.2f} times ({ratio.low:.2f} to {ratio.high:.2f})"
    findings: tuple[Finding, ...] = ()
    if word is Sureness.MAY_BE_CHANCE:
        sentence = (
            f"{frame}: the age of the travellers makes no more difference than chance does, {told} at {old:.1f} days."
        )
    else:
        sentence = f"{frame}: {_way(ratio)} {told} at {old:.1f} days against {young:.1f} days."
        findings = (Finding(kind="traveller age", frame=frame, sentence=sentence, estimate=ratio, sureness=word, p=p),)
    days = np.floor(table.since_change[known] / 24).astype(np.int64)
    breaks, exposure = (np.bincount(days, part[known]).astype(np.float64) for part in (table.breaks, table.weighted))
    there = exposure > 0.1 * np.median(exposure[exposure > 0])
    counted = (np.asarray((np.flatnonzero(there) + 0.5) * 24.0, np.float64), breaks[there] / exposure[there])
    return Answer(
        question="travellers", frame=frame, sentence=sentence, sureness=word, data_used=used, cannot_say=_CANNOT,
        estimate=ratio, findings=findings,
        picture=found.picture(f"{frame}: breaks by age of the travellers", "hours since the traveller change", counted),
    )  # fmt: skip


def _way(ratio: Estimate) -> str:
    """Say which way the rate goes over the travellers' life."""
    if ratio.low > 1:
        return "ends break more as the travellers age,"
    if ratio.high < 1:
        return "ends break less as the travellers age,"
    return "the rate goes up and down with the age of the travellers; it is"
