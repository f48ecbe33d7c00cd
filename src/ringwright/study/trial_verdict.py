"""Was the trial better? Judged by shift, frames and shifts held against themselves; chance is not praised."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import stats

from ringwright.findings.finding import Answer, Estimate, Finding, Sureness, sureness_of
from ringwright.refusal import Fault, Refusal
from ringwright.study.regression import Fit, fit_counts

__all__ = ["LEVEL", "ShiftRow", "judge_trial"]

LEVEL: Final = 0.05
"""Share of trials of a setting that does nothing which are called likely all the same."""

_LEAST_SHIFTS: Final = 3

_CANNOT: Final = (
    "It cannot say that the setting was the cause where something else was changed with it, nor what it does on other "
    "frames, yarns or air than those tried."
)
_CANNOT_AFTER: Final = (
    "The settings ran one after the other: whatever else changed between (air, mixing, travellers) counts as the "
    "setting. "
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftRow:
    """One frame in one shift of a trial: its setting, breaks, and running time in 1000 spindle-hours."""

    shift: str
    frame: str
    setting: str
    breaks: int
    exposure: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fitted:
    fit: Fit
    shifts: int
    beside: bool


def judge_trial(rows: Sequence[ShiftRow], old: str, wanted: float = 0.8, level: float = LEVEL) -> Answer:
    """Answer how the new setting's rate stands to the old one's.

    Where both settings ran in the same shifts on frames that swapped them, shift and frame are taken out (quasi-Poisson
    with a term for each); where they ran one after the other, shifts are summed and compared. ``wanted`` is the ratio
    that would matter; it is told how many shifts such a change would need. Refusal if there are not just two settings.
    """
    new = _new_setting(rows, old)
    used = _used(rows)
    found = _fitted(rows, new)
    if isinstance(found, str):
        return Answer(
            question="trial", frame="", sentence=f"Too early to tell {new} from {old}: {found}",
            sureness=Sureness.TOO_EARLY, data_used=used, cannot_say=_CANNOT,
        )  # fmt: skip
    weights = np.zeros(len(found.fit.coefficients))
    weights[0] = 1.0
    # The scatter as found, also where chance made it small: with Student's law that is what keeps the level.
    log_ratio, low, high, p = found.fit.combination(weights, scatter=max(found.fit.dispersion, 1e-6))
    ratio = Estimate(
        value=math.exp(log_ratio), low=math.exp(low), high=math.exp(high), unit="times",
        meaning=f"rate with {new} against {old}",
    )  # fmt: skip
    word = sureness_of(p, likely=level)
    told = f"{new} breaks {ratio.value:.2f} times as much as {old} ({ratio.low:.2f} to {ratio.high:.2f})"
    findings: tuple[Finding, ...] = ()
    if word is Sureness.MAY_BE_CHANCE:
        rest = f"a change of {_change(wanted)} is not among that."
        if round(ratio.low, 2) <= wanted <= round(ratio.high, 2):  # as it is written
            more = _shifts_needed(found, (high - low) / 2, wanted)
            rest = f"a change of {_change(wanted)} would need about {more} shifts in all with this scatter."
        sentence = (
            f"No difference is shown: {told}, which chance makes of two equal settings (p = {p:.2f}). From "
            f"{_change(ratio.low)} to {_change(ratio.high)} is open; {rest}"
        )
    else:
        sentence = f"{told}: {_change(ratio.value)} breaks (p = {p:.2g})."
        findings = (Finding(kind="trial", frame="", sentence=sentence, estimate=ratio, sureness=word, p=p),)
    return Answer(
        question="trial", frame="", sentence=sentence, sureness=word, data_used=used, estimate=ratio, findings=findings,
        cannot_say=("" if found.beside else _CANNOT_AFTER) + f"Of a hundred trials of a setting that does nothing, "
        f"{100 * level:.0f} are called likely all the same. " + _CANNOT,
    )  # fmt: skip


def _new_setting(rows: Sequence[ShiftRow], old: str) -> str:
    settings = sorted({row.setting for row in rows})
    faults = []
    if len(settings) != 2 or old not in settings:
        got = ", ".join(settings) or "none"
        faults.append(Fault(where="the settings of the trial", got=got, wants=f"two, one of them {old}"))
    faults += [
        Fault(where=f"the running time of {row.frame} at {row.shift}", got=f"{row.exposure:g}", wants="more than 0")
        for row in rows
        if not row.exposure > 0
    ]
    faults += [
        Fault(where=f"the breaks of {row.frame} at {row.shift}", got=str(row.breaks), wants="0 or more")
        for row in rows
        if row.breaks < 0
    ]
    if faults:
        raise Refusal(faults)
    return next(one for one in settings if one != old)


def _used(rows: Sequence[ShiftRow]) -> str:
    shifts, frames = len({row.shift for row in rows}), len({row.frame for row in rows})
    hours = 1000 * sum(row.exposure for row in rows)
    of = f"{frames} frame" if frames == 1 else f"{frames} frames"
    return f"{sum(row.breaks for row in rows)} breaks of {of} in {shifts} shifts, {hours:,.0f} spindle-hours"


def _fitted(rows: Sequence[ShiftRow], new: str) -> _Fitted | str:
    """Fit the design that the rows allow; else say in words what is missing."""
    settings_of: dict[str, set[str]] = {}
    for row in rows:
        settings_of.setdefault(row.shift, set()).add(row.setting)
    both = [row for row in rows if len(settings_of[row.shift]) == 2]
    if both:
        shifts = len({row.shift for row in both})
        if shifts < _LEAST_SHIFTS:
            return f"{shifts} shifts have both settings, and at least {_LEAST_SHIFTS} are needed."
        return _beside(both, new, shifts)
    return _one_after_the_other(rows, new)


def _beside(rows: Sequence[ShiftRow], new: str, shifts: int) -> _Fitted | str:
    design = np.column_stack(
        [
            [float(row.setting == new) for row in rows],
            _dummies([row.shift for row in rows]),
            _dummies([row.frame for row in rows])[:, 1:],
        ]
    )
    if np.linalg.matrix_rank(design) < design.shape[1]:
        return "each frame kept its setting, so setting and frame cannot be told apart; swap the settings and go on."
    if len(rows) <= design.shape[1]:
        return "there are too few shifts to see their scatter; go on."
    if not _breaks_in_each(rows):
        return "a frame or shift has no break at all."
    fit = fit_counts([row.breaks for row in rows], design, [row.exposure for row in rows])
    return _Fitted(fit=fit, shifts=shifts, beside=True)


def _breaks_in_each(rows: Sequence[ShiftRow]) -> bool:
    groups: dict[tuple[str, str], int] = {}
    for row in rows:
        for key in (("shift", row.shift), ("frame", row.frame), ("setting", row.setting)):
            groups[key] = groups.get(key, 0) + row.breaks
    return all(groups.values())


def _one_after_the_other(rows: Sequence[ShiftRow], new: str) -> _Fitted | str:
    frames_of = {
        setting: {row.frame for row in rows if row.setting == setting} for setting in {r.setting for r in rows}
    }
    first, second = frames_of.values()
    if first != second:
        return "each frame kept its setting, so setting and frame cannot be told apart; swap the settings and go on."
    rate = {
        frame: sum(r.breaks for r in rows if r.frame == frame) / sum(r.exposure for r in rows if r.frame == frame)
        for frame in first
    }
    shifts = sorted({row.shift for row in rows})
    place = np.array([shifts.index(row.shift) for row in rows])
    breaks = np.bincount(place, [row.breaks for row in rows])
    # Frames are weighted by their own rates, so that a shift in which one stood still can be compared.
    expected = np.bincount(place, [row.exposure * rate[row.frame] for row in rows])
    setting = {row.shift: row.setting for row in rows}
    is_new = np.array([float(setting[shift] == new) for shift in shifts])
    few = int(min(is_new.sum(), len(is_new) - is_new.sum()))
    if few < _LEAST_SHIFTS:
        return f"one of the settings has {few} shifts, and at least {_LEAST_SHIFTS} of each are needed."
    if not (breaks @ is_new and breaks @ (1 - is_new)):
        return "one of the settings has no break at all."
    fit = fit_counts(breaks, np.column_stack([is_new, np.ones(len(shifts))]), expected)
    return _Fitted(fit=fit, shifts=len(shifts), beside=False)


def _dummies(names: Sequence[str]) -> npt.NDArray[np.float64]:
    known = sorted(set(names))
    return np.array([[name == one for one in known] for name in names], np.float64)


def _shifts_needed(found: _Fitted, half_width: float, wanted: float, power: float = 0.8) -> int:
    """Give the shifts (of both settings together) that the wanted change needs with the scatter of this trial."""
    error = half_width / float(stats.t.isf(0.025, found.fit.freedom))
    z = float(stats.norm.isf(0.025) + stats.norm.ppf(power))
    return max(found.shifts + 1, math.ceil(found.shifts * (z * error / math.log(wanted)) ** 2))


def _change(ratio: float) -> str:
    return f"{abs(ratio - 1):.0%} {'fewer' if ratio < 1 else 'more'}"
