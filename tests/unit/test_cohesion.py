"""The roving's cohesion: hand arithmetic, the law integrated, and what each cause does."""

from math import atan, pi, sqrt

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from ringwright.physics.cohesion import (
    AMPLIFICATION,
    count_change,
    fibre_diameter,
    mean_fibre,
    specific_cohesion,
    strand_extension,
    strand_stiffness,
    tension_at_extension,
    twist_angle,
    weak_place,
)
from ringwright.units import from_unit

CN_PER_TEX = 1e4
COTTON = {"length": 27e-3, "fineness": 1.7e-7, "friction": 0.3}


def multiplier(number):
    return from_unit(number, "twist multiplier", "TM")


def held(number, **fibres):
    """The cohesion in cN/tex of a roving of so many TM."""
    angle = twist_angle(multiplier(number), 300.0) if number else 0.0
    return float(specific_cohesion(angle, **(COTTON | fibres))) / CN_PER_TEX


@pytest.mark.parametrize("hank", [0.6, 1.4])
def test_the_twist_angle_is_that_of_diameter_and_turns_whatever_the_count(hank):
    tex = 590.541 / hank * 1e-6
    turns = 1.2 * sqrt(hank) / 0.0254
    diameter = sqrt(4 * tex / (pi * 300.0))
    assert float(twist_angle(multiplier(1.2), 300.0)) == pytest.approx(atan(pi * diameter * turns), rel=1e-5)


def test_a_cotton_fibre_is_some_twelve_micrometres_across():
    # 1.7 dtex of 1.52 g/cm3: sqrt(4 x 1.7e-7 / (pi x 1520)) = 11.93 um
    assert float(fibre_diameter(1.7e-7)) == pytest.approx(11.93e-6, rel=1e-3)


def test_the_anchors_of_the_estimate_are_where_they_are_said_to_be():
    assert held(0) == pytest.approx(0.05)
    assert held(1.2) == pytest.approx(0.5, rel=0.1)


def test_the_law_is_what_a_grip_that_feeds_on_its_own_tension_grows_to():
    angle = float(twist_angle(multiplier(1.1), 300.0))
    rate = float(AMPLIFICATION) * 0.3 * angle**2 / float(fibre_diameter(1.7e-7))
    grown = solve_ivp(lambda _, y: rate * y, (0, 27e-3), [0.05], rtol=1e-10, atol=1e-12).y[0, -1]
    assert held(1.1) == pytest.approx(grown, rel=1e-6)


@pytest.mark.parametrize("more", [{"length": 30e-3}, {"friction": 0.35}, {"fineness": 1.5e-7}])
def test_longer_rougher_or_finer_fibres_hold_better(more):
    assert held(1.1, **more) > held(1.1)


def test_a_longer_staple_needs_less_twist_for_the_same_hold():
    # Common practice, no source: synthetic rovings of 38 mm run with some 0.6 to 0.9 TM, cottons with 1.1 to 1.4.
    polyester = {"length": 38e-3, "fineness": 1.3e-7}
    twists = np.linspace(0.4, 1.4, 101)
    same = next(one for one in twists if held(one, **polyester) >= held(1.2))
    assert 0.6 < same < 0.95


def test_the_mean_fibre_counts_each_kind_by_its_number():
    # Equal masses of 1 dtex, 40 mm and 2 dtex, 20 mm: two fine fibres to each coarse one.
    length, fineness = mean_fibre([0.5, 0.5], [1e-7, 2e-7], [40e-3, 20e-3])
    assert length == pytest.approx((2 * 40e-3 + 20e-3) / 3)
    assert fineness == pytest.approx((2 * 1e-7 + 2e-7) / 3)


@pytest.mark.parametrize("tension", [0.0, 0.3, 1.0, 2.9])
def test_extension_and_tension_undo_each_other(tension):
    extension = float(strand_extension(tension, 3.0, 0.08))
    assert float(tension_at_extension(extension, 3.0, 0.08)) == pytest.approx(tension)


def test_a_strand_at_its_cohesion_slips():
    assert float(strand_extension(3.0, 3.0, 0.08)) == np.inf
    assert float(strand_extension(3.0 * (1 - 1e-12), 3.0, 0.08)) == pytest.approx(0.08, rel=1e-5)


def test_the_stiffness_is_the_slope_of_the_pull_at_its_beginning():
    slope = float(tension_at_extension(1e-7, 3.0, 0.08)) / (1e-7 * 0.6)
    assert float(strand_stiffness(3.0, 0.08, 0.6)) == pytest.approx(slope, rel=1e-5)


def test_a_strand_drawn_out_by_a_twentieth_is_finer_by_one_in_twenty_one():
    assert float(count_change(0.05)) == pytest.approx(-1 / 21)


def test_the_weak_place_lies_three_deviations_low_and_never_below_nought():
    assert float(weak_place(2.0, 0.15)) == pytest.approx(1.1)
    assert float(weak_place(2.0, 0.5)) == 0.0
