"""Short equations of the spin plan against hand arithmetic.

The cases marked "second pair of hands" were computed outside this code from the same published formula; they show that
two people read the formula alike, and nothing about the trade.
"""

from math import degrees, pi, radians, sin

import numpy as np
import pytest

from ringwright.physics.contraction import contraction, contraction_in_range, machine_twist, untwisted_linear_density
from ringwright.physics.draft import linear_density_after, main_draft, total_draft
from ringwright.physics.evenness import fault_wavelength, fibres_in_section, finest_linear_density
from ringwright.physics.krause import centrifugal_force, winding_angle, winding_ratio, winding_tension, wrap_for_ratio
from ringwright.physics.production import (
    delivery_speed,
    doff_time,
    doffs,
    frame_production,
    frames_for_order,
    production_rate,
    spindle_speed_for,
)
from ringwright.physics.roving import back_roller_speed, roving_consumption, roving_content, roving_feed, run_out_time
from ringwright.physics.traveller_mass import table_span, usual_traveller_mass
from ringwright.physics.traveller_speed import missing_twist, rubbing_speed, traveller_speed, winding_speed
from ringwright.physics.twist import twist, twist_multiplier_from
from ringwright.units.factors import ENGLISH_COUNT, INCH, POUND

RPM = 2 * pi / 60
TEX = 1e-6
MG = 1e-6


def english(multiplier):
    return twist_multiplier_from(multiplier, "English")


def test_twist_is_the_multiplier_over_the_root_of_linear_density():
    assert twist(0.004, 16e-6) == pytest.approx(1.0)


def test_equations_take_arrays_too():
    counts = np.array([16e-6, 25e-6])
    assert twist(np.array([4.0, 4.0]), counts) == pytest.approx([1000.0, 800.0])


def test_contraction_at_english_four():  # second pair of hands: 2.67 x 4 - 4.93 = 5.75 %
    assert contraction(english(4.0)) == pytest.approx(0.0575, abs=1e-12)


@pytest.mark.parametrize(
    ("multiplier", "inside"), [(2.99, False), (3.0, True), (4.0, True), (5.0, True), (5.01, False)]
)
def test_contraction_says_where_it_holds(multiplier, inside):
    assert contraction_in_range(english(multiplier)) is inside


def test_strand_and_machine_twist_are_less_than_the_yarns_by_the_contraction():
    assert untwisted_linear_density(20 * TEX, 0.05) == pytest.approx(19 * TEX)
    assert machine_twist(1000.0, 0.05) == pytest.approx(950.0)


def test_draft_with_and_without_contraction():  # second pair of hands: 30 Ne at TM 4 from 0.80 hank
    roving, yarn = ENGLISH_COUNT / 0.80, ENGLISH_COUNT / 30
    assert total_draft(roving, yarn) == pytest.approx(37.5)
    assert total_draft(roving, yarn, 0.0575) == pytest.approx(39.79, abs=0.005)


def test_main_draft_is_what_the_break_draft_leaves():
    assert main_draft(36.0, 1.2) == pytest.approx(30.0)


def test_a_wheel_that_drafts_more_makes_a_finer_yarn():
    assert linear_density_after(600 * TEX, 31.0, 0.05) < linear_density_after(600 * TEX, 30.0, 0.05)


@pytest.mark.parametrize(
    ("count", "multiplier", "rpm", "spindles", "efficiency", "pounds"),
    [(40, 4.2, 16000, 504, 0.96, 115.65), (36, 4.5, 10000, 400, 0.90, 58.79)],
)
def test_frame_production_in_eight_hours(count, multiplier, rpm, spindles, efficiency, pounds):  # second pair of hands
    yarn = ENGLISH_COUNT / count
    rate = production_rate(rpm * RPM, twist(english(multiplier), yarn), yarn, efficiency)
    assert frame_production(rate, spindles, 8 * 3600) / POUND == pytest.approx(pounds, abs=0.01)


def test_twist_delivery_and_grams_of_a_spindle():  # second pair of hands: 20 tex, TM 4, 17,500 rpm
    turns = twist(english(4.0), 20 * TEX)
    assert turns == pytest.approx(855.7, rel=1e-3)
    assert delivery_speed(17500 * RPM, turns) * 60 == pytest.approx(20.445, rel=1e-3)
    assert production_rate(17500 * RPM, turns, 20 * TEX) * 3.6e6 == pytest.approx(24.534, rel=1e-3)


def test_rollers_run_faster_by_the_contraction():
    assert delivery_speed(1000 * RPM, 100.0, 0.05) == pytest.approx(1000 / 60 / 95)
    assert spindle_speed_for(delivery_speed(1000 * RPM, 100.0, 0.05), 100.0, 0.05) == pytest.approx(1000 * RPM)


@pytest.mark.parametrize(("order", "frames"), [(0.0, 0), (99.0, 1), (100.0, 1), (100.1, 2), (250.0, 3)])
def test_an_order_takes_whole_frames(order, frames):
    assert frames_for_order(order, 0.01, 10_000.0) == frames


def test_doff_time_and_doffs_in_a_shift():
    rate = 0.025 / 3600  # 25 g in an hour
    assert doff_time(0.050, rate) == pytest.approx(7200)
    assert doffs(8 * 3600.0, 0.050, rate) == pytest.approx(4)


def test_roving_drawn_feeds_yarn_and_waste():
    assert roving_consumption(0.98, 0.02) == pytest.approx(1.0)
    assert run_out_time(1.5, 0.5e-5) == pytest.approx(300_000)


def test_the_creel_is_emptied_as_fast_as_the_back_roller_feeds():
    assert roving_feed(back_roller_speed(0.3, 30.0), 600 * TEX) == pytest.approx(6e-6)


def test_roving_content_of_a_twelve_by_six_inch_bobbin():  # second pair of hands: 3 x 12 x 36 / 1000
    assert roving_content(12 * INCH, 6 * INCH) == pytest.approx(1.296)


def test_fibres_of_a_blend_add_up():
    assert fibres_in_section(20 * TEX, [0.5, 0.5], [0.1 * TEX, 0.2 * TEX]) == pytest.approx(150)


def test_shares_in_percent_count_the_same():
    fifty = fibres_in_section(20 * TEX, [50, 50], [0.1 * TEX, 0.2 * TEX])
    assert fifty == pytest.approx(150)


def test_shares_without_their_fineness_are_an_error():
    with pytest.raises(ValueError, match="zip"):
        fibres_in_section(20 * TEX, [1.0], [])


def test_the_spinning_limit_is_the_least_fibres_times_fineness():
    assert finest_linear_density("carded", 0.16 * TEX) == pytest.approx(12 * TEX)


@pytest.mark.parametrize(("draft", "millimetres"), [(1.0, 84.82), (25.0, 2120.6), (31.25, 2650.7)])
def test_wavelength_of_a_27_mm_roller(draft, millimetres):  # second pair of hands
    assert fault_wavelength(0.027, draft) * 1e3 == pytest.approx(millimetres, abs=0.05)


@pytest.mark.parametrize(("diameter", "tension"), [(20, 0.7233), (30, 0.5521), (38, 0.4764)])
def test_krause_tension_of_a_40_mg_traveller(diameter, tension):  # second pair of hands
    force = centrifugal_force(40 * MG, 16000 * RPM, 0.042)
    assert force == pytest.approx(2.3582, abs=5e-5)
    assert winding_tension(force, winding_angle(diameter * 1e-3, 0.042), 0.2) == pytest.approx(tension, abs=5e-5)


def test_bare_tube_against_full_cop():  # second pair of hands: 1.518
    bare, full = (winding_tension(1.0, winding_angle(d, 0.042), 0.2) for d in (0.020, 0.038))
    assert bare / full == pytest.approx(1.518, abs=5e-4)


def test_winding_angle_of_half_the_ring():
    assert degrees(winding_angle(0.021, 0.042)) == pytest.approx(30.0)


def test_krause_balances_the_traveller():
    """Along the ring: T sin a = mu N. Across it: N = F - T cos a."""
    angle, friction, force = radians(40), 0.15, 2.0
    tension = winding_tension(force, angle, friction)
    pressure = tension * sin(angle) / friction
    assert pressure == pytest.approx(force - tension * np.cos(angle))


def test_the_wrap_for_a_ratio_gives_it_back():
    assert winding_ratio(0.3, wrap_for_ratio(1.5, 0.3)) == pytest.approx(1.5)


def test_traveller_rubs_at_the_rim_speed_of_the_ring():  # second pair of hands: 42 mm, 16,000 rpm
    assert rubbing_speed(16000 * RPM, 0.042) == pytest.approx(35.186, abs=5e-4)


def test_a_traveller_that_lags_winds_what_is_delivered():
    speed = winding_speed(0.3, 0.05)
    lag = 1000.0 - traveller_speed(1000.0, speed, 0.02)
    assert speed == pytest.approx(0.285)
    assert lag * 0.01 == pytest.approx(speed)


def test_missing_twist_is_one_turn_for_each_coil():
    assert missing_twist(1 / pi) == pytest.approx(1.0)


def test_traveller_mass_between_two_rows_is_between_their_masses():
    found = usual_traveller_mass(22 * TEX, "cotton")
    assert found is not None
    assert 35.5 * MG < found.lightest < 45 * MG
    assert 56 * MG < found.heaviest < 71 * MG
    assert found.source == "Baraiya-2016"


@pytest.mark.parametrize(("tex", "lightest", "heaviest"), [(4.9, 7.1, 9), (19.7, 35.5, 56), (73.8, 160, 250)])
def test_at_a_row_of_the_table_its_masses_come_back(tex, lightest, heaviest):
    found = usual_traveller_mass(tex * TEX, "cotton")
    assert found is not None
    assert found.lightest == pytest.approx(lightest * MG)
    assert found.heaviest == pytest.approx(heaviest * MG)


@pytest.mark.parametrize(("tex", "column"), [(4.5, "cotton"), (80, "cotton"), (6.6, "blend"), (80, "blend")])
def test_a_count_outside_the_table_gets_no_mass(tex, column):
    assert usual_traveller_mass(tex * TEX, column) is None


def test_the_span_of_each_column():
    assert table_span("cotton") == pytest.approx((4.9e-6, 73.8e-6))
    assert table_span("blend") == pytest.approx((7.4e-6, 73.8e-6))


def test_the_end_counts_in_ne_are_inside():
    assert usual_traveller_mass(ENGLISH_COUNT / 120, "cotton") is not None
    assert usual_traveller_mass(ENGLISH_COUNT / 8, "blend") is not None
