"""Did the rate change at some time? By shift, with the travellers' age taken into account."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final

import numpy as np

from ringwright.findings.finding import LIKELY, Answer, Estimate, Finding, Sureness, sureness_of
from ringwright.study.cells import Cells, ShiftTable, by_shift
from ringwright.study.change import Change, changes, one_change, scatter_of
from ringwright.study.rates import ratio_interval
from ringwright.study.traveller_age import age_curve

__all__ = ["rate_changes"]

_LEAST_SHIFTS: Final = 12

_CANNOT: Final = (
    "It cannot say what changed; look in the frame's book at that time. It looks for steps: a slow drift shows as one "
    "or more of them. Scatter from shift to shift is allowed for, but a wave that lasts days may pass for a step."
)


def rate_changes(frames: Sequence[Cells], odd_shifts: Collection[int] = (), level: float = LIKELY) -> list[Answer]:
    """Answer for each frame whether its rate changed, and when; the level is held over all frames together."""
    return [_answer(cells, by_shift(cells, odd_shifts), len(frames), level) for cells in frames]


def _expected(cells: Cells, table: ShiftTable) -> np.ndarray:
    """Give the breaks expected of each shift from the frame's rate, yarns and the travellers' age."""
    curve = age_curve(table, cells.changes)
    base = table.weighted * (curve.relative(table.since_change) if curve else 1.0)
    return np.asarray(base * table.breaks.sum() / base.sum(), np.float64)


def _answer(cells: Cells, table: ShiftTable, frames: int, level: float) -> Answer:
    frame = cells.frame
    used = f"{int(table.breaks.sum())} breaks in {len(table.shift)} shifts"
    if len(table.shift) < _LEAST_SHIFTS or table.breaks.sum() < 50:
        return Answer(
            question="changes", frame=frame, sureness=Sureness.TOO_EARLY, data_used=used, cannot_say=_CANNOT,
            sentence=f"{frame}: too early to look for a change; at least {_LEAST_SHIFTS} shifts and 50 breaks are due.",
        )  # fmt: skip
    expected = _expected(cells, table)
    scatter = scatter_of(table.breaks, expected)
    steps = changes(table.breaks, expected, scatter, level / frames)
    findings = tuple(_finding(cells, table, one, frames, scatter) for one in steps)
    best = one_change(table.breaks, expected, scatter)
    if findings:
        sentence = " ".join(one.sentence for one in findings)
        first = findings[0].estimate
    else:
        first = _ratio(table, best, scatter)
        sentence = (
            f"{frame}: no change of the rate is seen; the largest step, {first.value:.2f} times ({first.low:.2f} to "
            f"{first.high:.2f}), is such as chance makes."
        )
    return Answer(
        question="changes", frame=frame, sentence=sentence, data_used=used, cannot_say=_CANNOT, estimate=first,
        sureness=min((one.sureness for one in findings), key=list(Sureness).index, default=Sureness.MAY_BE_CHANCE),
        findings=findings,
    )  # fmt: skip


def _ratio(table: ShiftTable, one: Change, scatter: float) -> Estimate:
    """Give the rate after a change against that before; the scatter thins the counts that speak for it."""
    thin = [round(float(part.sum()) / scatter) for part in (table.breaks[one.after :], table.breaks[: one.after])]
    exact = ratio_interval((max(thin[0], 1), max(thin[1], 1)), (1.0, 1.0))
    middle = max(thin[0], 1) / max(thin[1], 1)
    value = one.after_rate / max(one.before_rate, 1e-9)
    return Estimate(
        value=value, low=value * exact[0] / middle, high=value * exact[1] / middle, unit="times",
        meaning="rate after the largest step against that before",
    )  # fmt: skip


def _finding(cells: Cells, table: ShiftTable, one: Change, frames: int, scatter: float) -> Finding:
    name = cells.shift_names[int(table.shift[one.after])]
    first, last = (cells.shift_names[int(table.shift[k])] for k in (one.earliest, one.latest))
    ratio, p = _ratio(table, one, scatter), min(1.0, one.p * frames)
    way = "rose" if ratio.value > 1 else "fell"
    return Finding(
        kind="change", frame=cells.frame, shift=name, estimate=ratio, sureness=sureness_of(p), p=p,
        sentence=f"{cells.frame}: the rate {way} at {name} (between {first} and {last}) to {ratio.value:.2f} times "
        f"({ratio.low:.2f} to {ratio.high:.2f}).",
    )  # fmt: skip
