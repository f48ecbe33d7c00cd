"""What holds for every spin plan: inverses, directions, mass kept, the nearest wheel."""

from math import pi

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from ringwright.physics.contraction import contraction, helix_contraction, machine_twist, untwisted_linear_density
from ringwright.physics.draft import draft_by_counts, linear_density_after, main_draft, roller_draft, total_draft
from ringwright.physics.evenness import (
    fibres_by_mean_fineness,
    fibres_in_section,
    index_of_irregularity,
    limit_irregularity,
)
from ringwright.physics.gearing import Train, nearest_wheel, train_value
from ringwright.physics.krause import (
    winding_angle,
    winding_ratio,
    winding_tension,
    winding_tension_roughly,
    wrap_for_ratio,
)
from ringwright.physics.production import (
    delivery_speed,
    doff_time,
    doffs,
    frames_for_order,
    mean_linear_density,
    production_rate,
    spindle_speed_for,
)
from ringwright.physics.roving import back_roller_speed, roving_consumption, roving_feed, run_out_time
from ringwright.physics.traveller_mass import table_span, usual_traveller_mass
from ringwright.physics.traveller_speed import missing_twist, traveller_lag, traveller_speed, winding_speed
from ringwright.physics.twist import (
    surface_angle,
    twist,
    twist_multiplier,
    twist_multiplier_from,
    twist_multiplier_in,
    yarn_diameter,
)
from ringwright.refusal import Refusal

counts = st.floats(4e-6, 200e-6)  # kg/m
rovings = st.floats(300e-6, 1500e-6)
multipliers = st.floats(1.5, 7.0)  # SI; English 1.6 to 7.3
contractions = st.floats(0.0, 0.12)
spindles = st.floats(500.0, 2700.0)  # rad/s
systems = st.sampled_from(["English", "tex", "metric"])
shares = st.lists(st.floats(0.01, 1.0), min_size=1, max_size=5)
frictions = st.floats(0.02, 0.5)


@given(multipliers, counts)
def test_twist_and_multiplier_are_inverse(multiplier, count):
    assert twist_multiplier(twist(multiplier, count), count) == pytest.approx(multiplier)


@given(st.floats(0.1, 1e4), systems)
def test_a_multiplier_survives_the_way_through_si(value, system):
    assert twist_multiplier_in(twist_multiplier_from(value, system), system) == pytest.approx(value)


@given(multipliers, counts, counts)
def test_a_finer_yarn_takes_more_twist_for_the_same_multiplier(multiplier, one, other):
    assume(one < other)
    assert twist(multiplier, one) >= twist(multiplier, other)


@given(multipliers, counts, counts)
def test_the_surface_angle_depends_on_the_multiplier_alone(multiplier, one, other):
    angles = [surface_angle(twist(multiplier, count), yarn_diameter(count, 909.0)) for count in (one, other)]
    assert angles[0] == pytest.approx(angles[1])


@given(st.floats(2.9, 4.8), st.floats(1e-6, 0.1))
def test_more_twist_contracts_more(multiplier, more):
    assert contraction(multiplier + more) > contraction(multiplier)


@given(st.floats(0.0, 3000.0), st.floats(5e-5, 5e-4))
def test_a_helix_never_contracts_to_less_than_nothing(turns, diameter):
    assert 0 <= helix_contraction(turns, diameter) < 1


@given(rovings, counts, contractions)
def test_a_draft_spins_the_count_it_was_made_for(roving, count, share):
    assert linear_density_after(roving, total_draft(roving, count, share), share) == pytest.approx(count)


@given(rovings, counts, contractions)
def test_contraction_asks_for_more_draft_by_its_own_share(roving, count, share):
    assert total_draft(roving, count, share) * (1 - share) == pytest.approx(draft_by_counts(roving, count))
    strand = untwisted_linear_density(count, share)
    assert total_draft(roving, count, share) == pytest.approx(draft_by_counts(roving, strand))


@given(st.floats(5.0, 60.0), st.floats(1.02, 2.0))
def test_break_and_main_draft_multiply_to_the_total(total, break_draft):
    assert main_draft(total, break_draft) * break_draft == pytest.approx(total)


@given(st.floats(1.0, 60.0), st.floats(0.02, 0.04), st.floats(0.02, 0.04))
def test_roller_draft_scales_with_the_delivering_roller(ratio, delivering, feeding):
    assert roller_draft(ratio, delivering, feeding) * feeding == pytest.approx(ratio * delivering)


@given(spindles, multipliers, counts, contractions)
def test_delivery_and_spindle_speed_are_inverse(spindle, multiplier, count, share):
    turns = twist(multiplier, count)
    assert spindle_speed_for(delivery_speed(spindle, turns, share), turns, share) == pytest.approx(spindle)


@given(spindles, multipliers, counts, contractions)
def test_turns_for_each_metre_delivered_are_the_machine_twist(spindle, multiplier, count, share):
    turns = twist(multiplier, count)
    assert spindle / (2 * pi) / delivery_speed(spindle, turns, share) == pytest.approx(machine_twist(turns, share))


@given(spindles, multipliers, counts, contractions, rovings, st.floats(0.0, 0.1))
def test_roving_in_is_yarn_out_and_waste(spindle, multiplier, count, share, roving, waste):
    turns = twist(multiplier, count)
    yarn_out = production_rate(spindle, turns, count)
    draft = total_draft(roving, count, share)
    through_rollers = roving_feed(back_roller_speed(delivery_speed(spindle, turns, share), draft), roving)
    assert through_rollers == pytest.approx(yarn_out)  # nothing is lost between back roller and cop
    drawn = roving_consumption(yarn_out, waste)
    assert drawn == pytest.approx(yarn_out + waste * drawn)


@given(spindles, multipliers, counts, st.floats(1.001, 1.5))
def test_a_faster_spindle_makes_more_and_more_twist_makes_less(spindle, multiplier, count, more):
    turns = twist(multiplier, count)
    rate = production_rate(spindle, turns, count)
    assert production_rate(spindle * more, turns, count) == pytest.approx(rate * more)
    assert production_rate(spindle, turns * more, count) == pytest.approx(rate / more)


@given(st.floats(0.01, 1e5), st.floats(1e-4, 1.0), st.floats(3600.0, 1e6))
def test_the_frames_are_enough_and_one_fewer_is_not(order, rate, time):
    frames = frames_for_order(order, rate, time)
    assert frames * rate * time >= order * (1 - 1e-8)
    assert (frames - 1) * rate * time < order


@given(st.floats(1e3, 1e5), st.floats(0.02, 0.1), st.floats(1e-6, 2e-5))
def test_doffs_fill_the_shift(duration, content, rate):
    assert doffs(duration, content, rate) * doff_time(content, rate) == pytest.approx(duration)
    assert run_out_time(content, rate) == pytest.approx(doff_time(content, rate))


@given(st.lists(st.tuples(st.floats(1.0, 1e4), counts), min_size=1, max_size=6))
def test_the_mean_count_lies_between_and_keeps_the_length(lots):
    masses, densities = zip(*lots, strict=True)
    mean = mean_linear_density(masses, densities)
    assert min(densities) * (1 - 1e-9) <= mean <= max(densities) * (1 + 1e-9)
    assert sum(masses) / mean == pytest.approx(sum(m / d for m, d in lots))


@given(counts, st.lists(st.tuples(st.floats(0.01, 1.0), st.floats(0.8e-7, 5e-7)), min_size=1, max_size=5))
def test_the_mean_by_mass_never_counts_too_many_fibres(count, blend):
    parts, finenesses = zip(*blend, strict=True)
    exact = fibres_in_section(count, parts, finenesses)
    assert fibres_by_mean_fineness(count, parts, finenesses) <= exact * (1 + 1e-9)
    assert count / max(finenesses) * (1 - 1e-9) <= exact <= count / min(finenesses) * (1 + 1e-9)


@given(st.floats(10.0, 1000.0), st.floats(1.001, 4.0), st.sampled_from(["synthetic", "cotton", "wool"]))
def test_more_fibres_spin_more_evenly(fibres, more, kind):
    assert limit_irregularity(fibres * more, kind) < limit_irregularity(fibres, kind)
    limit = limit_irregularity(fibres, kind)
    assert index_of_irregularity(limit, limit) == pytest.approx(1.0)


@given(spindles, st.floats(0.05, 0.6), contractions, st.floats(0.015, 0.06))
def test_lag_and_missing_twist_tell_one_story(spindle, delivery, share, diameter):
    wound = winding_speed(delivery, share)
    lag = traveller_lag(wound, diameter)
    assert traveller_speed(spindle, wound, diameter) == pytest.approx(spindle - lag)
    assert lag / (2 * pi) / wound == pytest.approx(missing_twist(diameter))


@given(st.floats(0.015, 0.039), st.floats(1e-4, 2e-3), frictions)
def test_winding_tension_falls_as_the_cop_grows(diameter, more, friction):
    """Up to a = 90 - arctan(mu): there sin a + mu cos a stops growing. The range here stays below it."""
    small, large = (winding_angle(d, 0.050) for d in (diameter, diameter + more))
    assume(large < pi / 2 - friction)
    assert winding_tension(1.0, large, friction) < winding_tension(1.0, small, friction)
    assert winding_tension_roughly(1.0, small, friction) > winding_tension(1.0, small, friction)


@given(st.floats(1.0, 3.0), frictions)
def test_wrap_and_winding_ratio_are_inverse(ratio, friction):
    assert winding_ratio(friction, wrap_for_ratio(ratio, friction)) == pytest.approx(ratio)


@given(st.sampled_from(["cotton", "blend"]), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_coarser_yarn_never_takes_a_lighter_traveller(column, one, other):
    finest, coarsest = table_span(column)
    fine, coarse = sorted(finest * (coarsest / finest) ** place for place in (one, other))
    lighter, heavier = usual_traveller_mass(fine, column), usual_traveller_mass(coarse, column)
    assert lighter is not None
    assert heavier is not None
    assert lighter.lightest <= heavier.lightest * (1 + 1e-12)
    assert lighter.heaviest <= heavier.heaviest * (1 + 1e-12)
    assert lighter.lightest < lighter.heaviest


teeth = st.integers(12, 120)
trains = st.builds(
    lambda pairs, place, side, factor: Train(
        pairs=tuple(pairs), change_pair=place % len(pairs), change_side=side, factor=factor
    ),
    st.lists(st.tuples(teeth, teeth), min_size=1, max_size=4),
    st.integers(0, 3),
    st.sampled_from(["driver", "driven"]),
    st.floats(0.1, 50.0),
)
wheel_sets = st.lists(teeth, min_size=1, max_size=25)


@given(trains, wheel_sets, st.floats(12.0, 120.0))
def test_the_nearest_wheel_is_really_the_nearest(train, wheels, exact):
    """Brute force over every wheel at hand: build the train anew with it and compare."""
    target = train_value(train, 1) * (exact if train.change_side == "driver" else 1 / exact)
    if not min(wheels) - 0.5 + 1e-9 <= exact <= max(wheels) + 0.5 - 1e-9:
        assume(not min(wheels) - 0.5 - 1e-9 <= exact <= max(wheels) + 0.5 + 1e-9)
        with pytest.raises(Refusal):
            nearest_wheel(train, wheels, target)
        return
    choice = nearest_wheel(train, wheels, target)
    errors = {wheel: abs(rebuilt(train, wheel) / target - 1) for wheel in wheels}
    assert abs(choice.best.error) == pytest.approx(min(errors.values()), abs=1e-9)
    assert errors[choice.best.teeth] == pytest.approx(min(errors.values()), abs=1e-9)
    assert choice.exact_teeth == pytest.approx(exact)


def rebuilt(train, wheel):
    """The train's value with the wheel written into its pairs, multiplied out one by one."""
    value = train.factor
    for place, (driver, driven) in enumerate(train.pairs):
        here = place == train.change_pair
        value *= wheel if here and train.change_side == "driver" else driver
        value /= wheel if here and train.change_side == "driven" else driven
    return value


@given(trains, wheel_sets, st.floats(12.0, 120.0))
def test_the_neighbours_are_the_next_wheels_at_hand(train, wheels, exact):
    target = train_value(train, 1) * (exact if train.change_side == "driver" else 1 / exact)
    assume(min(wheels) <= exact <= max(wheels))
    choice = nearest_wheel(train, wheels, target)
    below = [wheel for wheel in wheels if wheel < choice.best.teeth]
    above = [wheel for wheel in wheels if wheel > choice.best.teeth]
    assert (choice.smaller.teeth if choice.smaller else None) == (max(below) if below else None)
    assert (choice.larger.teeth if choice.larger else None) == (min(above) if above else None)


@given(trains, teeth, teeth)
def test_wheel_times_value_is_the_trains_constant(train, one, other):
    """The trade's rule: a driven wheel times what it gives is constant; a driver's value over it is."""
    power = 1 if train.change_side == "driven" else -1
    assert train_value(train, one) * one**power == pytest.approx(train_value(train, other) * other**power)
