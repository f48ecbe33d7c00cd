"""Which separators leak? Neighbours that break together at one boundary more often than chance makes them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import stats

from ringwright.findings.finding import Answer, Estimate, Finding, Sureness, sureness_of
from ringwright.findings.picture import Strip
from ringwright.study.neighbours import ClosePairs, close_pairs, joins_of, many_joins, shared_stamps
from ringwright.study.rates import rate_interval

__all__ = ["WINDOW_S", "SideBreaks", "separators_that_leak"]

Ints = npt.NDArray[np.int64]

WINDOW_S: Final = 60.0
"""Breaks of neighbours within this time count as a pair (our choice: piecing a second end takes longer)."""

FALSE_SHARE: Final = 0.10
_LEAST_PAIRS: Final = 2
_LEAST_BREAKS: Final = 1.0
_PATROL_SHARE: Final = 0.8

_CANNOT: Final = (
    "It cannot say whether the plate is missing, bent or too short: look. Two neighbours that both break more, each "
    "for its own reason, are allowed for; a cause that strikes both at one moment (a shared tape, a draught, a hand) "
    "is not."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SideBreaks:
    """Breaks of one side of a frame: places 1 to ``spindles`` along the side, times in µs; ``first`` is the number of
    the spindle at place 1."""  # noqa: D205, D209 - the second line belongs to the first

    frame: str
    side: int
    first: int
    spindles: int
    places: Ints
    times: Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class _Side:
    """What is kept of a side: its breaks by place and its pairs, but not the times, which are many."""

    frame: str
    side: int
    first: int
    spindles: int
    counts: Ints
    wrong: str
    found: ClosePairs | None = None
    p_all: float = 1.0
    expected: float = 0.0
    joined: int = 0

    @property
    def where(self) -> str:
        return f"{self.frame}, side {self.side}"


def separators_that_leak(
    sides: Iterable[SideBreaks],
    *,
    at_patrol: bool = False,
    window_s: float = WINDOW_S,
    false_share: float = FALSE_SHARE,
) -> list[Answer]:
    """Answer for each side which boundaries leak; the share of false names is held over all sides together.

    ``at_patrol`` says that a break's time is that of the patrol which found it: breaks of one side with one time are
    one patrol, and the joins of all patrols are held against their exact law. Sides are looked at one after the other.
    """
    seen = [_measured(side, at_patrol=at_patrol, window_s=window_s) for side in sides]
    laws = [one.found.p for one in seen if one.found is not None]
    q = stats.false_discovery_control(np.concatenate(laws)) if laws else np.array([])
    splits = iter(np.split(q, np.cumsum([len(law) for law in laws])[:-1]))
    return [
        _too_early(one)
        if one.found is None
        else _answer(one, one.found, next(splits), len(laws), at_patrol=at_patrol, false_share=false_share)
        for one in seen
    ]


def _stamped_wrong(side: SideBreaks, *, at_patrol: bool) -> str:
    """Say what is wrong where the times are plainly not what they are said to be; else nothing."""
    if len(side.places) < _LEAST_BREAKS * side.spindles:
        return ""
    shared = shared_stamps(side.times)
    if not at_patrol and shared > _PATROL_SHARE:
        return (
            "most breaks share their time with another, so the times look like those of patrols, not of breaks; say so "
            "(--stamped patrol) and the joins of each patrol are counted instead."
        )
    if at_patrol and shared < 1 - _PATROL_SHARE:
        return "hardly two breaks share a time, so the times are not those of patrols; leave --stamped patrol out."
    return ""


def _measured(side: SideBreaks, *, at_patrol: bool, window_s: float) -> _Side:
    counts = np.bincount(side.places, minlength=side.spindles + 1)[1:]
    wrong = _stamped_wrong(side, at_patrol=at_patrol)
    seen = _Side(frame=side.frame, side=side.side, first=side.first, spindles=side.spindles, counts=counts, wrong=wrong)
    if wrong or len(side.places) < _LEAST_BREAKS * side.spindles:
        return seen
    found = close_pairs(side.places, side.times, side.spindles, 0 if at_patrol else round(window_s * 1e6))
    if not at_patrol:
        return replace(seen, found=found, p_all=found.p_all, expected=found.total[1], joined=found.total[0])
    order = np.argsort(side.times, kind="stable")
    starts = np.flatnonzero(np.diff(side.times[order])) + 1
    patrols = [np.unique(places) for places in np.split(side.places[order], starts)]
    joined = sum(joins_of(places) for places in patrols)
    expected, p_all = many_joins([len(places) for places in patrols], joined, side.spindles)
    return replace(seen, found=found, p_all=p_all, expected=expected, joined=joined)


def _answer(
    one: _Side, pairs: ClosePairs, q: np.ndarray, sides: int, *, at_patrol: bool, false_share: float
) -> Answer:
    counts, where = one.counts, one.where
    named = [int(k) for k in np.argsort(q, kind="stable") if q[k] <= false_share and pairs.pairs[k] >= _LEAST_PAIRS]
    findings = tuple(_finding(one, pairs, k, float(q[k])) for k in named)
    whole = _whole_side(one, sides, findings=len(findings))
    if findings:
        places = ", ".join(f"between {one.first + k} and {one.first + k + 1}" for k in sorted(named))
        sentence = f"{where}: the separator {places} leaks."
    else:
        sentence = f"{where}: no separator stands out."
    low, high = rate_interval(one.joined, 1.0)
    window = "at one patrol" if at_patrol else "close in time"
    return Answer(
        question="separators",
        frame=one.frame,
        sentence=sentence + whole,
        sureness=findings[0].sureness if findings else Sureness.MAY_BE_CHANCE,
        estimate=Estimate(value=one.joined, low=low, high=high, unit="pairs",
                          meaning=f"neighbours broken {window}, where chance makes {one.expected:.1f}"),
        findings=findings,
        data_used=f"{int(counts.sum())} breaks of {one.spindles} spindles, {'patrols' if at_patrol else 'timed'}",
        cannot_say=_CANNOT,
        picture=Strip(
            title=f"{where}: neighbours that broke together",
            boundaries=tuple(range(one.first, one.first + one.spindles - 1)), pairs=tuple(pairs.pairs.tolist()),
            expected=float(pairs.expected.mean()), named=tuple(one.first + k for k in sorted(named)),
        ),
    )  # fmt: skip


def _whole_side(one: _Side, sides: int, findings: int) -> str:
    """Say whether the side as a whole has more pairs than chance; left unsaid where a named boundary explains it."""
    if findings or sureness_of(min(1.0, one.p_all * sides)) is Sureness.MAY_BE_CHANCE:
        return ""
    return (
        f" But the side as a whole has {one.joined} pairs where chance makes {one.expected:.0f}: breaks draw their "
        "neighbours along it; see whether all plates are fitted and straight."
    )


def _finding(one: _Side, found: ClosePairs, k: int, q: float) -> Finding:
    pairs, chance = int(found.pairs[k]), float(found.expected[k])
    breaks = int(one.counts[k] + one.counts[k + 1])
    low, high = (max(0.0, v - chance) / max(breaks - pairs, 1) for v in rate_interval(pairs, 1.0))
    first = one.first + k
    return Finding(
        kind="separator",
        frame=one.frame,
        side=one.side,
        spindles=(first, first + 1),
        estimate=Estimate(
            value=(pairs - chance) / max(breaks - pairs, 1), low=low, high=high, unit="1",
            meaning="share of breaks at the two spindles that took the neighbour's end along",
        ),
        sureness=sureness_of(q, likely=FALSE_SHARE),
        p=q,
        sentence=f"{one.where}, between spindles {first} and {first + 1}: {pairs} pairs "
        f"where chance makes {chance:.2f}.",
    )  # fmt: skip


def _too_early(one: _Side) -> Answer:
    many = int(one.counts.sum())
    sentence = f"{one.where}: {one.wrong}"
    if not one.wrong:
        sentence = (
            f"{one.where}: too early to name a separator; {many} breaks are recorded, and at least "
            f"{_LEAST_BREAKS * one.spindles:.0f} are needed."
        )
    return Answer(
        question="separators",
        frame=one.frame,
        sentence=sentence,
        sureness=Sureness.TOO_EARLY,
        data_used=f"{many} breaks of {one.spindles} spindles",
        cannot_say=_CANNOT,
    )
