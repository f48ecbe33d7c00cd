"""Traveller speed, missing twist, forces and mass against printed values."""

from math import pi, radians

import pytest
from tests.published.agreement import METRE_PER_MINUTE, RPM, agrees, from_ne, printed

from ringwright.physics.krause import centrifugal_force, winding_ratio
from ringwright.physics.traveller_mass import usual_traveller_mass
from ringwright.physics.traveller_speed import missing_twist, traveller_lag, traveller_speed
from ringwright.units.factors import INCH

GRAVITY = 9.80665  # m/s2, standard gravity, CGPM 1901


def winding(entry):
    return entry.given["delivery_m_min"] * METRE_PER_MINUTE, entry.given["diameter_mm"] * 1e-3


@pytest.mark.parametrize("name", ["traveller-at-base", "traveller-at-tip"])
def test_traveller_speed(name):
    entry = printed("Klein-1987", name)
    assert agrees(traveller_speed(entry.given["spindle_rpm"] * RPM, *winding(entry)) / RPM, entry.printed)


@pytest.mark.parametrize("name", ["lag-at-base", "lag-at-tip"])
def test_lag_as_a_share_of_spindle_speed(name):
    entry = printed("Klein-1987", name)
    assert agrees(100 * traveller_lag(*winding(entry)) / (entry.given["spindle_rpm"] * RPM), entry.printed)


@pytest.mark.parametrize("name", ["missing-turns-at-base", "missing-turns-at-tip"])
def test_missing_turns_in_a_minute(name):
    entry = printed("Klein-1987", name)
    assert agrees(traveller_lag(*winding(entry)) / (2 * pi) * 60, entry.printed)


def test_missing_twist():
    entry = printed("Klein-1987", "missing-twist-at-tip")
    assert agrees(missing_twist(entry.given["diameter_mm"] * 1e-3), entry.printed)


@pytest.mark.parametrize("name", ["loss-of-twist-at-barrel", "loss-of-twist-outside"])
def test_loss_of_twist_by_the_rule_of_1896(name):
    entry = printed("Facts-and-Figures-1896", name)
    assert agrees(missing_twist(entry.given["circumference_inch"] * INCH / pi) * INCH, entry.printed)


@pytest.mark.parametrize(("source", "per_newton"), [("GATE-2014", 1.0), ("GATE-2022", 100.0)])
def test_tension_after_a_wrap(source, per_newton):
    entry = printed(source, "tension-after-wrap")
    tension = (
        entry.given["tension_cN"] / 100 * winding_ratio(entry.given["friction"], radians(entry.given["wrap_degrees"]))
    )
    assert agrees(tension * per_newton, entry.printed)


def test_centrifugal_force_stays_below_the_printed_multiple_of_weight():
    entry = printed("ring-load-2012", "highest-force")
    ring, rubbing = 0.042, 40.0  # a 42 mm ring at 40 m/s, a fast frame
    force = centrifugal_force(1.0, rubbing / (ring / 2), ring)
    assert 0.9 * float(entry.printed) < force / GRAVITY < float(entry.printed)


@pytest.mark.parametrize(
    ("name", "column"),
    [
        ("mass-at-30-Ne", "cotton"),
        ("mass-at-40-Ne", "cotton"),
        ("mass-at-80-Ne", "cotton"),
        ("blend-mass-at-24-Ne", "blend"),
    ],
)
def test_traveller_mass_at_a_row_of_the_table(name, column):
    entry = printed("Baraiya-2016", name)
    found = usual_traveller_mass(from_ne(entry.given["count_Ne"]), column)
    assert found is not None
    # The table's tex is rounded, so a count in Ne falls up to 0.6 % beside its row, and the mass with it.
    assert found.lightest * 1e6 == pytest.approx(float(entry.printed_range[0]), rel=0.012)
    assert found.heaviest * 1e6 == pytest.approx(float(entry.printed_range[1]), rel=0.012)
