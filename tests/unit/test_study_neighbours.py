"""Neighbours that break together: counted by hand, enumerated, and named only beyond chance."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from ringwright.findings.finding import Sureness
from ringwright.study.neighbours import close_pairs, join_law, joins_of, many_joins, shared_stamps
from ringwright.study.separators import SideBreaks, separators_that_leak

SECOND = 1_000_000


def side_of(places, times, spindles=40, side=1):
    first = 1 + (side - 1) * spindles
    return SideBreaks(
        frame="F1", side=side, first=first, spindles=spindles, places=np.array(places), times=np.array(times)
    )


def timed_side(rng, spindles=40, each=12, hours=200, leak=None, chance=0.6):
    places = np.repeat(np.arange(1, spindles + 1), rng.poisson(each, spindles))
    times = rng.integers(0, hours * 3600 * SECOND, len(places))
    if leak:
        took = np.flatnonzero(((places == leak) | (places == leak + 1)) & (rng.random(len(places)) < chance))
        other = 2 * leak + 1 - places[took]
        places, times = np.concatenate([places, other]), np.concatenate([times, times[took] + 5 * SECOND])
    return side_of(places, times, spindles)


def test_pairs_are_those_of_next_neighbours_within_the_window():
    # 1 and 2 at 0 and 10 s; 2 again at 11 s beside 1 (11 s away); 5 and 6 at 100 s and 161 s: 61 s apart; 3 alone.
    places, times = [1, 2, 2, 5, 6, 3], [0, 10, 11, 100, 161, 500]
    found = close_pairs(places, times, 6, 60)
    assert found.pairs.tolist() == [2, 0, 0, 0, 0]
    assert close_pairs(places, times, 6, 61).pairs.tolist() == [2, 0, 0, 0, 1]


def test_a_repeat_on_one_spindle_is_no_pair():
    assert close_pairs([4, 4, 4], [0, 1, 2], 6, 60).pairs.sum() == 0


def test_chance_makes_close_times_times_neighbouring_breaks_over_all_pairs():
    # 4 breaks: 6 pairs of breaks, 2 of them within 60 s; counts 2, 1, 1 give neighbour products 2 and 1.
    found = close_pairs([1, 1, 2, 3], [0, 1000, 1030, 1060], 3, 30)
    assert found.expected.tolist() == pytest.approx([2 * 2 / 6, 2 * 1 / 6])


def test_the_expectation_is_the_mean_over_all_shuffles_of_places_among_times():
    places, times = np.array([1, 2, 2, 3, 5]), np.array([0, 10, 20, 500, 505])
    from itertools import permutations  # noqa: PLC0415 - only here

    totals = [close_pairs(order, times, 5, 15).pairs.sum() for order in permutations(places.tolist())]
    assert close_pairs(places, times, 5, 15).expected.sum() == pytest.approx(np.mean(totals))


def test_times_of_one_moment_are_pairs_in_a_window_of_nought():
    assert close_pairs([1, 2, 3], [7, 7, 8], 3, 0).pairs.tolist() == [1, 0]


@pytest.mark.parametrize(("spindles", "broken"), [(7, 3), (8, 5), (6, 2), (5, 5)])
def test_the_law_of_joins_is_that_of_every_way_to_choose(spindles, broken):
    ways = [joins_of(chosen) for chosen in combinations(range(spindles), broken)]
    assert join_law(spindles, broken).tolist() == pytest.approx(
        np.bincount(ways, minlength=broken) / len(ways), abs=1e-12
    )


def test_the_law_of_joins_of_ten_spindles_with_four_broken():
    # 210 ways, counted: 1/6, 1/2, 3/10, 1/30 for none to three joins
    assert join_law(10, 4).tolist() == pytest.approx([1 / 6, 1 / 2, 3 / 10, 1 / 30])


def test_joins_of_many_patrols_add():
    mean, p = many_joins([12, 12], 1, 600)
    none = join_law(600, 12)[0]
    assert mean == pytest.approx(2 * 12 * 11 / 600)  # n (n - 1) / S each
    assert p == pytest.approx(1 - none**2)


def test_a_leaking_separator_is_named_and_no_other():
    (answer,) = separators_that_leak([timed_side(np.random.default_rng(1), leak=17)])
    assert [found.spindles for found in answer.findings] == [(17, 18)]
    assert answer.sureness is Sureness.SURE
    low, high = answer.findings[0].estimate.low, answer.findings[0].estimate.high
    assert low < 0.6 < high


def test_a_boundary_is_named_by_the_spindles_of_its_own_side():
    one = timed_side(np.random.default_rng(1), leak=17)
    moved = SideBreaks(frame="F1", side=2, first=41, spindles=40, places=one.places, times=one.times)
    (answer,) = separators_that_leak([moved])
    assert answer.findings[0].spindles == (57, 58)
    assert answer.findings[0].side == 2


def test_two_bad_spindles_side_by_side_are_no_leak():
    rng = np.random.default_rng(3)
    one = timed_side(rng)
    bad = np.repeat([20, 21], 150)
    times = np.concatenate([one.times, rng.integers(0, 200 * 3600 * SECOND, 300)])
    (answer,) = separators_that_leak([side_of(np.concatenate([one.places, bad]), times)])
    assert answer.findings == ()


def test_one_pair_alone_names_no_separator_however_rare():
    one = timed_side(np.random.default_rng(7), hours=100_000)
    assert close_pairs(one.places, one.times, 40, 60 * SECOND).total[0] == 0
    places = np.concatenate([one.places, [8, 9]])
    times = np.concatenate([one.times, [50 * SECOND, 55 * SECOND]])
    assert close_pairs(places, times, 40, 60 * SECOND).p.min() < 0.1 / 39  # rare among 39 boundaries
    (answer,) = separators_that_leak([side_of(places, times)])
    assert answer.findings == ()


def test_few_breaks_are_too_early_to_name_a_separator():
    (answer,) = separators_that_leak([side_of([1, 2, 9], [0, SECOND, 5 * SECOND])])
    assert answer.sureness is Sureness.TOO_EARLY
    assert "at least 40" in answer.sentence


def patrols(rng, *, leak=None, many=120, spindles=40):
    places, times = [], []
    for number in range(many):
        broken = set(rng.choice(np.arange(1, spindles + 1), rng.integers(2, 6), replace=False).tolist())
        if leak and rng.random() < 0.3:
            broken |= {leak, leak + 1}
        places += sorted(broken)
        times += [number * 900 * SECOND] * len(broken)
    return side_of(places, times, spindles)


def test_patrol_records_are_held_to_the_exact_join_count():
    (answer,) = separators_that_leak([patrols(np.random.default_rng(5), leak=12)], at_patrol=True)
    assert [found.spindles for found in answer.findings] == [(12, 13)]
    (clean,) = separators_that_leak([patrols(np.random.default_rng(6))], at_patrol=True)
    assert clean.findings == ()


def test_times_of_patrols_are_not_taken_for_times_of_breaks():
    (answer,) = separators_that_leak([patrols(np.random.default_rng(5), leak=12)])
    assert answer.sureness is Sureness.TOO_EARLY
    assert "--stamped patrol" in answer.sentence


def test_times_of_breaks_are_not_taken_for_those_of_patrols():
    (answer,) = separators_that_leak([timed_side(np.random.default_rng(1))], at_patrol=True)
    assert answer.sureness is Sureness.TOO_EARLY
    assert "not those of patrols" in answer.sentence


def test_the_share_of_common_stamps():
    assert shared_stamps([1, 1, 2, 3]) == 0.5
    assert shared_stamps([]) == 0.0
