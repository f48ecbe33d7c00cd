"""The cop's shape against hand arithmetic, numerical quadrature and its limits."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from ringwright.physics.cop import (
    CopShape,
    foot_at,
    full_volume,
    profile,
    shoulder_diameter,
    swept_area,
    tube_diameter,
    volume_at,
    winding_diameter,
)
from ringwright.refusal import Refusal

PLAIN = CopShape(
    tube_foot_diameter=0.019, tube_top_diameter=0.019, cop_diameter=0.037, chase=0.046, base_height=0.020, lift=0.160
)
TAPERED = CopShape(
    tube_foot_diameter=0.0215, tube_top_diameter=0.0168, cop_diameter=0.0365, chase=0.046, base_height=0.022, lift=0.180
)


def quadrature(shape, foot):
    # what the growth line encloses, less the tube, slice by slice
    def slice_area(z):
        return np.pi / 4 * float(profile(shape, foot, z) ** 2 - tube_diameter(shape, z) ** 2)

    breaks = sorted({0.0, min(foot, shape.base_height), foot, foot + shape.chase})
    return sum(quad(slice_area, a, b, epsabs=0, epsrel=1e-12)[0] for a, b in pairwise(breaks))


def test_a_full_cop_on_a_plain_tube_holds_what_hand_arithmetic_says():
    # D 37, d 19, lift 160, nose 46, base 20 mm. In mm3, over pi: body (37^2 - 19^2)/4 * 94 = 23688; a cone of height h
    # holds h ((37^2 + 37*19 + 19^2)/12 - 19^2/4) = h * 112.5, so nose and base together 66 * 112.5 = 7425.
    by_hand = np.pi * (23688 + 7425) * 1e-9
    assert full_volume(PLAIN) == pytest.approx(by_hand, rel=1e-12)
    assert 1e6 * full_volume(PLAIN) == pytest.approx(97.74, abs=0.005)
    assert 1e3 * 500.0 * full_volume(PLAIN) == pytest.approx(48.87, abs=0.005)


@pytest.mark.parametrize("shape", [PLAIN, TAPERED])
@pytest.mark.parametrize("share", [0.0, 0.03, 0.15, 0.164179, 0.5, 1.0])
def test_the_closed_volume_agrees_with_quadrature_of_the_growth_line(shape, share):
    foot = share * shape.last_foot
    assert float(volume_at(shape, foot)) == pytest.approx(quadrature(shape, foot), rel=1e-9, abs=1e-18)


def test_an_empty_tube_holds_nothing_even_when_it_tapers():
    assert float(volume_at(TAPERED, 0.0)) == pytest.approx(0.0, abs=1e-20)


def test_without_a_base_the_volume_is_a_cylinder_and_a_nose():
    # the limit of a base of no height: body (D^2 - d^2)/4 * 114 = 28728 and nose 46 * 112.5 = 5175 mm3 over pi
    flat = replace(PLAIN, base_height=1e-9)
    assert full_volume(flat) == pytest.approx(np.pi * (28728 + 5175) * 1e-9, rel=1e-7)


def test_the_swept_area_is_the_slope_of_the_volume():
    feet = np.array([0.001, 0.011, 0.021, 0.023, 0.08, 0.133])
    step = 1e-6
    slope = (volume_at(TAPERED, feet + step) - volume_at(TAPERED, feet - step)) / (2 * step)
    assert swept_area(TAPERED, feet) == pytest.approx(slope, rel=1e-6)


def test_on_a_plain_tube_each_climb_in_the_body_sweeps_the_ring_between_cop_and_tube():
    # the cone only shifts upwards: dV/d(foot) = pi/4 (37^2 - 19^2) = 252 pi mm2
    assert float(swept_area(PLAIN, 0.06)) == pytest.approx(252e-6 * np.pi, rel=1e-12)


def test_the_foot_is_found_for_empty_part_and_full_cops():
    # at the end of the base (foot 20 mm) base and nose hold 66 * 112.5 pi mm3
    volumes = np.array([0.0, 7425e-9 * np.pi, full_volume(PLAIN)])
    assert foot_at(PLAIN, volumes) == pytest.approx([0.0, 0.020, 0.114], abs=1e-15)


def test_winding_diameters_run_from_the_shoulder_to_the_tube():
    assert winding_diameter(PLAIN, 0.06, np.array([0.0, 0.5, 1.0])) == pytest.approx([0.037, 0.028, 0.019])
    assert float(shoulder_diameter(PLAIN, 0.010)) == pytest.approx(0.028)
    assert winding_diameter(PLAIN, np.array([0.0, 0.010]), 0.0) == pytest.approx([0.019, 0.028])


def test_growth_lines_follow_base_body_nose_and_bare_tube():
    heights = np.array([-0.005, 0.0, 0.010, 0.020, 0.060, 0.083, 0.106, 0.150])
    wanted = [0.019, 0.019, 0.028, 0.037, 0.037, 0.028, 0.019, 0.019]
    assert profile(PLAIN, 0.060, heights) == pytest.approx(wanted)
    lines = profile(PLAIN, np.array([[0.0], [0.060]]), heights)
    assert lines.shape == (2, 8)
    assert lines[0] == pytest.approx([0.019] * 8)


def test_the_tube_tapers_in_one_straight_line():
    assert tube_diameter(TAPERED, np.array([0.0, 0.09, 0.18])) == pytest.approx([0.0215, 0.01915, 0.0168])


def test_a_volume_beyond_the_full_cop_is_refused_with_the_range():
    with pytest.raises(Refusal, match=r"is 100 cm3; it must be between 0 and 97\.74.* cm3"):
        foot_at(PLAIN, np.array([1e-6, 100e-6]))


def test_several_faults_of_a_cop_are_told_together():
    with pytest.raises(Refusal) as refusal:
        CopShape(
            tube_foot_diameter=0.040,
            tube_top_diameter=0.041,
            cop_diameter=0.037,
            chase=0.046,
            base_height=0.120,
            lift=0.160,
        )
    assert [str(fault.where) for fault in refusal.value.faults] == [
        "the cop's tube foot diameter",
        "the cop's tube top diameter",
        "the cop's base height",
    ]
    assert "less than the cop diameter of 37 mm" in str(refusal.value)


def test_a_measure_that_is_not_a_number_is_refused():
    with pytest.raises(Refusal, match="the cop's lift is nan mm; it must be more than 0 mm"):
        replace(PLAIN, lift=float("nan"))
