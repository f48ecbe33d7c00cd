"""Which spindles stand out? The few that break more than the ordinary ones of their frame by more than chance."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from scipy import stats

from ringwright.findings.finding import Answer, Estimate, Finding, Sureness, sureness_of
from ringwright.findings.picture import Bars
from ringwright.study.cells import SpindleCounts
from ringwright.study.rates import rate_interval
from ringwright.study.standing_out import StandingOut, stand_out

__all__ = ["FALSE_SHARE", "LEAST_EXPECTED", "spindles_that_stand_out"]

LEAST_EXPECTED: Final = 1.0
"""Breaks expected of an ordinary spindle below which none is named."""

FALSE_SHARE: Final = 0.10
"""Share of false ones allowed among the spindles that are named (Benjamini and Hochberg 1995)."""

_CANNOT: Final = (
    "It cannot say why a spindle breaks more, nor clear those not named: a spindle at twice the rate needs about ten "
    "times as many breaks to be seen as one at five times. It takes each spindle to have run whenever its frame ran."
)


def spindles_that_stand_out(frames: Sequence[SpindleCounts], false_share: float = FALSE_SHARE) -> list[Answer]:
    """Answer for each frame which spindles stand out; the share of false names is held over all frames together."""
    laws = [
        stand_out(one.counts, np.full(len(one.counts), one.hours / 1000)) if _expected(one) >= LEAST_EXPECTED else None
        for one in frames
    ]
    adjusted = iter(_adjusted([law for law in laws if law]))
    return [
        _answer(one, law, next(adjusted), false_share) if law else _too_early(one)
        for one, law in zip(frames, laws, strict=True)
    ]


def _expected(one: SpindleCounts) -> float:
    return float(one.counts.mean()) if one.hours > 0 and len(one.counts) else 0.0


def _adjusted(laws: Sequence[StandingOut]) -> list[np.ndarray]:
    """Adjust the p of all frames' spindles together."""
    if not laws:
        return []
    q = stats.false_discovery_control(np.concatenate([law.p for law in laws]))
    return np.split(q, np.cumsum([len(law.p) for law in laws])[:-1])


def _answer(one: SpindleCounts, law: StandingOut, q: np.ndarray, false_share: float) -> Answer:
    mean = law.ordinary.mean * one.hours / 1000
    places = [int(k) for k in np.argsort(-one.counts, kind="stable") if q[k] <= false_share]
    findings = tuple(_finding(one, int(place), mean, float(q[place]), false_share) for place in places)
    named = tuple(sorted(place + 1 for place in places))
    if findings:
        listed = ", ".join(str(number) for number in named)
        many = "1 spindle stands" if len(named) == 1 else f"{len(named)} spindles stand"
        sentence = f"{one.frame}: {many} out of {len(one.counts)}: {listed}."
    else:
        sentence = f"{one.frame}: no spindle stands out; the differences are such as chance makes."
    return Answer(
        question="spindles",
        frame=one.frame,
        sentence=sentence + _never_broke(law, mean),
        sureness=findings[0].sureness if findings else Sureness.MAY_BE_CHANCE,
        estimate=_ordinary(one, law),
        findings=findings,
        data_used=f"{int(one.counts.sum())} breaks of {len(one.counts)} spindles in {one.hours:.0f} running hours",
        cannot_say=f"About {false_share:.0%} of the spindles named, or one list in ten where none is bad, is false. "
        + _CANNOT,
        picture=Bars(title=f"{one.frame}: each spindle", counts=tuple(one.counts.tolist()), mean=mean, named=named),
    )


def _ordinary(one: SpindleCounts, law: StandingOut) -> Estimate:
    kept = ~(law.too_high | law.too_low)
    low, high = rate_interval(int(one.counts[kept].sum()), float(kept.sum()) * one.hours / 1000)
    return Estimate(
        value=law.ordinary.mean, low=low, high=high, unit="breaks per 1000 spindle-hours",
        meaning=f"rate of the ordinary spindles, which differ among themselves by {law.ordinary.spread:.0%} (CV)",
    )  # fmt: skip


def _never_broke(law: StandingOut, mean: float) -> str:
    idle = int(law.silent.sum())
    if not idle:
        return ""
    have = "1 spindle has" if idle == 1 else f"{idle} spindles have"
    return f" {have} far fewer than the {mean:.0f} breaks expected: see whether they ran and were recorded."


def _finding(one: SpindleCounts, place: int, mean: float, q: float, false_share: float) -> Finding:
    count = int(one.counts[place])
    low, high = rate_interval(count, mean)
    side = place // one.spindles_of_side + 1
    estimate = Estimate(
        value=count / mean, low=low, high=high, unit="times", meaning="rate against the ordinary spindles"
    )
    return Finding(
        kind="spindle",
        frame=one.frame,
        side=side,
        spindles=(place + 1,),
        estimate=estimate,
        sureness=sureness_of(q, likely=false_share),
        p=q,
        sentence=f"{one.frame}, side {side}, spindle {place + 1}: {count} breaks where {mean:.0f} are ordinary, "
        f"{count / mean:.1f} times ({low:.1f} to {high:.1f}).",
    )


def _too_early(one: SpindleCounts) -> Answer:
    expected = _expected(one)
    wait = f" About {one.hours * LEAST_EXPECTED / expected:.0f} running hours are needed." if expected else ""
    return Answer(
        question="spindles",
        frame=one.frame,
        sentence=f"{one.frame}: too early to name any spindle; each has had {expected:.2f} breaks on average, and at "
        f"least {LEAST_EXPECTED:.0f} is needed.{wait}",
        sureness=Sureness.TOO_EARLY,
        data_used=f"{int(one.counts.sum())} breaks of {len(one.counts)} spindles in {one.hours:.0f} running hours",
        cannot_say=_CANNOT,
    )
