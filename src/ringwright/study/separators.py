"""Which separators leak? Neighbours that break together at one boundary more often than chance makes them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
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
    of: SideBreaks
    found: ClosePairs
    p_all: float
    expected: float
    joined: int


def separators_that_leak(
    sides: Sequence[SideBreaks],
    *,
    at_patrol: bool = False,
    window_s: float = WINDOW_S,
    false_share: float = FALSE_SHARE,
) -> list[Answer]:
    """Answer for each side which boundaries leak; the share of false names is held over all sides together.

    ``at_patrol`` says that a break's time is that of the patrol which found it: breaks of one side with one time are
    one patrol, and the joins of all patrols are held against their exact law.
    """
    stamped = [_stamped_wrong(side, at_patrol=at_patrol) for side in sides]
    ready = [
        _measured(side, at_patrol=at_patrol, window_s=window_s)
        for side, wrong in zip(sides, stamped, strict=True)
        if not wrong and len(side.places) >= _LEAST_BREAKS * side.spindles
    ]
    q = np.array([])
    if ready:
        q = stats.false_discovery_control(np.concatenate([side.found.p for side in ready]))
    splits = iter(np.split(q, np.cumsum([len(side.found.p) for side in ready])[:-1]))
    known = {id(side.of): side for side in ready}
    return [
        _answer(known[id(side)], next(splits), len(ready), at_patrol=at_patrol, false_share=false_share)
        if id(side) in known
        else _too_early(side, wrong)
        for side, wrong in zip(sides, stamped, strict=True)
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
    found = close_pairs(side.places, side.times, side.spindles, 0 if at_patrol else round(window_s * 1e6))
    if not at_patrol:
        return _Side(of=side, found=found, p_all=found.p_all, expected=found.total[1], joined=found.total[0])
    order = np.argsort(side.times, kind="stable")
    starts = np.flatnonzero(np.diff(side.times[order])) + 1
    patrols = [np.unique(places) for places in np.split(side.places[order], starts)]
    joined = sum(joins_of(places) for places in patrols)
    expected, p_all = many_joins([len(places) for places in patrols], joined, side.spindles)
    return _Side(of=side, found=found, p_all=p_all, expected=expected, joined=joined)


def _answer(one: _Side, q: np.ndarray, sides: int, *, at_patrol: bool, false_share: float) -> Answer:
    side = one.of
    counts = np.bincount(side.places, minlength=side.spindles + 1)[1:]
    named = [int(k) for k in np.argsort(q, kind="stable") if q[k] <= false_share and one.found.pairs[k] >= _LEAST_PAIRS]
    findings = tuple(_finding(one, k, int(counts[k] + counts[k + 1]), float(q[k])) for k in named)
    where = f"{side.frame}, side {side.side}"
    whole = _whole_side(one, sides, findings=len(findings))
    if findings:
        places = ", ".join(f"between {side.first + k} and {side.first + k + 1}" for k in sorted(named))
        sentence = f"{where}: the separator {places} leaks."
    else:
        sentence = f"{where}: no separator stands out."
    low, high = rate_interval(one.joined, 1.0)
    window = "at one patrol" if at_patrol else "close in time"
    return Answer(
        question="separators",
        frame=side.frame,
        sentence=sentence + whole,
        sureness=findings[0].sureness if findings else Sureness.MAY_BE_CHANCE,
        estimate=Estimate(value=one.joined, low=low, high=high, unit="pairs",
                          meaning=f"neighbours broken {window}, where chance makes {one.expected:.1f}"),
        findings=findings,
        data_used=f"{len(side.places)} breaks of {side.spindles} spindles, {'patrols' if at_patrol else 'timed'}",
        cannot_say=_CANNOT,
        picture=Strip(
            title=f"{where}: neighbours that broke together",
            boundaries=tuple(range(side.first, side.first + side.spindles - 1)), pairs=tuple(one.found.pairs.tolist()),
            expected=float(one.found.expected.mean()), named=tuple(side.first + k for k in sorted(named)),
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


def _finding(one: _Side, k: int, breaks: int, q: float) -> Finding:
    side, pairs, chance = one.of, int(one.found.pairs[k]), float(one.found.expected[k])
    low, high = (max(0.0, v - chance) / max(breaks - pairs, 1) for v in rate_interval(pairs, 1.0))
    first = side.first + k
    return Finding(
        kind="separator",
        frame=side.frame,
        side=side.side,
        spindles=(first, first + 1),
        estimate=Estimate(
            value=(pairs - chance) / max(breaks - pairs, 1), low=low, high=high, unit="1",
            meaning="share of breaks at the two spindles that took the neighbour's end along",
        ),
        sureness=sureness_of(q, likely=FALSE_SHARE),
        p=q,
        sentence=f"{side.frame}, side {side.side}, between spindles {first} and {first + 1}: {pairs} pairs "
        f"where chance makes {chance:.2f}.",
    )  # fmt: skip


def _too_early(side: SideBreaks, wrong: str) -> Answer:
    where = f"{side.frame}, side {side.side}"
    sentence = f"{where}: {wrong}"
    if not wrong:
        sentence = (
            f"{where}: too early to name a separator; {len(side.places)} breaks are recorded, and at least "
            f"{_LEAST_BREAKS * side.spindles:.0f} are needed."
        )
    return Answer(
        question="separators",
        frame=side.frame,
        sentence=sentence,
        sureness=Sureness.TOO_EARLY,
        data_used=f"{len(side.places)} breaks of {side.spindles} spindles",
        cannot_say=_CANNOT,
    )
