"""Spindles that stand out: named beyond chance, and not before there is enough to go by."""

from __future__ import annotations

import numpy as np
import pytest

from ringwright.findings.finding import Sureness, sureness_of
from ringwright.study.cells import SpindleCounts
from ringwright.study.drive_groups import GroupedSpindles, drive_groups, tapes_of
from ringwright.study.spindles import spindles_that_stand_out
from ringwright.study.standing_out import fit_ordinary, stand_out


def frame_of(rng, mean=10.0, spread=0.25, bad=(), times=5.0, spindles=400, name="F1"):
    rate = mean * rng.gamma(spread**-2, spread**2, spindles)
    for number in bad:
        rate[number - 1] = mean * times
    return SpindleCounts(frame=name, sides=2, counts=rng.poisson(rate), hours=1000 * mean / 30)


def test_the_planted_spindles_are_named_with_their_side():
    (answer,) = spindles_that_stand_out([frame_of(np.random.default_rng(1), bad=(7, 333))])
    assert sorted((one.side, one.spindles) for one in answer.findings) == [(1, (7,)), (2, (333,))]
    for one in answer.findings:
        assert one.estimate.low < 5 < one.estimate.high


def test_it_is_too_early_below_one_break_a_spindle():
    (answer,) = spindles_that_stand_out([frame_of(np.random.default_rng(1), mean=0.4, bad=(7,))])
    assert answer.sureness is Sureness.TOO_EARLY
    assert answer.findings == ()
    assert "running hours are needed" in answer.sentence


def test_a_frame_without_any_break_is_too_early():
    empty = SpindleCounts(frame="F1", sides=2, counts=np.zeros(10, int), hours=0.0)
    (answer,) = spindles_that_stand_out([empty])
    assert answer.sureness is Sureness.TOO_EARLY


def test_a_spindle_that_never_broke_is_told():
    one = frame_of(np.random.default_rng(2), mean=30, spread=0.1)
    one.counts[99] = 0
    (answer,) = spindles_that_stand_out([one])
    assert "1 spindle has far fewer than the 30 breaks expected" in answer.sentence


def test_bad_spindles_do_not_hide_themselves_by_widening_the_law():
    rng = np.random.default_rng(3)
    counts = rng.poisson(10 * rng.gamma(16, 1 / 16, 400))
    counts[:12] = 60
    plain, trimmed = fit_ordinary(counts, np.ones(400)), stand_out(counts, np.ones(400)).ordinary
    assert plain.spread > 0.4  # twelve at six times the rate in 400 spread the whole lot
    assert trimmed.spread == pytest.approx(0.25, abs=0.05)  # that of the others, gamma of shape 16


def test_counts_that_scatter_by_chance_alone_have_no_spread():
    assert fit_ordinary([4, 5, 4, 5, 4, 5, 4, 5], np.ones(8)).spread == 0.0


def test_words_go_by_the_chance_of_a_false_alarm():
    words = [sureness_of(p).value for p in (0.001, 0.0011, 0.01, 0.011)]
    assert words == ["sure", "likely", "likely", "may be chance"]


def test_four_spindles_of_a_tape_stand_two_and_two_across_the_frame():
    groups = tapes_of(12, 2)
    assert np.flatnonzero(groups == 0).tolist() == [0, 1, 6, 7]
    assert groups.max() == 2


def test_a_slipping_tape_is_named_and_its_spindles_are():
    rng = np.random.default_rng(4)
    rate = 20 * rng.gamma(25, 1 / 25, 400)
    groups = tapes_of(400, 2)
    rate[groups == 31] *= 2.5
    one = SpindleCounts(frame="F4", sides=2, counts=rng.poisson(rate), hours=600)
    (answer,) = drive_groups([GroupedSpindles(counts=one, groups=groups, called="tape")])
    assert [found.spindles for found in answer.findings] == [(63, 64, 263, 264)]


def test_one_bad_spindle_named_by_itself_does_not_blame_its_tape():
    rng = np.random.default_rng(5)
    counts = rng.poisson(20 * rng.gamma(25, 1 / 25, 400))
    counts[62] = 120
    one = GroupedSpindles(
        counts=SpindleCounts(frame="F4", sides=2, counts=counts, hours=600), groups=tapes_of(400, 2), called="tape"
    )
    (blamed,) = drive_groups([one])
    (cleared,) = drive_groups([one], named={("F4", 63)})
    assert blamed.findings
    assert not cleared.findings


def test_a_drive_without_groups_says_so():
    one = SpindleCounts(frame="F1", sides=2, counts=np.full(8, 9), hours=100)
    (answer,) = drive_groups([GroupedSpindles(counts=one, groups=None)])
    assert "no groups" in answer.sentence
