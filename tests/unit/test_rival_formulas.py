"""Two formulas for one quantity, held against each other over the range they share."""

from math import exp, pi, radians, sin

import numpy as np
import pytest

from ringwright.physics.constants import COTTON_YARN_SPECIFIC_VOLUME, WINDING_RATIO_USUAL
from ringwright.physics.contraction import contraction, helix_contraction, untwisted_linear_density
from ringwright.physics.evenness import (
    fibres_by_mean_fineness,
    fibres_in_section,
    limit_irregularity,
    limit_irregularity_of_wool,
)
from ringwright.physics.krause import winding_angle, winding_ratio, winding_tension, winding_tension_roughly
from ringwright.physics.production import delivery_speed, production_rate
from ringwright.physics.roving import back_roller_speed, roving_consumption, roving_content, roving_feed
from ringwright.physics.traveller_mass import usual_traveller_mass
from ringwright.physics.twist import twist, twist_multiplier_from, yarn_diameter
from ringwright.units.factors import ENGLISH_COUNT, INCH, POUND, YARD

RPM = 2 * pi / 60
TEX = 1e-6
COUNTS = [6, 12, 20, 30, 40, 60, 100]
MULTIPLIERS = [3.0, 3.5, 4.0, 4.5, 5.0]


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize("multiplier", MULTIPLIERS)
def test_five_formulas_of_ring_frame_production(count, multiplier):
    """Study cards (lb/h), two trade pages (lb a shift, kg a day), the 7.2 rule (g in 8 h) and ours, all in kg/s."""
    rpm, efficiency = 15000.0, 0.92
    yarn = ENGLISH_COUNT / count
    per_inch = multiplier * count**0.5
    ours = production_rate(rpm * RPM, twist(twist_multiplier_from(multiplier, "English"), yarn), yarn, efficiency)
    pounds_an_hour = rpm * efficiency / (504 * multiplier * count**1.5)
    pounds_a_shift = rpm * 60 * 8 * efficiency / (per_inch * count * 36 * 840)
    kilograms_a_day = rpm * 60 * 24 * efficiency / (count * per_inch * 840 * 36 * 2.2046)
    grams_in_eight_hours = 7.2 * rpm * efficiency / (per_inch * count)
    assert pounds_an_hour * POUND / 3600 == pytest.approx(ours, rel=1e-9)
    assert pounds_a_shift * POUND / (8 * 3600) == pytest.approx(ours, rel=1e-9)
    assert kilograms_a_day / 86400 == pytest.approx(ours, rel=2e-5)  # 2.2046 is rounded by 1.0e-5
    assert grams_in_eight_hours * 1e-3 / (8 * 3600) == pytest.approx(ours, rel=3e-5)  # 7.19987 exactly


def test_production_by_length_and_by_the_creel_is_the_same():
    spindle, turns, yarn, share, draft_in = 16000 * RPM, 900.0, 20 * TEX, 0.055, 600 * TEX
    front = delivery_speed(spindle, turns, share)
    strand = untwisted_linear_density(yarn, share)
    rate = production_rate(spindle, turns, yarn)
    assert front * strand == pytest.approx(rate)
    assert roving_feed(back_roller_speed(front, draft_in / strand), draft_in) == pytest.approx(roving_consumption(rate))


@pytest.mark.parametrize("multiplier", MULTIPLIERS)
@pytest.mark.parametrize("count", COUNTS)
def test_contraction_by_the_line_and_by_the_helix(count, multiplier):
    """They agree within a quarter between TM 3 and 5, at any count; the helix, without fibre slack, is the lower."""
    english = twist_multiplier_from(multiplier, "English")
    yarn = ENGLISH_COUNT / count
    diameter = yarn_diameter(yarn, 1 / float(COTTON_YARN_SPECIFIC_VOLUME))
    ratio = helix_contraction(twist(english, yarn), diameter) / contraction(english)
    assert 0.75 < ratio < 1


def test_below_its_range_the_contraction_line_fails_and_the_helix_does_not():
    english = twist_multiplier_from(1.5, "English")
    yarn = ENGLISH_COUNT / 30
    assert contraction(english) < 0
    assert helix_contraction(twist(english, yarn), yarn_diameter(yarn, 1 / float(COTTON_YARN_SPECIFIC_VOLUME))) > 0


@pytest.mark.parametrize("count", COUNTS)
def test_diameter_rule_of_the_trade_and_peirce(count):
    rule = INCH / (28 * count**0.5)
    assert yarn_diameter(ENGLISH_COUNT / count, 1 / float(COTTON_YARN_SPECIFIC_VOLUME)) == pytest.approx(
        rule, rel=0.005
    )


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5, 0.67, 1.0])
@pytest.mark.parametrize("fineness", [0.13, 0.17, 0.33])
def test_exact_fibres_and_the_handbook_rule(share, fineness):
    """The rule never gives more; for finenesses in a ratio q it loses at most a share ((q - 1) / (q + 1))^2."""
    cotton = 0.15
    shares, finenesses = [share, 1 - share], [fineness * TEX, cotton * TEX]
    exact = fibres_in_section(20 * TEX, shares, finenesses)
    rule = fibres_by_mean_fineness(20 * TEX, shares, finenesses)
    q = fineness / cotton
    assert rule <= exact * (1 + 1e-12)
    assert 1 - rule / exact <= ((q - 1) / (q + 1)) ** 2 + 1e-12
    if share in {0.0, 1.0}:
        assert rule == pytest.approx(exact)


def test_wool_by_its_factor_and_by_its_diameter_cv():
    assert limit_irregularity(50.0, "wool") == pytest.approx(limit_irregularity_of_wool(50.0, 0.25), rel=0.002)


@pytest.mark.parametrize("diameter", [20, 24, 30, 36, 38])
@pytest.mark.parametrize("friction", [0.08, 0.10, 0.13, 0.2])
def test_krause_and_its_rough_form(diameter, friction):
    """Rough over exact is 1 + mu / tan a: between 1.03 and 1.38 for these rings."""
    angle = winding_angle(diameter * 1e-3, 0.042)
    exact, rough = winding_tension(2.0, angle, friction), winding_tension_roughly(2.0, angle, friction)
    assert rough / exact == pytest.approx(1 + friction / np.tan(angle))
    assert 1.03 < rough / exact < 1.38


def test_the_capstan_covers_the_printed_range_of_winding_ratios():
    """Klein: 1.2 to 1.8. With yarn friction 0.2 to 0.3 (from memory) the ends are wraps of 52 and 112 degrees."""
    assert winding_ratio(0.2, radians(52.2)) == pytest.approx(WINDING_RATIO_USUAL["lowest"], rel=0.002)
    assert winding_ratio(0.3, radians(112.3)) == pytest.approx(WINDING_RATIO_USUAL["highest"], rel=0.002)
    assert winding_ratio(0.25, pi / 2) == pytest.approx(exp(0.25 * pi / 2))


def test_the_power_law_of_traveller_mass_keeps_to_the_table():
    """M in mg = 1.283 tex^1.173 was fitted to the cotton column by a second pair of hands, with residuals to 17 %."""
    for tex in (4.9, 7.4, 9.8, 14.8, 19.7, 24.6, 29.5, 49.2, 73.8):
        found = usual_traveller_mass(tex * TEX, "cotton")
        assert found is not None
        middle = (found.lightest * found.heaviest) ** 0.5 * 1e6
        assert middle == pytest.approx(1.283 * tex**1.173, rel=0.18)


def test_roving_content_as_a_density():
    """The rule is a cylinder, tube and tapers included, of 233 kg/m3: between loose sliver and a hard yarn package."""
    density = roving_content(1.0, 1.0) / (pi / 4)
    assert 200 < density < 400


def test_a_hank_of_one_count_weighs_a_pound():
    assert pytest.approx(POUND) == ENGLISH_COUNT * 840 * YARD
    assert sin(winding_angle(0.021, 0.042)) == pytest.approx(0.5)
