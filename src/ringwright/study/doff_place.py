"""Where in the doff do ends break? By share of the cop wound, and by hours since the doff."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from ringwright.findings.finding import Answer, Estimate, Finding, Sureness, sureness_of
from ringwright.study.cells import Cells, yarn_weight
from ringwright.study.curve import RateCurve, rate_curve

__all__ = ["CopCounts", "hours_since_doff", "place_in_cop"]

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

_CANNOT_COP: Final = (
    "It takes each part of the cop to have had the same running time; doffs that ended early, or a source that reckons "
    "the share otherwise, bend the curve. It cannot part the place in the cop from the speed or tension there."
)
_CANNOT_HOURS: Final = (
    "It cannot part the hours since the doff from what goes with them: speed, balloon height, full cops. Breaks at the "
    "start itself may be booked as piecing after the doff."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CopCounts:
    """Breaks of one frame by equal bins of the share of the cop wound, and the 1000 spindle-hours of all bins."""

    frame: str
    counts: Ints
    exposure: float
    without_share: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    question: str
    kind: str
    axis: str
    unit: str
    cannot: str
    frames: int


def place_in_cop(frames: Sequence[CopCounts]) -> list[Answer]:
    """Answer for each frame whether the rate differs along the cop."""
    asked = _Asked(
        question="cop", kind="place in the cop", axis="share of the cop wound", unit="of the cop", cannot=_CANNOT_COP,
        frames=len(frames),
    )  # fmt: skip
    answers = []
    for one in frames:
        bins = len(one.counts)
        at = (np.arange(bins) + 0.5) / bins
        given = one.counts.sum() / max(one.counts.sum() + one.without_share, 1)
        exposure = np.full(bins, one.exposure * given / bins)
        found = rate_curve(at, one.counts, exposure) if given > 0 and one.exposure > 0 else None
        used = f"{int(one.counts.sum())} breaks with a place in the cop, {one.without_share} without"
        answers.append(_answer(one.frame, found, asked, used, (at, one.counts.astype(np.float64), exposure)))
    return answers


def hours_since_doff(frames: Sequence[Cells]) -> list[Answer]:
    """Answer for each frame whether the rate differs with the hours since the doff."""
    asked = _Asked(
        question="doff", kind="hours since doff", axis="hours since the doff", unit="h", cannot=_CANNOT_HOURS,
        frames=len(frames),
    )  # fmt: skip
    answers = []
    for cells in frames:
        known = np.isfinite(cells.since_doff)
        at, breaks, exposure = cells.since_doff[known], cells.breaks[known], yarn_weight(cells)[known]
        found = rate_curve(at, breaks, exposure)
        places, into = np.unique(np.round(at, 6), return_inverse=True)
        binned = (places, *(np.bincount(into, values).astype(np.float64) for values in (breaks, exposure)))
        used = f"{int(breaks.sum())} breaks in {cells.hours[known].sum():.0f} running hours with a doff before them"
        answers.append(_answer(cells.frame, found, asked, used, binned))
    return answers


def _answer(frame: str, found: RateCurve | None, asked: _Asked, used: str, binned: tuple[Array, ...]) -> Answer:
    if found is None:
        return Answer(
            question=asked.question, frame=frame, sureness=Sureness.TOO_EARLY, data_used=used, cannot_say=asked.cannot,
            sentence=f"{frame}: too early to tell by {asked.axis}; at least 50 breaks at 6 places are needed.",
        )  # fmt: skip
    p = min(1.0, found.p_flat * asked.frames)
    word = sureness_of(p)
    findings: tuple[Finding, ...] = ()
    if word is Sureness.MAY_BE_CHANCE:
        end, start = found.ends[1], found.ends[0]
        ratio = found.ratio(end, start, f"rate at {end:.2f} {asked.unit} against {start:.2f} {asked.unit}")
        sentence = (
            f"{frame}: the rate does not differ along the {asked.axis} by more than chance makes; at {end:.2f} "
            f"{asked.unit} it is {_told(ratio)} that at {start:.2f}."
        )
    else:
        high, low = found.extremes()
        ratio = found.ratio(high, low, f"rate at its highest ({high:.2f} {asked.unit}) against its lowest ({low:.2f})")
        sentence = (
            f"{frame}: ends break most at {high:.2f} {asked.unit} and least at {low:.2f}: "
            f"{_told(ratio)} as many; both places were picked after looking, so take it as somewhat less."
        )
        findings = (Finding(kind=asked.kind, frame=frame, sentence=sentence, estimate=ratio, sureness=word, p=p),)
    at, breaks, exposure = binned
    thick = exposure > 0.1 * np.median(exposure)
    return Answer(
        question=asked.question, frame=frame, sentence=sentence, sureness=word, data_used=used,
        cannot_say=asked.cannot, estimate=ratio, findings=findings,
        picture=found.picture(
            f"{frame}: breaks along the {asked.axis}", asked.axis, (at[thick], breaks[thick] / exposure[thick])
        ),
    )  # fmt: skip


def _told(ratio: Estimate) -> str:
    return f"{ratio.value:.2f} times ({ratio.low:.2f} to {ratio.high:.2f})"
