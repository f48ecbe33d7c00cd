"""The cost of a kilogram and the economic speed: hand arithmetic, second solutions, and the rule of the margin."""

import numpy as np
import pytest
from click.testing import CliRunner

from ringwright.cli.main import ringwright
from ringwright.economy import cost_per_kg, economic_speed, energy_by_part, ground
from ringwright.economy.breaks import doff_stress, strength_of
from ringwright.economy.costing import costing
from ringwright.economy.counting import counted, read_counts, study_breaks
from ringwright.economy.energy import drawn_power
from ringwright.economy.energy_sway import energy_sways, together
from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.setting.choice import Trial
from ringwright.setting.doff import solve_doff
from ringwright.setting.places import Sampling
from ringwright.verbs.recorded import counts_from_records

MILL = read_mill(demo_mill_path())
SMALL = Sampling(strokes=16, places=9)


def doff(frame="F1", yarn="AV30K", trial=None, mill=MILL):
    return solve_doff(mill, frame, yarn, trial or Trial(), SMALL)


def quicker(ratio, frame="F1", yarn="AV30K"):
    return doff(frame, yarn, Trial(main_speed=ratio * MILL.settings[f"{frame}-{yarn}"].main_speed))


def with_money(**changes):
    return MILL.model_copy(update={"money": MILL.money.model_copy(update=changes)})


@pytest.mark.parametrize("name", sorted(MILL.settings))
def test_the_parts_add_to_the_power_drawn_and_the_balloons_close(name):
    setting = MILL.settings[name]
    run = doff(setting.frame, setting.yarn)
    energy = energy_by_part(run, MILL.power)
    assert energy.imbalance < 1e-6
    assert float(energy.weights.sum()) == pytest.approx(1)
    # The short way takes the cop's outline and speed once a stroke, hence not to the last digit.
    assert sum(energy.means.values()) == pytest.approx(drawn_power(run, MILL.power), rel=1e-4)
    assert sum(energy.per_mass.values()) == pytest.approx(
        drawn_power(run, MILL.power) * run.problem.doff_time / run.problem.content, rel=1e-4
    )
    assert min(part.min() for part in energy.parts.values()) >= 0


def test_the_cop_takes_more_air_power_as_it_grows():
    air = energy_by_part(doff(), MILL.power).parts["cop in the air"]
    speed = doff().places.spindle_speed
    by_speed = (air / speed**2.8).reshape(16, 9)[:, 0]
    assert np.all(np.diff(by_speed) >= -1e-18)
    assert by_speed[-1] > 2 * by_speed[0]


def test_the_bare_spindle_stands_as_the_mill_file_says():
    energy = energy_by_part(doff(), MILL.power)
    speed = doff().places.spindle_speed
    wanted = 9 * (speed / (16000 * 2 * np.pi / 60)) ** 1.75
    assert energy.parts["bare spindle and its drive"] == pytest.approx(wanted)


@pytest.mark.parametrize("ratio", [0.85, 1.1])
def test_a_doff_at_another_speed_costs_what_its_own_solution_says(ratio):
    run = doff()
    terms = ground(MILL, run)
    scaled, solved = cost_per_kg(run, terms, ratio), cost_per_kg(quicker(ratio), terms)
    for part in ("energy", "piecing", "spindle", "waste", "production", "power", "break_rate"):
        assert getattr(scaled, part) == pytest.approx(getattr(solved, part), rel=1e-6)


def test_the_parts_of_the_cost_by_hand():
    run = doff()
    terms = ground(with_money(spindles_per_piecer=1200), run, 50.0)
    cost = cost_per_kg(run, terms)
    money = terms.money
    gross = run.problem.content / run.problem.doff_time
    # The known patrol: 1200 spindles at 50 per 1000 spindle hours, 0.5 s and 15 s: 0.994237 of the ends are up.
    assert cost.round.running == pytest.approx(0.9942370986927112)
    assert cost.production == pytest.approx(0.92 * gross)
    assert cost.piecing == pytest.approx(5 / 1200 / (3600 * 0.92 * gross))
    assert cost.spindle == pytest.approx(0.005 / (3600 * 0.92 * gross))
    down = 1 - 0.9942370986927112
    assert cost.waste == pytest.approx((money.roving_cost_per_kg - money.waste_value_per_kg) * down / (1 - down))
    turning = 0.92 / 0.9942370986927112
    assert cost.energy == pytest.approx(cost.power * turning / (0.92 * gross) / 3.6e6 * 0.10 * 1.3)
    assert cost.total == pytest.approx(cost.energy + cost.piecing + cost.spindle + cost.waste)
    assert terms.rate_from == "given"


def test_a_dear_break_slows_the_economic_speed_and_a_dear_spindle_quickens_it():
    run = doff()

    def best(**changes):
        mill = with_money(**changes)
        return economic_speed(run, ground(mill, run)).best_speed

    plain = best()
    assert best(piecer_cost_per_hour=20) < plain
    assert best(spindle_cost_per_hour=0.05) > plain
    assert best(tension_breaks_share=0.1) > plain


@pytest.mark.parametrize("price", [None, 0.9])
def test_the_economic_speed_is_that_of_a_fine_grid(price):
    run = doff()
    terms = ground(with_money(spinning_price_per_kg=price), run)
    found = economic_speed(run, terms)
    ratios = np.linspace(0.85, 1.15, 101)
    costs = [cost_per_kg(run, terms, float(r)) for r in ratios]
    worth = [-c.total if price is None else (price - c.total) * c.production for c in costs]
    assert found.best_speed / found.as_set_speed == pytest.approx(ratios[int(np.argmax(worth))], abs=3e-3)
    assert found.at_end == ""


def test_at_the_economic_speed_one_more_turn_costs_what_it_earns():
    run = doff()
    terms = ground(MILL, run)
    best = economic_speed(run, terms).best_speed / run.choice.setting.main_speed
    below, above = (cost_per_kg(run, terms, best * (1 + step)) for step in (-0.01, 0.01))
    extra = above.total * above.production - below.total * below.production
    margin = extra / (above.production - below.production)  # cost of each kilogram that the last turns add
    assert margin == pytest.approx(cost_per_kg(run, terms, best).total, rel=0.01)


def test_an_optimum_at_the_end_of_the_range_is_told_as_such():
    run = doff()
    mill = with_money(tension_breaks_share=0.0, energy_price_per_kwh=0.0, spindle_cost_per_hour=1.0)
    assert economic_speed(run, ground(mill, run)).at_end == "fast end"


def test_a_doff_without_a_steady_balloon_has_no_cost():
    run = doff(trial=Trial(traveller_mass=8e-6, control_ring=False))
    with pytest.raises(Refusal, match="places of the doff without a steady balloon"):
        cost_per_kg(run, ground(MILL, doff()))


def test_stress_is_the_mean_over_the_yarn_of_tension_to_the_m():
    run = doff()
    shape = strength_of(3.25, 0.085).shape
    found = doff_stress(run, shape)
    assert np.exp(found.log_moment) == pytest.approx(np.mean(run.forces.triangle_tension**shape))
    assert found.yarn_speed == pytest.approx(run.problem.yarn_length / run.problem.doff_time)


COUNTS = "speed (rpm), breaks, spindle hours\n15000, 90, 8000\n16000, 240, 8000\n16800, 490, 8000\n"


def counted_from(text):
    return counted(study_breaks(MILL, ("F1", "AV30K"), Trial(), read_counts(text, "c.csv")), "c.csv")


def test_counts_set_the_rate_and_the_slope_that_the_cost_rests_on():
    told = counted_from(COUNTS)
    run = doff()
    found = costing(MILL, run, run, counted=told)
    assert told.slope is not None
    # Tension goes with the square of speed, so by hand: ln(490/90) over 2 ln(16800/15000), less the length spun.
    assert told.slope == pytest.approx((np.log(490 / 90) / np.log(16.8 / 15) - 1) / 2, rel=0.05)
    assert found.found.as_set.breaks_per_1000_spindle_hours == pytest.approx(told.rate, rel=1e-6)
    quick = cost_per_kg(run, ground(MILL, run, told.rate, slope=told.slope, counted=True), 1.05)
    assert quick.breaks_per_1000_spindle_hours == pytest.approx(told.rate * 1.05 ** (1 + 2 * told.slope), rel=1e-6)


def test_a_surer_rate_gives_a_narrower_cost_and_the_middle_lies_inside():
    run = doff()
    found = costing(MILL, run, run, counted=counted_from(COUNTS))
    assert found.between is not None
    low, high = (one.as_set.total for one in found.between)
    assert low < found.found.as_set.total < high


def test_a_speed_that_was_not_counted_is_called_extrapolated():
    told = counted_from(COUNTS)
    as_set = doff()
    fast = solve_doff(MILL, "F1", "AV30K", Trial(main_speed=17500 * 2 * np.pi / 60), SMALL)
    assert costing(MILL, as_set, fast, counted=told).extrapolated[0] == "as set"
    assert "as set" not in costing(MILL, as_set, as_set, counted=told).extrapolated


def test_counts_at_one_tension_leave_the_slope_to_strength_tests():
    told = counted_from("breaks, spindle hours\n240, 8000\n")
    assert told.slope is None
    assert told.rate == pytest.approx(30.06, abs=0.01)  # (240 + 1/2) / 8
    shape = strength_of(MILL.yarns["AV30K"].strength, MILL.yarns["AV30K"].strength_cv).shape
    assert ground(MILL, doff(), told.rate, slope=told.slope, counted=True).slope == pytest.approx(shape)


def test_counts_that_scatter_more_than_chance_widen_the_rates_interval_by_the_root_of_it():
    rows = "".join(f"{count}, 8000\n" for count in (150, 330, 240, 180, 300))
    told = counted_from("breaks, spindle hours\n" + rows)
    # Pearson: sum (y - 240)^2 / 240 over 4 = (90^2 + 90^2 + 60^2 + 60^2) / 960 = 24.4; by chance 1200 counts are sure
    # to 1/root 1200 = 2.9 %, so here to 14.3 %.
    assert (told.high - told.low) / told.rate / (2 * 1.96) == pytest.approx(np.sqrt(24.375 / 1200), rel=0.02)


def test_breaks_that_fall_with_tension_give_no_slope_to_reckon_with():
    assert counted_from("speed (rpm), breaks, spindle hours\n15000, 300, 8000\n16500, 150, 8000\n").slope is None


def test_the_records_give_a_count_of_every_shift():
    counts, origin = counts_from_records("demo", MILL, ("F1", "AV30K"))
    assert len(counts) > 50
    assert "invented records" in origin
    # The study of the same records says 28.1 per 1000 spindle hours over all shifts.
    rate = 1000 * sum(one.breaks for one in counts) / sum(one.spindle_hours for one in counts)
    assert rate == pytest.approx(28.1, abs=0.1)


def test_the_command_takes_counts_from_a_file_or_the_records_and_not_from_both(tmp_path):
    file = tmp_path / "counts.csv"
    file.write_text(COUNTS, encoding="utf-8")
    words = ("cost", "demo", "--frame", "F1", "--yarn", "AV30K")
    told = CliRunner().invoke(ringwright, (*words, "--counts", str(file)), catch_exceptions=False).output
    assert "counted (measured), x model" in told
    assert "They grow with tension to the power" in told
    with pytest.raises(Refusal, match="one of them"):
        CliRunner().invoke(ringwright, (*words, "--counts", str(file), "--records", "demo"), catch_exceptions=False)
    with pytest.raises(Refusal, match="given beside counts"):
        CliRunner().invoke(ringwright, (*words, "--counts", str(file), "--rate", "20"), catch_exceptions=False)


def test_the_sum_sways_with_what_nobody_has_read_and_not_with_what_was_measured():
    run = doff()
    sways = {one.name: one for one in energy_sways(MILL, run, Trial())}
    bare = next(one for name, one in sways.items() if name.startswith("bare spindle"))
    # 6 W instead of 9 W at 16 000 rpm: a third of that part, motor included.
    parts = energy_by_part(run, MILL.power).per_mass
    third = parts["bare spindle and its drive"] / 3 / MILL.power.efficiency
    assert bare.high - bare.low == pytest.approx(2 * third, rel=1e-3)
    low, high = together(tuple(sways.values()), sum(parts.values()))
    assert low < bare.low < bare.high < high
    read = MILL.model_copy(update={"origins": MILL.origins | {"power": "measured"}})
    assert not any(name.startswith("bare spindle") for name in (one.name for one in energy_sways(read, run, Trial())))
