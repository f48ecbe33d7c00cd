"""Do the spindles of one tape or belt break more together? Between groups against within, and which groups."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import stats

from ringwright.findings.finding import Answer, Estimate, Finding, Sureness, sureness_of
from ringwright.study.cells import SpindleCounts
from ringwright.study.rates import rate_interval
from ringwright.study.spindles import LEAST_EXPECTED
from ringwright.study.standing_out import stand_out

__all__ = ["GroupedSpindles", "drive_groups", "tapes_of"]

Ints = npt.NDArray[np.int64]

FALSE_SHARE: Final = 0.05

_CANNOT: Final = (
    "It cannot tell a group's tape or belt from anything else that the same spindles share, as a draught or a draft "
    "zone. Spindles named by themselves are left out of it."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupedSpindles:
    """Counts of a frame, the group (0, 1, ...) of each spindle (None for none), and what a group is called ("tape")."""

    counts: SpindleCounts
    groups: Ints | None
    called: str = "group"


def tapes_of(spindles: int, sides: int, of_one: int = 4) -> Ints:
    """Give each spindle the number of its group where one tape drives neighbours on all sides.

    Common practice, from memory: a four-spindle tape drives two spindles on each side of the frame.
    """
    on_side = max(1, of_one // sides)
    place = np.arange(spindles) % (spindles // sides)
    return np.asarray(place // on_side, np.int64)


def drive_groups(
    frames: Sequence[GroupedSpindles], named: Collection[tuple[str, int]] = (), false_share: float = FALSE_SHARE
) -> list[Answer]:
    """Answer for each frame whether its drive groups differ, and which; ``named`` (frame, spindle) are left out.

    The test shuffles the spindles among the groups, so it asks nothing of the law of their rates.
    """
    return [_one(frame, named, len(frames), false_share) for frame in frames]


def _one(frame: GroupedSpindles, named: Collection[tuple[str, int]], frames: int, false_share: float) -> Answer:
    one = frame.counts
    used = f"{int(one.counts.sum())} breaks of {len(one.counts)} spindles in {one.hours:.0f} running hours"
    word = Sureness.TOO_EARLY
    if frame.groups is None:
        word, sentence = Sureness.SURE, f"{one.frame}: its drive has no groups of spindles to compare."
    elif one.counts.mean() < LEAST_EXPECTED:
        sentence = (
            f"{one.frame}: too early to compare {frame.called}s; {one.counts.mean():.2f} breaks a spindle so far."
        )
    else:
        keep = np.array([(one.frame, k + 1) not in named for k in range(len(one.counts))])
        return _tested(frame, keep, frames, false_share, used)
    return Answer(
        question="drive", frame=one.frame, sentence=sentence, sureness=word, data_used=used,
        cannot_say=_CANNOT,
    )  # fmt: skip


def _tested(frame: GroupedSpindles, keep: npt.NDArray[np.bool_], frames: int, false_share: float, used: str) -> Answer:
    one, groups = frame.counts, frame.groups
    assert groups is not None  # noqa: S101 - the caller has looked
    y, g = one.counts[keep], groups[keep]
    size, totals = np.bincount(g), np.bincount(g, y)
    p = min(1.0, _between(y, g) * frames)
    law = stand_out(totals[size > 0], size[size > 0] * one.hours / 1000)
    q = stats.false_discovery_control(law.p)
    word = sureness_of(p)
    places = np.flatnonzero(size > 0)
    findings = [
        _finding(frame, int(places[k]), float(totals[places[k]]),
                 float(law.ordinary.mean * size[places[k]] * one.hours / 1000), float(q[k]))
        for k in np.argsort(q, kind="stable")
        if q[k] * frames <= false_share
    ]  # fmt: skip
    share = _spread_between(y, g)
    whole = f"the {len(places)} {frame.called}s differ by {share:.0%} (CV) beyond what their spindles do"
    if findings:
        sentence = " ".join(found.sentence for found in findings)
        word = min(word, findings[0].sureness, key=list(Sureness).index)
    elif word is Sureness.MAY_BE_CHANCE:
        sentence = f"{one.frame}: {frame.called}s do not differ by more than chance makes."
    else:
        sentence = f"{one.frame}: {whole}, though none stands out by itself."
        estimate = Estimate(value=share, low=0.0, high=share, unit="1", meaning=f"spread between {frame.called}s (CV)")
        findings = [
            Finding(kind="drive group", frame=one.frame, sentence=sentence, estimate=estimate, sureness=word, p=p)
        ]
    return Answer(
        question="drive", frame=one.frame, sentence=sentence, sureness=word, data_used=used, cannot_say=_CANNOT,
        findings=tuple(findings),
    )  # fmt: skip


def _between(y: Ints, g: Ints, shuffles: int = 9999, seed: int = 4) -> float:
    """Return the chance that spindles shuffled among the groups differ as much between them.

    Shuffling ends once 20 did: the chance is then known well enough (Besag and Clifford 1991, from memory).
    """
    size = np.maximum(np.bincount(g), 1)
    rng = np.random.default_rng(seed)
    seen = float((np.bincount(g, y) ** 2 / size).sum())
    above = 0
    for done in range(1, shuffles + 1):
        above += float((np.bincount(g, rng.permutation(y)) ** 2 / size).sum()) >= seen * (1 - 1e-12)
        if above == 20:
            return above / done
    return (1 + above) / (1 + shuffles)


def _spread_between(y: Ints, g: Ints) -> float:
    """Return the spread of the groups' true means beyond that of their spindles, by the mean squares."""
    size = np.bincount(g)
    means = np.bincount(g, y) / np.maximum(size, 1)
    within = float(((y - means[g]) ** 2).sum()) / max(len(y) - int((size > 0).sum()), 1)
    between = float((size * (means - y.mean()) ** 2).sum()) / max(int((size > 0).sum()) - 1, 1)
    return float(np.sqrt(max(between - within, 0.0) / size[size > 0].mean()) / y.mean())


def _finding(frame: GroupedSpindles, group: int, breaks: float, expected: float, q: float) -> Finding:
    one, groups = frame.counts, frame.groups
    assert groups is not None  # noqa: S101 - the caller has looked
    spindles = tuple(int(k) + 1 for k in np.flatnonzero(groups == group))
    low, high = rate_interval(int(breaks), expected)
    ratio = breaks / expected
    shown = ", ".join(str(k) for k in spindles[:8]) + (", ..." if len(spindles) > 8 else "")
    return Finding(
        kind="drive group", frame=one.frame, spindles=spindles, sureness=sureness_of(q, likely=FALSE_SHARE), p=q,
        estimate=Estimate(value=ratio, low=low, high=high, unit="times", meaning=f"rate against other {frame.called}s"),
        sentence=f"{one.frame}: the {frame.called} of spindles {shown} breaks {ratio:.1f} times as much as the others "
        f"({low:.1f} to {high:.1f}).",
    )  # fmt: skip
