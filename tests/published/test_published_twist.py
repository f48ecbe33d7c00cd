"""Twist, twist multipliers and contraction against printed values."""

from math import degrees, pi, radians, tan

import pytest
from tests.published.agreement import METRE_PER_MINUTE, PER_INCH, RPM, TEX, agrees, from_ne, printed

from ringwright.physics.constants import CONTRACTION_OFFSET, CONTRACTION_SLOPE, COTTON_YARN_SPECIFIC_VOLUME
from ringwright.physics.contraction import contraction, untwisted_linear_density
from ringwright.physics.production import delivery_speed
from ringwright.physics.twist import (
    surface_angle,
    twist,
    twist_multiplier,
    twist_multiplier_from,
    twist_multiplier_in,
    yarn_diameter,
)
from ringwright.units.factors import ENGLISH_COUNT, INCH, POUND, YARD


@pytest.mark.parametrize(
    ("source", "name"),
    [
        ("ring-frame-formula", "twist-per-inch"),
        ("ring-frame-production", "twist-per-inch"),
        ("mill-production", "twist-of-20s"),
        ("mill-production", "twist-of-36s"),
    ],
)
def test_twist_per_inch_from_the_english_multiplier(source, name):
    entry = printed(source, name)
    multiplier = twist_multiplier_from(entry.given["english_twist_multiplier"], "English")
    assert agrees(twist(multiplier, from_ne(entry.given["count_Ne"])) * INCH, entry.printed)


def test_english_multiplier_from_twist_and_count():
    entry = printed("GATE-undated", "twist-multiplier")
    multiplier = twist_multiplier(entry.given["twist_per_inch"] * PER_INCH, from_ne(entry.given["count_Ne"]))
    assert agrees(twist_multiplier_in(multiplier, "English"), entry.printed)


def test_english_multiplier_from_delivery_and_spindle_speed():
    entry = printed("GATE-2000", "twist-multiplier")
    spindle = entry.given["spindle_rpm"] * RPM
    turns = spindle / (2 * pi) / (entry.given["delivery_m_min"] * METRE_PER_MINUTE)
    assert delivery_speed(spindle, turns) * 60 == pytest.approx(entry.given["delivery_m_min"])
    multiplier = twist_multiplier_in(twist_multiplier(turns, from_ne(entry.given["count_Ne"])), "English")
    assert agrees(multiplier, entry.printed)


def test_twist_from_roller_and_spindle_speed():
    entry = printed("mill-production", "twist-from-speeds")
    roller = entry.given["front_roller_rpm"] * entry.given["circumference_inch"] * INCH / 60
    turns = float(entry.printed) * PER_INCH
    # The delivery speed that the printed twist asks for is the roller's, within half of the printed digit.
    speed = delivery_speed(entry.given["spindle_rpm"] * RPM, turns)
    assert agrees(turns * INCH * speed / roller, entry.printed)


def test_turns_per_cm_from_a_tex_factor():
    entry = printed("GATE-2014", "twist-from-factor")
    multiplier = twist_multiplier_from(entry.given["twist_per_cm_root_tex"] * 100, "tex")
    assert agrees(twist(multiplier, entry.given["tex"] * TEX) / 100, entry.printed)


def test_a_tex_factor_becomes_turns_per_inch():
    entry = printed("GATE-2006", "twist-per-inch")
    multiplier = twist_multiplier_from(entry.given["twist_per_cm_root_tex"] * 100, "tex")
    assert agrees(twist(multiplier, entry.given["tex"] * TEX) * INCH, entry.printed)


def test_the_same_twist_in_another_count_and_system():
    entry = printed("GATE-2006", "twist-multiplier")
    turns = twist(twist_multiplier_from(entry.given["twist_per_cm_root_tex"] * 100, "tex"), entry.given["tex"] * TEX)
    multiplier = twist_multiplier(turns, from_ne(entry.given["count_Ne"]))
    assert agrees(twist_multiplier_in(multiplier, "English"), entry.printed)


def test_one_english_multiplier_in_the_tex_system():
    entry = printed("conversion-factors", "tex-factor-of-one-TM")
    assert agrees(twist_multiplier_in(twist_multiplier_from(1.0, "English"), "tex") / 100, entry.printed)


def test_tex_factor_of_four_english():
    entry = printed("Koc-Kaplan-2007", "tex-twist-factor")
    multiplier = twist_multiplier_from(entry.given["english_twist_multiplier"], "English")
    # The source multiplies a rounded 957 by four, so its last digit is known to four halves.
    assert agrees(twist_multiplier_in(multiplier, "tex"), entry.printed, last_digits=2)


def test_yarn_diameter_from_the_surface_angle():
    entry = printed("GATE-2005", "yarn-diameter")
    turns = entry.given["twist_per_cm"] * 100
    diameter = tan(radians(entry.given["surface_angle_degrees"])) / (pi * turns)
    assert agrees(diameter * 1e3, entry.printed)
    assert degrees(surface_angle(turns, diameter)) == pytest.approx(entry.given["surface_angle_degrees"])


def test_specific_volume_from_the_surface_angle():
    entry = printed("GATE-2005", "specific-volume")
    volume = float(entry.printed) * 1e-3
    diameter = yarn_diameter(entry.given["tex"] * TEX, 1 / volume)
    angle = degrees(surface_angle(entry.given["twist_per_cm"] * 100, diameter))
    # The solution rounds the diameter to 0.0079 in: 0.9 % of it, which is 0.25 degree here.
    assert angle == pytest.approx(entry.given["surface_angle_degrees"], abs=0.25)


def test_the_diameter_rule_is_peirces_specific_volume():
    entry = printed("twist-notes", "diameter-rule")
    diameter = yarn_diameter(from_ne(1.0), 1 / float(COTTON_YARN_SPECIFIC_VOLUME))
    assert agrees(INCH / diameter, entry.printed)


def test_untwisted_count_formula_is_the_contraction_formula():
    entry = printed("twist-notes", "untwisted-count")
    # 100 Ne / (105 - 2.67 TM) must be Ne / (1 - C): so 105 is 100 + 4.93, rounded.
    assert agrees(100 * (1 + CONTRACTION_OFFSET), entry.printed)
    english = 4.0
    multiplier = twist_multiplier_from(english, "English")
    by_formula = 100 * 30 / (float(entry.printed) - 100 * CONTRACTION_SLOPE * english)
    by_ours = ENGLISH_COUNT / untwisted_linear_density(from_ne(30.0), contraction(multiplier))
    assert by_ours == pytest.approx(by_formula, rel=1e-3)


@pytest.mark.parametrize(
    ("source", "name", "value"),
    [
        ("twist-notes", "inches-in-a-metre", 1 / INCH),
        ("twist-notes", "roving-wrapping", 15 * YARD * ENGLISH_COUNT * 1e3),
        ("twist-notes", "sliver-wrapping", 6 * YARD * ENGLISH_COUNT * 1e3),
        ("twist-notes", "metres-per-gram", 1e-3 / ENGLISH_COUNT),
        ("spinning-formulas", "grams-per-metre", ENGLISH_COUNT * 1e3),
        ("spinning-formulas", "grams-per-yard", ENGLISH_COUNT * YARD * 1e3),
        ("SITRA-production", "Ne-from-tex", ENGLISH_COUNT / TEX),
        ("SITRA-production", "Ne-from-denier", ENGLISH_COUNT * 9e6),
        ("SITRA-production", "exercise-1", ENGLISH_COUNT / (40 * TEX)),
        ("yarn-calculations", "Ne-from-Nm", ENGLISH_COUNT * 1e3),
        ("GATE-1992", "tex-to-Ne", ENGLISH_COUNT / (20 * TEX)),
        ("GATE-1992", "tex-to-denier", 20 * TEX * 9e6),
        ("GATE-1992", "tex-to-Nm", 1e-3 / (20 * TEX)),
        ("ring-frame-production", "pounds-per-kilogram", 1 / POUND),
    ],
)
def test_constants_of_the_counts(source, name, value):
    assert agrees(value, printed(source, name).printed)


@pytest.mark.xfail(strict=True, reason="120 yd of 1 Ne weigh 64.80 g; the printed 64.81 is 0.02 % high")
def test_yarn_wrapping_constant():
    assert agrees(120 * YARD * ENGLISH_COUNT * 1e3, printed("twist-notes", "yarn-wrapping").printed)


@pytest.mark.parametrize("count", [8, 12, 18, 20, 24, 30, 34, 40, 45, 55, 60, 70, 80, 90, 100, 120])
def test_tex_column_of_the_count_table(count):
    entry = printed("Baraiya-2016", f"tex-of-{count}-Ne")
    assert agrees(from_ne(entry.given["count_Ne"]) / TEX, entry.printed)
