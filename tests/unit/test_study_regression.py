"""What the regression refuses, and what a curve and its combinations are by hand."""

from __future__ import annotations

import numpy as np
import pytest

from ringwright.refusal import Refusal
from ringwright.study.curve import rate_curve
from ringwright.study.regression import fit_counts, smooth


def test_two_groups_have_the_logarithm_of_their_ratio():
    fit = fit_counts([30, 40, 90, 120], [[1, 0], [1, 0], [1, 1], [1, 1]], [1, 1, 2, 2])
    value, _, _, _ = fit.combination([0, 1])
    assert np.exp(value) == pytest.approx((210 / 4) / (70 / 2))
    assert fit.band([[0, 1], [1, 0]])[0] == pytest.approx(fit.combination([0, 1])[:3])
    assert fit.covariance[1, 1] == pytest.approx(1 / 70 + 1 / 210)  # variance of a log ratio of Poisson counts


def test_counts_that_the_design_meets_exactly_are_no_fault():
    assert fit_counts([5, 5, 5], np.ones((3, 1))).deviance == pytest.approx(0, abs=1e-9)


def test_a_group_without_any_break_is_refused_in_words():
    with pytest.raises(Refusal, match="without an answer"):
        fit_counts([0, 0, 30, 40], [[1, 0], [1, 0], [1, 1], [1, 1]])


def test_a_smooth_curve_is_cubic_between_knots_and_straight_at_its_ends():
    x = np.linspace(0, 10, 10_001)
    columns = smooth(x, (3.0, 6.0), (0.0, 10.0))
    assert columns[:, 0] == pytest.approx(np.ones(10_001))
    bend = np.diff(columns, 2, axis=0) / 0.001**2
    assert np.abs(bend[[0, -1]]).max() < 1e-3  # no bend at the ends
    assert np.abs(np.diff(bend, axis=0)).max() < 0.01  # the bend is continuous through the knots
    assert np.linalg.matrix_rank(columns) == 4


def test_a_curve_of_few_places_or_breaks_is_none():
    assert rate_curve([1, 2, 3, 4, 5], [20] * 5, [1] * 5) is None
    assert rate_curve(np.arange(10), [4] * 10, [1] * 10) is None


def test_a_curve_follows_an_exponential_rate():
    x = np.linspace(0, 8, 81)
    curve = rate_curve(x, np.round(1e6 * np.exp(0.1 * x)), np.ones(81))
    assert curve is not None
    assert curve.ratio(7, 1, "").value == pytest.approx(np.exp(0.6), rel=1e-3)
    assert curve.p_flat < 1e-6
