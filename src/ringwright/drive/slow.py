"""Which spindles, tapes or belts run slow beyond chance: readings against the model, with false alarms held down.

Each reading is held to the model's speed of its spindle as ln(read / model), and the frame's own median is taken off,
so that neither an error of the model's mean nor of the stroboscope's scale blames anyone. The spread is taken from the
median of the distances (robust against the slow ones themselves), and tested by Student's law with the degrees of
freedom that such a spread is worth. Groups and single spindles are two families; Benjamini and Hochberg 1995 hold the
share of false names to half of FALSE_SHARE in each.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import stats

from ringwright.drive.frame_drive import FrameDrive
from ringwright.drive.layout import group_word
from ringwright.findings.finding import Answer, Estimate, Finding, Sureness, sureness_of
from ringwright.physics.real import Array

__all__ = ["FALSE_SHARE", "SlowStudy", "study_speeds"]

Ints = npt.NDArray[np.int64]

FALSE_SHARE: Final = 0.05
LEAST_READ: Final = 12
FEW_GROUPS: Final = 8
WORTH: Final = 0.37
"""Efficiency of a spread taken from the median distance, against the usual one, for normal readings."""
TO_SIGMA: Final = 1.4826
FINEST: Final = 2e-4
"""Least spread believed [1]: a stroboscope is not read better than this; our own estimate."""
_CANNOT: Final = (
    "It cannot tell a slack tape from a worn one, a dry bolster or a wharve of another diameter; and readings taken "
    "while the frame changes its speed look like uneven spindles. Read in the main part of the doff."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SlowStudy:
    """What a round says: its answer with findings, and how the readings lie against the model.

    ``offset`` is the median of read over model, less 1; ``spread`` the robust standard deviation about it [1];
    ``spindles`` and ``off`` are the spindle numbers read and their ln(read / model) less the median, each (n,), the
    belt's own slope taken from the readings.
    ``slope`` is how steeply the readings follow the model's speeds along the belt, 1 where they agree, with its 95 %
    interval; nan where the model's own speeds are too alike to tell. ``fast`` are spindles fast beyond chance.
    """

    answer: Answer
    offset: float
    spread: float
    slope: tuple[float, float, float]
    spindles: Ints
    off: Array
    fast: tuple[int, ...] = ()
    remarks: tuple[str, ...] = field(default=())


def study_speeds(driven: FrameDrive, read: Mapping[int, float]) -> SlowStudy:
    """Compare the speeds read (rad/s by spindle number) with a frame's drive and name what is slow beyond chance."""
    frame, numbers = driven.frame, np.array(sorted(read), dtype=np.int64)
    used = f"{len(numbers)} of {frame.spindles} spindles of {frame.name}"
    if len(numbers) < LEAST_READ:
        said = f"{frame.name}: too early to name spindles; {len(numbers)} read, at least {LEAST_READ} are wanted."
        return _early(_answer(frame.name, said, Sureness.TOO_EARLY, used), numbers)
    ratio = np.log(np.array([read[int(k)] for k in numbers]) / driven.speed[numbers - 1])
    slope, model = _slope(driven, ratio, numbers), np.log(driven.speed[numbers - 1] / driven.speed.mean())
    # A belt softer or stiffer than the mill says falls off in another way; that is the belt's, and blames no spindle.
    straight = ratio - (slope[0] - 1) * model if np.isfinite(slope[0]) else ratio
    offset = float(np.median(straight))
    off = straight - offset
    groups = driven.belt[numbers - 1]
    named, remarks = _groups(driven, off, groups)
    slow_groups = {group for group, _ in named}
    singles, fast, spread = _singles(driven, off, groups, numbers, slow_groups)
    findings = (*(finding for _, finding in named), *singles)
    sentence = " ".join(one.sentence for one in findings) or (
        f"{frame.name}: no spindle and no {group_word(frame)} is slow beyond what chance makes."
    )
    word = min((one.sureness for one in findings), key=list(Sureness).index, default=Sureness.MAY_BE_CHANCE)
    return SlowStudy(
        answer=_answer(frame.name, sentence, word, used, findings), offset=float(np.expm1(offset)), spread=spread,
        slope=slope, spindles=numbers, off=off, fast=fast, remarks=remarks,
    )  # fmt: skip


def _answer(
    frame: str, sentence: str, word: Sureness, used: str, findings: tuple[Finding, ...] = ()
) -> Answer:  # fmt: skip
    return Answer(
        question="speeds", frame=frame, sentence=sentence, sureness=word, data_used=used, cannot_say=_CANNOT,
        findings=findings,
    )  # fmt: skip


def _early(answer: Answer, numbers: Ints) -> SlowStudy:
    nan = float("nan")
    return SlowStudy(
        answer=answer, offset=nan, spread=nan, slope=(nan, nan, nan), spindles=numbers, off=np.full(len(numbers), nan)
    )


def _robust(values: Array) -> tuple[float, float, float]:
    """Give the median, the spread about it and the degrees of freedom that the spread is worth."""
    middle = float(np.median(values))
    spread = TO_SIGMA * float(np.median(np.abs(values - middle)))
    return middle, max(spread, FINEST), max(1.0, WORTH * (len(values) - 1))


def _q(values: Array, middle: float, spread: float, freedom: float) -> Array:
    """Give the adjusted chance that each is so low, half of the false share being left to the other family."""
    p = stats.t.cdf((values - middle) / spread, freedom)
    return np.asarray(np.minimum(2 * stats.false_discovery_control(p), 1.0), dtype=np.float64)


def _groups(driven: FrameDrive, off: Array, groups: Ints) -> tuple[list[tuple[int, Finding]], tuple[str, ...]]:
    """Test the tapes or belts by the median of their spindles, which one slow spindle does not move."""
    frame = driven.frame
    if not driven.runs:
        return [], ("Each spindle has its own motor, so there are no groups to compare.",)
    sizes = np.bincount(driven.belt[driven.belt >= 0])
    counts = np.bincount(groups, minlength=len(sizes))
    there = np.flatnonzero((counts >= 3) & (2 * counts >= np.minimum(sizes, 6)))
    if len(there) < FEW_GROUPS:
        return _few(driven, off, groups, there)
    centres = np.array([float(np.median(off[groups == k])) for k in there])
    middle, spread, freedom = _robust(centres)
    q = _q(centres, middle, spread, freedom)
    low = [int(k) for k in np.argsort(q, kind="stable") if q[k] <= FALSE_SHARE]
    band = float(stats.t.ppf(0.975, freedom)) * spread
    said = [(int(there[k]), _group_finding(driven, int(there[k]), centres[k] - middle, band, float(q[k]))) for k in low]
    left = len(sizes) - len(there)
    word = group_word(frame)
    return said, (f"{left} of {len(sizes)} {word}s had too few spindles read to be judged.",) if left else ()


def _few(
    driven: FrameDrive, off: Array, groups: Ints, there: Ints
) -> tuple[list[tuple[int, Finding]], tuple[str, ...]]:
    """Hold each of a few belts to the others, each known as well as its spindles' median is."""
    found, remarks = [], []
    least = driven.frame.drive.twist_spread / 4
    for k in there:
        own, rest = off[groups == k], off[np.isin(groups, there) & (groups != k)]
        if not len(rest):
            continue
        (a, sa, _), (b, sb, _) = _robust(own), _robust(rest)
        error = 1.2533 * float(np.hypot(sa / np.sqrt(len(own)), sb / np.sqrt(len(rest))))
        q = float(min(1.0, 2 * len(there) * stats.norm.cdf((a - b) / error)))
        if q > FALSE_SHARE:
            continue
        if b - a < least:
            remarks.append(
                f"Belt {int(k) + 1} runs {100 * (b - a):.2f} % below the others: beyond chance, yet under a quarter of "
                f"the allowance on twist, so it makes no task."
            )
        else:
            found.append((int(k), _group_finding(driven, int(k), a - b, 1.96 * error, q)))
    return found, tuple(remarks)


def _group_finding(driven: FrameDrive, group: int, off: float, band: float, q: float) -> Finding:
    frame = driven.frame
    spindles = tuple(int(k) + 1 for k in np.flatnonzero(driven.belt == group))
    shown = ", ".join(str(k) for k in spindles[:8]) + (", ..." if len(spindles) > 8 else "")
    estimate = _estimate(off, band)
    sentence = (
        f"{frame.name}: the {group_word(frame)} of spindles {shown} runs {_by(estimate)}; its yarn has as much less "
        f"twist."
    )
    return Finding(
        kind="slow group", frame=frame.name, spindles=spindles, sentence=sentence, estimate=estimate, p=q,
        sureness=sureness_of(q, likely=FALSE_SHARE),
    )  # fmt: skip


def _singles(
    driven: FrameDrive, off: Array, groups: Ints, numbers: Ints, slow_groups: set[int]
) -> tuple[list[Finding], tuple[int, ...], float]:
    """Test the spindles, those of a slow tape or belt against their own group."""
    own = off.copy()
    for group in slow_groups:
        own[groups == group] -= float(np.median(off[groups == group]))
    middle, spread, freedom = _robust(own)
    q, high = _q(own, middle, spread, freedom), _q(-own, -middle, spread, freedom)
    band = float(stats.t.ppf(0.975, freedom)) * spread
    found = [
        _single_finding(driven, int(numbers[k]), float(own[k] - middle), band, float(q[k]))
        for k in np.argsort(q, kind="stable")
        if q[k] <= FALSE_SHARE
    ]
    return found, tuple(int(numbers[k]) for k in np.flatnonzero(high <= FALSE_SHARE)), spread


def _single_finding(driven: FrameDrive, spindle: int, off: float, band: float, q: float) -> Finding:
    frame, estimate = driven.frame, _estimate(off, band)
    side = (spindle - 1) // (int(frame.spindles) // int(frame.sides)) + 1
    return Finding(
        kind="slow spindle", frame=frame.name, side=side, spindles=(spindle,), estimate=estimate, p=q,
        sureness=sureness_of(q, likely=FALSE_SHARE),
        sentence=f"{frame.name}: spindle {spindle} runs {_by(estimate)}; its yarn has as much less twist.",
    )  # fmt: skip


def _estimate(off: float, band: float) -> Estimate:
    value, low, high = (-100 * float(np.expm1(one)) for one in (off, off + band, off - band))
    return Estimate(value=value, low=low, high=high, unit="%", meaning="speed below the model of the frame")


def _by(one: Estimate) -> str:
    return f"{one.value:.1f} % slow ({one.low:.1f} to {one.high:.1f})"


def _slope(driven: FrameDrive, ratio: Array, numbers: Ints) -> tuple[float, float, float]:
    """Give how steeply readings follow the model along the belt, by Theil and Sen, with its interval."""
    model = np.log(driven.speed[numbers - 1] / driven.speed.mean())
    if float(np.ptp(model)) < 1e-3:
        return (float("nan"),) * 3
    slope, _, low, high = stats.theilslopes(ratio, model, 0.95)
    return 1 + float(slope), 1 + float(low), 1 + float(high)
