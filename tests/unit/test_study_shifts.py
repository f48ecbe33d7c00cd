"""Rates, shifts, ages of travellers, places in the doff and changes: what is planted is found, what is not is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from sample_cells import frame_cells
from scipy import stats

from ringwright.findings.finding import Sureness
from ringwright.findings.picture import Curve
from ringwright.study.break_rates import break_rates, rate_rows, rate_with_scatter
from ringwright.study.cells import by_shift, yarn_weight
from ringwright.study.change import changes, one_change, scatter_of
from ringwright.study.doff_place import CopCounts, hours_since_doff, place_in_cop
from ringwright.study.level_changes import rate_changes
from ringwright.study.rates import rate_interval
from ringwright.study.shifts import odd_shifts, shifts_that_stand_out
from ringwright.study.traveller_age import traveller_age


def test_a_rate_of_even_shifts_has_the_exact_interval():
    estimate, dispersion = rate_with_scatter([50, 50, 50, 50], [1.0] * 4)
    assert dispersion == 0
    assert (estimate.low, estimate.high) == rate_interval(200, 4.0)


def test_a_rate_of_uneven_shifts_has_a_wider_interval_by_their_scatter():
    counts = [30, 70, 30, 70]
    estimate, dispersion = rate_with_scatter(counts, [1.0] * 4)
    assert dispersion == pytest.approx(4 * 400 / 50 / 3)  # Pearson by hand: four squares of 20 over 50, 3 degrees
    half = stats.t.isf(0.025, 3) * (dispersion / 200) ** 0.5
    assert estimate.high == pytest.approx(50 * np.exp(half))


def test_a_frame_with_two_yarns_is_told_by_yarn():
    cells = frame_cells(np.random.default_rng(1))
    half = np.arange(len(cells.shift)) % 2
    two = replace(cells, yarn=half, yarns=("AV20W", "AV30K"))
    assert [row.of for row in rate_rows(two)] == [
        "whole frame", "yarn AV20W", "yarn AV30K", "shift early", "shift late", "shift night"
    ]  # fmt: skip


def test_exposure_is_weighted_so_that_yarns_can_be_pooled():
    cells = frame_cells(np.random.default_rng(1), spread=0)
    yarn = (np.arange(len(cells.shift)) % 2).astype(np.int64)
    two = replace(cells, yarn=yarn, yarns=("a", "b"), breaks=np.where(yarn == 0, 10, 30))
    weight = yarn_weight(two)
    assert weight[yarn == 1][0] == pytest.approx(3 * weight[yarn == 0][0])  # b breaks three times as much as a
    assert weight.sum() == pytest.approx(two.exposure.sum())


def test_no_break_gives_an_upper_limit():
    cells = frame_cells(np.random.default_rng(1), shifts=2)
    (answer,) = break_rates([replace(cells, breaks=np.zeros_like(cells.breaks))])
    assert "under 0.2 per 1000" in answer.sentence  # 3.689 / 16: the exact upper limit of no break (Garwood 1936)


def test_short_shifts_are_left_out():
    cells = frame_cells(np.random.default_rng(1), shifts=12)
    cut = replace(cells, hours=np.where(cells.shift == 3, 0.05, cells.hours))
    assert 3 not in by_shift(cut).shift


def dry(shift):
    return np.where(shift == 31, 2.0, 1.0)


def test_a_dry_shift_on_all_frames_is_found():
    frames = [frame_cells(np.random.default_rng(k), name=f"F{k}", by_shift=dry) for k in (1, 2, 3)]
    answer = shifts_that_stand_out(frames)
    assert [one.shift for one in answer.findings] == ["shift 31"]
    assert odd_shifts(frames) == [31]
    assert answer.findings[0].estimate.value == pytest.approx(2, abs=0.2)


def test_shifts_of_one_name_are_told_apart():
    frames = [
        frame_cells(np.random.default_rng(k), by_shift=lambda shift: np.where(shift % 3 == 2, 1.35, 1.0))
        for k in (1, 2, 3)
    ]
    answer = shifts_that_stand_out(frames)
    assert [one.shift for one in answer.findings] == ["night"]


def test_an_odd_shift_does_not_hide_what_its_namesakes_do():
    def factor(shift):
        return np.where(shift % 3 == 2, 1.25, 1.0) * np.where(shift == 30, 4.0, 1.0)

    answer = shifts_that_stand_out([frame_cells(np.random.default_rng(k), by_shift=factor) for k in (1, 2, 3)])
    assert {one.shift for one in answer.findings} == {"shift 30", "night"}


def test_few_shifts_are_too_early():
    assert shifts_that_stand_out([frame_cells(np.random.default_rng(1), shifts=6)]).sureness is Sureness.TOO_EARLY


def rising(age):
    return 1.8 ** (age / 120)


def test_the_age_of_the_travellers_is_seen():
    (answer,) = traveller_age([frame_cells(np.random.default_rng(1), shifts=120, by_age=rising)])
    assert answer.sureness is Sureness.SURE
    assert answer.estimate is not None
    # From the oldest to the youngest shift's mean age: nearly the whole life.
    assert answer.estimate.low < 1.8**0.95 < answer.estimate.high
    assert "more as the travellers age" in answer.sentence


def test_one_set_of_travellers_cannot_be_told_from_the_calendar():
    cells = replace(frame_cells(np.random.default_rng(1), by_age=rising), changes=1)
    (answer,) = traveller_age([cells])
    assert answer.sureness is Sureness.TOO_EARLY
    assert "changes recorded: 1" in answer.sentence


def test_hours_since_the_doff_are_seen():
    (answer,) = hours_since_doff([frame_cells(np.random.default_rng(2), by_doff=lambda h: 1 + 0.8 * np.exp(-3 * h))])
    assert answer.sureness is Sureness.SURE
    assert "most at 0." in answer.sentence


def bathtub(exposure=20.0, bins=20, depth=0.5):
    x = (np.arange(bins) + 0.5) / bins
    return np.random.default_rng(3).poisson(30 * exposure / bins * (1 + depth * (2 * x - 1) ** 2))


def test_the_place_in_the_cop_is_seen():
    counts = CopCounts(frame="F1", counts=bathtub(exposure=400.0), exposure=400.0, without_share=0)
    (answer,) = place_in_cop([counts])
    assert answer.sureness is Sureness.SURE


def test_breaks_without_a_place_thin_the_exposure():
    half = CopCounts(frame="F1", counts=np.full(20, 30), exposure=20.0, without_share=600)
    (answer,) = place_in_cop([half])
    assert isinstance(answer.picture, Curve)
    # 600 of 1200 breaks have a place, so they stand for half of the 20 000 spindle-hours: 600 / 10
    assert answer.picture.counted == pytest.approx([60.0] * 20)


def test_records_without_any_place_in_the_cop_are_too_early():
    none = CopCounts(frame="F1", counts=np.zeros(20, int), exposure=20.0, without_share=600)
    assert place_in_cop([none])[0].sureness is Sureness.TOO_EARLY


def test_a_step_of_the_rate_is_dated():
    cells = frame_cells(np.random.default_rng(4), by_shift=lambda shift: np.where(shift >= 33, 1.5, 1.0))
    (answer,) = rate_changes([cells])
    (found,) = answer.findings
    assert abs(int(found.shift.split()[1]) - 33) <= 2
    assert found.estimate.low < 1.5 < found.estimate.high


def test_the_saw_of_ageing_travellers_is_no_change():
    cells = frame_cells(np.random.default_rng(5), shifts=120, by_age=lambda age: 2.5 ** (age / 120))
    assert rate_changes([cells])[0].findings == ()


def test_changes_after_changes_are_found_in_order_of_time():
    counts = np.concatenate([np.full(20, 50), np.full(20, 90), np.full(20, 40)])
    found = changes(counts, np.ones(60), 1.0, 0.01)
    assert [one.after for one in found] == [20, 40]
    assert [one.earliest <= one.after <= one.latest for one in found] == [True, True]


def test_the_scatter_is_not_widened_by_the_change_itself():
    counts = np.concatenate([np.full(50, 100), np.full(50, 150)])
    assert scatter_of(counts, np.full(100, 125.0)) == 1.0


def test_the_level_of_a_change_is_that_of_drawn_counts():
    # Critical gains of 20 000 drawn series of 50 Poisson counts: 8.95 at 5 %, 12.3 at 1 % (computed apart)
    flat = one_change(np.full(50, 100) + (np.arange(50) % 2), np.ones(50))
    assert flat.p > 0.9
    counts = np.full(50, 100)
    counts[25:] = 109  # a gain near 9.8
    assert 0.01 < one_change(counts, np.ones(50)).p < 0.05
