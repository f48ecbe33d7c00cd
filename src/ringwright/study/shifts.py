"""Which shift is at fault? Single shifts that stand out on all frames together, and shifts of one name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import stats

from ringwright.findings.finding import Answer, Estimate, Finding, Sureness, sureness_of
from ringwright.study.cells import Cells, by_shift
from ringwright.study.rates import rate_interval
from ringwright.study.regression import compare, fit_counts
from ringwright.study.standing_out import stand_out

__all__ = ["odd_shifts", "shifts_that_stand_out"]

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

FALSE_SHARE: Final = 0.05
_LEAST_SHIFTS: Final = 10

_CANNOT: Final = (
    "It cannot say what the shift had: air, mixing, people or the way of recording. Shifts scatter by more than "
    "chance; the usual scatter is allowed for, so a small fault of one shift stays unseen."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Totals:
    """All frames' breaks by shift, with those expected of it from each frame's own rate."""

    shift: Ints
    breaks: Ints
    expected: Array


def _totals(frames: Sequence[Cells]) -> _Totals:
    tables = [by_shift(cells, shortest=0.0) for cells in frames]
    shifts = np.unique(np.concatenate([table.shift for table in tables]))
    breaks, expected = np.zeros(len(shifts), np.int64), np.zeros(len(shifts))
    for table in tables:
        place = np.searchsorted(shifts, table.shift)
        breaks[place] += table.breaks
        expected[place] += table.weighted * (table.breaks.sum() / table.weighted.sum())
    long = expected >= 0.25 * np.median(expected)
    return _Totals(shift=shifts[long], breaks=breaks[long], expected=expected[long])


def odd_shifts(frames: Sequence[Cells], false_share: float = FALSE_SHARE) -> list[int]:
    """List the numbers of the shifts that stand out, so that other studies may leave them out."""
    totals = _totals(frames)
    if len(totals.shift) < _LEAST_SHIFTS:
        return []
    q = stats.false_discovery_control(stand_out(totals.breaks, totals.expected).p)
    return [int(one) for one in totals.shift[q <= false_share]]


def shifts_that_stand_out(frames: Sequence[Cells], false_share: float = FALSE_SHARE) -> Answer:
    """Answer which single shifts broke more than shifts differ anyway, and whether shifts of one name do."""
    totals = _totals(frames)
    used = f"{int(totals.breaks.sum())} breaks of {len(frames)} frames in {len(totals.shift)} shifts"
    if len(totals.shift) < _LEAST_SHIFTS:
        return Answer(
            question="shifts", frame="", sureness=Sureness.TOO_EARLY, data_used=used, cannot_say=_CANNOT,
            sentence=f"Too early to name a shift: {len(totals.shift)} are recorded, {_LEAST_SHIFTS} are needed.",
        )  # fmt: skip
    law = stand_out(totals.breaks, totals.expected)
    q = stats.false_discovery_control(law.p)
    names = {k: name for cells in frames for k, name in cells.shift_names.items()}
    findings = [
        _finding(
            names[int(totals.shift[k])],
            int(totals.breaks[k]),
            float(law.ordinary.mean * totals.expected[k]),
            float(q[k]),
        )
        for k in np.argsort(q, kind="stable")
        if q[k] <= false_share
    ]
    sentence = " ".join(one.sentence for one in findings) if findings else "No single shift stands out."
    label_sentence, by_label = _labels(frames, totals)
    findings += by_label
    few = [names[int(k)] for k in totals.shift[law.silent]]
    if few:
        label_sentence += f" Far fewer breaks than usual at {', '.join(few)}: see whether they were recorded whole."
    return Answer(
        question="shifts",
        frame="",
        sentence=sentence + label_sentence,
        sureness=findings[0].sureness if findings else Sureness.MAY_BE_CHANCE,
        estimate=Estimate(
            value=law.ordinary.spread, low=0.0, high=float(np.std(totals.breaks / totals.expected)), unit="1",
            meaning="spread of the ordinary shifts beyond chance (CV); upper end: the raw spread, odd ones and all",
        ),
        findings=tuple(findings),
        data_used=used,
        cannot_say=_CANNOT,
    )  # fmt: skip


def _finding(name: str, breaks: int, expected: float, q: float) -> Finding:
    low, high = rate_interval(breaks, expected)
    ratio = breaks / expected
    return Finding(
        kind="shift",
        frame="",
        shift=name,
        estimate=Estimate(value=ratio, low=low, high=high, unit="times", meaning="rate against the ordinary shifts"),
        sureness=sureness_of(q, likely=FALSE_SHARE),
        p=q,
        sentence=f"The shift of {name} stands out: {breaks} breaks where {expected:.0f} are ordinary, "
        f"{ratio:.1f} times ({low:.1f} to {high:.1f}).",
    )


def _labels(frames: Sequence[Cells], totals: _Totals) -> tuple[str, list[Finding]]:
    """Hold shifts of one name against the others, the shift being the unit."""
    labels = {k: label for cells in frames for k, label in cells.shift_labels.items()}
    given = np.array([labels.get(int(k), "") for k in totals.shift])
    known = sorted({label for label in given.tolist() if label})
    # A shift that stands out by itself says nothing of its namesakes.
    keep = (given != "") & ~stand_out(totals.breaks, totals.expected).too_high
    if len(known) < 2 or min(int((given[keep] == label).sum()) for label in known) < 3:
        return "", []
    design = np.array([[label == one for one in known] for label in given[keep]], np.float64)
    larger = fit_counts(totals.breaks[keep], design, totals.expected[keep])
    smaller = fit_counts(totals.breaks[keep], np.ones((int(keep.sum()), 1)), totals.expected[keep])
    p = compare(smaller, larger)[1]
    word = sureness_of(p)
    worst = int(np.argmax(larger.coefficients))
    weights = np.full(len(known), -1 / (len(known) - 1))
    weights[worst] = 1.0
    value, low, high = (float(v) for v in np.exp(larger.combination(weights)[:3]))
    if word is Sureness.MAY_BE_CHANCE:
        return " Shifts of one name do not differ from the others by more than chance.", []
    sentence = f"Shifts named {known[worst]} break {value:.2f} times the others ({low:.2f} to {high:.2f})."
    estimate = Estimate(value=value, low=low, high=high, unit="times", meaning="rate against shifts of other names")
    finding = Finding(
        kind="shift", frame="", shift=known[worst], sentence=sentence, estimate=estimate, sureness=word, p=p
    )
    return f" {sentence}", [finding]
