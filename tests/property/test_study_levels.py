"""Do the studies keep the levels that they state? Drawn records, seeded; bounds are those of the binomial law."""

from __future__ import annotations

import numpy as np
import pytest
from sample_cells import frame_cells
from scipy import stats

from ringwright.study.cells import SpindleCounts
from ringwright.study.change import one_change
from ringwright.study.level_changes import rate_changes
from ringwright.study.neighbours import close_pairs
from ringwright.study.rates import rate_interval, ratio_interval
from ringwright.study.shifts import shifts_that_stand_out
from ringwright.study.spindles import spindles_that_stand_out
from ringwright.study.traveller_age import traveller_age
from ringwright.study.trial import ShiftSpread, plan_trial
from ringwright.study.trial_verdict import ShiftRow, judge_trial


def most(trials: int, level: float) -> int:
    """Give the number of false alarms that a test at this level passes in 999 of 1000 runs."""
    return int(stats.binom.ppf(0.999, trials, level))


@pytest.mark.parametrize("mean", [0.5, 3.0, 20.0, 150.0])
def test_the_exact_interval_of_a_rate_holds_it_at_least_as_often_as_stated(mean):
    counts, chances = np.arange(400), stats.poisson.pmf(np.arange(400), mean)
    ends = [rate_interval(int(count), 1.0) for count in counts]
    held = sum(chance for (low, high), chance in zip(ends, chances, strict=True) if low <= mean <= high)
    assert 0.95 <= held <= 0.99 if mean > 3 else held >= 0.95


@pytest.mark.parametrize(("first", "second"), [(5.0, 10.0), (40.0, 40.0)])
def test_the_exact_interval_of_a_ratio_holds_it_at_least_as_often_as_stated(first, second):
    held = 0.0
    for a in range(75):
        for b in range(75):
            chance = stats.poisson.pmf(a, first) * stats.poisson.pmf(b, second)
            if chance < 1e-7 or a + b == 0:
                held += chance
                continue
            low, high = ratio_interval((a, b), (1.0, 1.0))
            held += chance * (low <= first / second <= high)
    assert 0.95 <= held <= 0.99


@pytest.mark.parametrize(("spread", "mean"), [(0.0, 5.0), (0.3, 5.0), (0.3, 20.0), (0.5, 10.0)])
def test_few_of_the_spindles_named_are_false(spread, mean):
    rng = np.random.default_rng(11)
    false = named = 0
    for _ in range(30):
        rate = mean * (rng.gamma(spread**-2, spread**2, 1000) if spread else np.ones(1000))
        rate[:10] = 5 * mean
        one = SpindleCounts(frame="F1", sides=2, counts=rng.poisson(rate), hours=mean / 0.03)
        found = [found.spindles[0] for found in spindles_that_stand_out([one])[0].findings]
        named += len(found)
        false += sum(number > 10 for number in found)
    assert named >= 30  # it does find them
    # Stated: a tenth. Twice the standard error of 300 names or so is allowed on top.
    assert false <= 0.14 * named


def test_a_frame_of_ordinary_spindles_is_seldom_blamed():
    rng = np.random.default_rng(12)
    blamed = 0
    for spread in (0.0, 0.3):
        for _ in range(40):
            rate = 10 * (rng.gamma(spread**-2, spread**2, 800) if spread else np.ones(800))
            one = SpindleCounts(frame="F1", sides=2, counts=rng.poisson(rate), hours=300)
            blamed += bool(spindles_that_stand_out([one])[0].findings)
    assert blamed <= most(80, 0.10)


def test_close_pairs_of_unconnected_breaks_follow_their_stated_law():
    rng = np.random.default_rng(13)
    ps, totals, expected = [], [], []
    for _ in range(200):
        places = rng.integers(1, 301, 900)
        found = close_pairs(places, np.sort(rng.integers(0, 200 * 3600, 900)), 300, 300)
        ps.append(found.p_all)
        totals.append(found.total[0])
        expected.append(found.total[1])
    assert np.mean(totals) == pytest.approx(np.mean(expected), abs=4 * np.std(totals) / np.sqrt(200))
    assert sum(p <= 0.05 for p in ps) <= most(200, 0.05)


def test_many_close_pairs_keep_their_level_too():
    rng = np.random.default_rng(14)
    alarms = 0
    for _ in range(60):
        places = rng.integers(1, 101, 1500)
        found = close_pairs(places, np.sort(rng.integers(0, 100 * 3600, 1500)), 100, 1200, shuffles=199)
        assert found.total[1] > 50  # where a low chance is looked at again by shuffling
        alarms += found.p_all <= 0.05
    assert alarms <= most(60, 0.05)


def trial(rng, shifts, shared, own, ratio, *, beside):
    """Draw a trial of 480 breaks a shift: two frames swapped half way, or one frame, one setting after the other."""
    rows = []
    for k in range(shifts if beside else 2 * shifts):
        air = rng.lognormal(-(shared**2) / 2, shared)
        for frame in ("F1", "F2") if beside else ("F1",):
            is_new = ((frame == "F1") == (k < shifts // 2)) if beside else k >= shifts
            mean = 480 * air * rng.lognormal(-(own**2) / 2, own) * (ratio if is_new else 1)
            rows.append(
                ShiftRow(shift=str(k), frame=frame, setting="new" if is_new else "old", breaks=rng.poisson(mean),
                         exposure=9.6)
            )  # fmt: skip
    return judge_trial(rows, "old")


@pytest.mark.parametrize(
    ("shifts", "shared", "own", "beside"),
    [(6, 0.15, 0.05, True), (6, 0.30, 0.10, True), (10, 0.15, 0.05, False), (6, 0.30, 0.10, False)],
)
def test_a_setting_that_does_nothing_is_praised_no_more_often_than_stated(shifts, shared, own, beside):
    rng = np.random.default_rng(15)
    answers = [trial(rng, shifts, shared, own, 1.0, beside=beside) for _ in range(200)]
    assert sum(bool(one.findings) for one in answers) <= most(200, 0.05)
    held = sum(one.estimate is not None and one.estimate.low <= 1 <= one.estimate.high for one in answers)
    assert held >= 200 - most(200, 0.05)


def test_a_trial_as_long_as_planned_sees_the_change_it_was_planned_for():
    # 10 shifts of each setting at spreads of 15 % and 5 %: 81 % of 4000 simulated trials (computed apart)
    rng = np.random.default_rng(16)
    seen = sum(bool(trial(rng, 10, 0.15, 0.05, 0.8, beside=False).findings) for _ in range(200))
    assert stats.binom.ppf(0.001, 200, 0.80) <= seen


def test_a_trial_side_by_side_as_long_as_planned_sees_the_change_it_was_planned_for():
    plan = plan_trial(0.8, ShiftSpread(common=0.3, own=0.2, breaks=480))
    rng = np.random.default_rng(20)
    seen = sum(bool(trial(rng, plan.side_by_side, 0.3, 0.2, 0.8, beside=True).findings) for _ in range(150))
    assert stats.binom.ppf(0.001, 150, 0.80) <= seen <= stats.binom.ppf(0.999, 150, 0.86)


def test_a_rate_that_does_not_change_is_seldom_said_to():
    rng = np.random.default_rng(17)
    alarms = sum(one_change(rng.poisson(20, 50), np.ones(50)).p <= 0.05 for _ in range(300))
    assert alarms <= most(300, 0.05)


def test_the_interval_of_the_travellers_effect_holds_it():
    rng, held = np.random.default_rng(19), 0
    for _ in range(40):
        (answer,) = traveller_age([frame_cells(rng, shifts=90, by_age=lambda age: 1.8 ** (age / 120))])
        assert answer.estimate is not None
        old, young = (float(word) for word in answer.estimate.meaning.replace(" days", "").split()[3::3])
        held += answer.estimate.low <= 1.8 ** ((old - young) / 5) <= answer.estimate.high
    assert held >= 40 - most(40, 0.05)


def test_even_frames_give_no_findings_beyond_the_stated_levels():
    rng = np.random.default_rng(18)
    ages = steps = shifts = 0
    for _ in range(30):
        cells = frame_cells(rng, shifts=90, spread=0.12)
        ages += bool(traveller_age([cells])[0].findings)
        steps += bool(rate_changes([cells])[0].findings)
        shifts += bool(shifts_that_stand_out([cells]).findings)
    assert ages <= most(30, 0.01)
    assert steps <= most(30, 0.02)  # the scatter is taken from the series itself, which costs a little
    assert shifts <= most(30, 0.06)  # 5 % for single shifts, 1 % for those of one name
