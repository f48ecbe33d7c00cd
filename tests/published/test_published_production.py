"""Production, roving and ends down against printed values."""

import pytest
from tests.published.agreement import (
    HOUR,
    METRE_PER_MINUTE,
    POUND_MASS,
    RPM,
    TEX,
    agrees,
    authority,
    from_ne,
    printed,
)

from ringwright.physics.production import (
    delivery_speed,
    ends_down_share,
    frame_production,
    mean_linear_density,
    production_rate,
)
from ringwright.physics.roving import roving_content
from ringwright.physics.twist import twist, twist_multiplier_from
from ringwright.units.factors import ENGLISH_COUNT, INCH


def test_frame_production_in_a_shift():
    entry = printed("ring-frame-production", "frame-per-shift")
    given = entry.given
    yarn = from_ne(given["count_Ne"])
    turns = twist(twist_multiplier_from(given["english_twist_multiplier"], "English"), yarn)
    rate = production_rate(given["spindle_rpm"] * RPM, turns, yarn, given["efficiency"])
    assert agrees(frame_production(rate, given["spindles"], given["hours"] * HOUR) / POUND_MASS, entry.printed)


def test_front_roller_delivery():
    entry = printed("mill-production", "front-roller-delivery")
    speed = delivery_speed(entry.given["spindle_rpm"] * RPM, entry.given["twist_per_inch"] / INCH)
    assert agrees(speed / INCH * 60, entry.printed)


def test_production_constant_of_pounds_per_spindle_hour():
    entry = printed("study-cards", "production-constant")
    multiplier, count = 4.0, 30.0
    yarn = from_ne(count)
    turns = twist(twist_multiplier_from(multiplier, "English"), yarn)
    rate = production_rate(10000 * RPM, turns, yarn) * HOUR / POUND_MASS
    assert agrees(10000 / (rate * multiplier * count**1.5), entry.printed)


@pytest.mark.xfail(strict=True, reason="480 min x 0.59054 g/m is 0.2835; the printed 0.2836 is 0.05 % high")
def test_delivery_constant_of_kilograms_in_eight_hours():
    entry = printed("spinning-formulas", "delivery-constant")
    assert agrees(1 * METRE_PER_MINUTE * 8 * HOUR * ENGLISH_COUNT, entry.printed)


def test_the_frame_of_1890_made_less_than_its_spindles_allow():
    entry = printed("Nasmith-1890", "weft-20s")
    given = entry.given
    yarn = from_ne(given["count_Ne"])
    turns = twist(twist_multiplier_from(given["english_twist_multiplier"], "English"), yarn)
    at_full = production_rate(given["spindle_rpm"] * RPM, turns, yarn) * given["hours"] * HOUR / POUND_MASS
    # The source gives no efficiency. It must come out below one, and no lower than for a third of the time stopped.
    assert 0.67 < float(entry.printed) / at_full < 1


def test_mean_count_of_a_mill():
    entry = printed("GATE-2013", "mean-count")
    mean = mean_linear_density(entry.given["masses_kg"], [tex * TEX for tex in entry.given["tex"]])
    assert agrees(mean / TEX, entry.printed)


def test_share_of_ends_down():
    entry = printed("ends-down", "ends-down")
    rate = entry.given["breaks_per_100_spindle_hours"] / 100 / HOUR
    assert agrees(100 * ends_down_share(rate, entry.given["patrol_hours"] * HOUR), entry.printed)


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(
            name,
            marks=pytest.mark.xfail(strict=True, reason="the source's own formula gives 0.668 kg for its printed 0.70"),
        )
        if name == "lift-11-diameter-4-5"
        else name
        for name in authority("SITRA-norms")
    ],
)
def test_roving_content_formula_against_its_table(name):
    entry = printed("SITRA-norms", name)
    content = roving_content(entry.given["lift_inch"] * INCH, entry.given["diameter_inch"] * INCH)
    # All printed contents are multiples of 0.05 kg, so half of the table's step is 2.5 of the last digit.
    assert agrees(content, entry.printed, last_digits=2.5)
