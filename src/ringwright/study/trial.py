"""Trials of one setting against another: how many shifts they need, from the mill's own scatter from shift to shift.

The shift is the unit, not the spindle-hour: air, mixing and people move the rate of a whole shift, and a test that does
not know it praises chance in more than half of all trials.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import stats

from ringwright.refusal import Fault, Refusal
from ringwright.study.cells import ShiftTable

__all__ = ["ShiftSpread", "TrialPlan", "plan_trial", "shift_spread", "spindle_hours_by_chance_alone"]

_LEAST_SHIFTS: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftSpread:
    """How a mill's shifts scatter beyond chance (CV): what all frames share, what a frame has alone; breaks of one
    frame in one shift; how many shifts and frames say so (0 where a person stated it)."""  # noqa: D205, D209

    common: float
    own: float
    breaks: float
    shifts: int = 0
    frames: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialPlan:
    """Shifts that a trial needs to see a change with a chance (power), at a level of false alarm.

    ``side_by_side``: two frames in the same shifts, settings swapped half way. ``before_after``: shifts of each
    setting, one after the other on the same frames.
    """

    ratio: float
    power: float
    level: float
    spread: ShiftSpread
    side_by_side: int
    before_after: int


def shift_spread(tables: Sequence[ShiftTable]) -> ShiftSpread:
    """Part the scatter of the shifts into what the frames share and what each has alone, chance taken off (moments).

    With one frame all scatter counts as shared, which makes a trial of two frames side by side look harder to judge
    than it is only through ``own`` = 0: then it is stated as half of the whole. Refusal for fewer than 8 shifts.
    """
    shifts = sorted({int(k) for table in tables for k in table.shift})
    if len(shifts) < _LEAST_SHIFTS:
        wants = f"at least {_LEAST_SHIFTS}, so that their scatter is known"
        mend = "Take in more records, or state the spread yourself."
        raise Refusal(Fault(where="the number of shifts recorded", got=str(len(shifts)), wants=wants, mend=mend))
    ratios = np.full((len(tables), len(shifts)), np.nan)
    chance = np.full_like(ratios, np.nan)
    for row, table in enumerate(tables):
        expected = table.weighted * table.breaks.sum() / table.weighted.sum()
        place = np.searchsorted(shifts, table.shift)
        ratios[row, place] = table.breaks / expected
        chance[row, place] = 1 / expected
    whole = float(np.nanmean(np.nanvar(ratios, axis=1, ddof=1) - np.nanmean(chance, axis=1)))
    shared = _shared(ratios) if len(tables) > 1 else whole / 2
    breaks = float(np.mean([table.breaks.mean() for table in tables]))
    return ShiftSpread(
        common=math.sqrt(max(shared, 0.0)), own=math.sqrt(max(whole - max(shared, 0.0), 0.0)), breaks=breaks,
        shifts=len(shifts), frames=len(tables),
    )  # fmt: skip


def _shared(ratios: np.ndarray) -> float:
    """Return the mean covariance of pairs of frames over the shifts that both ran."""
    found = []
    for a in range(len(ratios)):
        for b in range(a):
            both = np.isfinite(ratios[a]) & np.isfinite(ratios[b])
            if both.sum() > 2:
                found.append(float(np.cov(ratios[a, both], ratios[b, both])[0, 1]))
    return float(np.mean(found)) if found else 0.0


def plan_trial(ratio: float, spread: ShiftSpread, power: float = 0.8, level: float = 0.05) -> TrialPlan:
    """Return the shifts needed to see that the new setting's rate is ``ratio`` times the old one's.

    Side by side K shifts tell ln ratio with the variance (2 s_f^2 + 1/mu + 1/(ratio mu)) / K and K - 2 degrees of
    freedom (shifts and the frame taken out); one after the other K shifts of each with
    (2 s_s^2 + 2 s_f^2 + 1/mu + 1/(ratio mu)) / K and 2 K - 2. Power by the noncentral t; held to simulated trials.
    Refusal for a ratio within 1 % of 1 or not above 0, and for breaks that are not above 0.
    """
    faults = []
    if not ratio > 0 or abs(math.log(ratio)) < 0.01:
        wants = "a change of more than 1 %, up or down, that leaves some breaks"
        faults.append(Fault(where="the change to be seen", got=f"{ratio - 1:+.0%}", wants=wants))
    if not spread.breaks > 0:
        faults.append(Fault(where="breaks of a frame in a shift", got=f"{spread.breaks:g}", wants="more than 0"))
    if not (0.05 <= power < 1 and 0 < level < 0.5):
        wants = "a chance to see it from 5 % to under 100 %, and a level between 0 and 50 %"
        faults.append(Fault(where="power and level", got=f"{power:g} and {level:g}", wants=wants))
    if faults:
        raise Refusal(faults)
    chance = 1 / spread.breaks + 1 / (ratio * spread.breaks)
    beside = _least(ratio, 2 * spread.own**2 + chance, (1, -2), power, level)
    after = _least(ratio, 2 * (spread.common**2 + spread.own**2) + chance, (2, -2), power, level)
    even = beside + beside % 2  # each frame has each setting for as many shifts
    return TrialPlan(ratio=ratio, power=power, level=level, spread=spread, side_by_side=even, before_after=after)


def _least(ratio: float, variance: float, freedom: tuple[int, int], power: float, level: float) -> int:
    """Find the fewest shifts K that see the ratio, where K give ``variance`` / K and a K + b degrees of freedom."""

    def seen(k: int) -> float:
        df = freedom[0] * k + freedom[1]
        away, limit = abs(math.log(ratio)) / math.sqrt(variance / k), float(stats.t.isf(level / 2, df))
        # Far out the noncentral law is one-sided and its other tail is nought.
        return float(stats.nct.sf(limit, df, away)) if away < 30 else 1.0

    low, high = 2, 3
    while seen(high) < power:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if seen(middle) >= power else (middle, high)
    return high


def spindle_hours_by_chance_alone(
    rates: tuple[float, float], power: float = 0.8, level: float = 0.05, dispersion: float = 1.0
) -> float:
    """Return 1000 spindle-hours of each setting to tell two rates per 1000 apart if shifts did not scatter.

    phi (z_level/2 + z_power)^2 / 2 / (sqrt r1 - sqrt r2)^2: a floor under any trial; within 1 % of exact
    from 200 breaks.
    """
    z = float(stats.norm.isf(level / 2) + stats.norm.ppf(power))
    return float(dispersion * z**2 * 0.5 / (math.sqrt(rates[0]) - math.sqrt(rates[1])) ** 2)
