"""The spread of the inputs carried through: known indices, closed forms, and single doffs solved by themselves."""

from dataclasses import replace

import numpy as np
import pytest

from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.setting.choice import Trial, choose
from ringwright.setting.doff import solve_doff
from ringwright.uncertainty.inputs import Input, inputs_of, moves_places, with_values
from ringwright.uncertainty.ranking import design, indices
from ringwright.uncertainty.spread import PLACES, sampled_results, study_spread

MILL = read_mill(demo_mill_path())
CHOICE = choose(MILL, "F1", "AV30K")


def an_input(key, value, low, high):
    return Input(key=key, meaning="", quantity="ratio", unit="1", value=value, low=low, high=high, origin="test")


def test_indices_of_the_ishigami_function_are_those_worked_out():
    # Ishigami and Homma 1990, a = 7, b = 0.1: the analytic indices stand in scipy's and SALib's documentation.
    plan = design(3, 5 * 4096)
    x = np.pi * (2 * plan.points - 1)
    y = np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])
    found = indices(y, plan)
    a, b = 7.0, 0.1
    variance = 0.5 + a**2 / 8 + b * np.pi**4 / 5 + b**2 * np.pi**8 / 18
    one, two = (0.5 * (1 + b * np.pi**4 / 5) ** 2) / variance, a**2 / 8 / variance
    both = b**2 * np.pi**8 * (1 / 18 - 1 / 50) / variance
    assert [one, two, both] == pytest.approx([0.3139, 0.4424, 0.2437], abs=5e-5)
    assert found.first == pytest.approx([one, two, 0.0], abs=0.02)
    assert found.total == pytest.approx([one + both, two, both], abs=0.02)
    assert np.all(found.total_error < 0.05)


def test_a_sum_ranks_its_terms_by_their_variances():
    plan = design(3, 4000)
    found = indices(plan.points @ np.array([3.0, 2.0, 1.0]), plan)
    assert found.total == pytest.approx(np.array([9, 4, 1]) / 14, abs=0.01)
    assert found.first == pytest.approx(found.total, abs=0.02)


def test_values_lie_between_their_ends_nineteen_times_in_twenty_and_half_to_either_side():
    drawn = an_input("frame.ring.friction", 0.10, 0.08, 0.13).at((np.arange(100_000) + 0.5) / 100_000)
    assert np.mean((drawn > 0.08) & (drawn < 0.13)) == pytest.approx(0.95, abs=1e-3)
    assert np.median(drawn) == pytest.approx(0.10, abs=1e-4)
    assert np.mean(drawn < 0.08) == pytest.approx(0.025, abs=1e-3)


def test_sampled_doffs_are_those_solved_one_by_one_also_where_places_move():
    inputs = [
        an_input("frame.ring.friction", 0.1, 0.08, 0.13),
        an_input("yarn.count", CHOICE.yarn.count, 19e-6, 20e-6),
        an_input("frame.guide.height", CHOICE.frame.guide.height, 0.2, 0.22),
    ]
    assert moves_places(inputs)
    rows = np.array([[0.12, 19.2e-6, 0.215], [0.09, 20e-6, 0.225]])
    found = sampled_results(CHOICE, inputs, rows)
    for at, row in enumerate(rows):
        other = with_values(CHOICE, inputs, row)
        mill = MILL.model_copy(
            update={"frames": MILL.frames | {"F1": other.frame}, "yarns": MILL.yarns | {"AV30K": other.yarn}}
        )
        forces = solve_doff(mill, "F1", "AV30K", Trial(), PLACES).forces
        wanted = [forces.triangle_most.max(), forces.triangle_most.max() / 3.25, forces.winding_tension.max(),
                  forces.traveller_heat.max(), forces.separator_room.min()]  # fmt: skip
        assert found[:5, at] == pytest.approx(wanted, rel=1e-7)


def test_changing_a_value_leaves_the_choice_itself_alone():
    other = with_values(CHOICE, [an_input("frame.ring.friction", 0.1, 0.08, 0.13)], [0.2])
    assert (other.frame.ring.friction, CHOICE.frame.ring.friction) == (0.2, 0.1)
    assert other.yarn is CHOICE.yarn


def test_inputs_come_from_the_file_then_from_what_is_assumed():
    found = {one.key: one for one in inputs_of(CHOICE)}
    assert (found["yarn.drag_coefficient"].low, found["yarn.drag_coefficient"].high) == (0.75, 1.3)
    assert found["yarn.drag_coefficient"].origin == "the mill's file"
    assert (found["frame.ring.friction"].low, found["frame.ring.friction"].high) == (0.08, 0.13)
    assert found["frame.guide.friction"].origin == "assumed"
    measured = {"guide.friction": "measured", "control_ring.friction": "measured"}
    frame = CHOICE.frame.model_copy(update={"origins": CHOICE.frame.origins | measured})
    assert "frame.guide.friction" not in {one.key for one in inputs_of(replace(CHOICE, frame=frame))}


def test_the_spread_of_strength_alone_has_a_closed_form():
    ring = CHOICE.frame.ring.model_copy(update={"friction_low": 0.1, "friction_high": 0.1})
    sure = {"guide": "measured", "control_ring": "measured"}
    frame = CHOICE.frame.model_copy(update={"ring": ring, "origins": sure, "spread": {}})
    known = dict.fromkeys(("traveller_friction", "drag_coefficient"), "measured")
    yarn = CHOICE.yarn.model_copy(update={"spread": {"strength": "300 to 350 cN"}, "origins": known})
    study = study_spread(replace(CHOICE, frame=frame, yarn=yarn), 768)
    tension = study.middle[0]
    low, high = study.interval()[1]
    assert (low, high) == pytest.approx((tension / 3.5, tension / 3.0), rel=2e-3)
    assert np.ptp(study.values[0]) == pytest.approx(0.0, abs=1e-9)
    assert study.ranking[0] is None  # nothing varies
    assert study.ranking[1] is not None
    assert study.ranking[1].total == pytest.approx([1.0])


def test_the_same_study_gives_the_same_numbers():
    one, two = (study_spread(CHOICE, 72) for _ in range(2))
    assert np.array_equal(one.values, two.values)
    assert one.unsteady == 0


def test_doffs_that_do_not_spin_are_counted_and_the_ranking_is_of_the_others():
    study = study_spread(choose(MILL, "F1", "AV30K", Trial(traveller_mass=30e-6)), 600)
    assert 0 < study.unsteady < 0.2 * study.values.shape[1]
    assert np.all(np.isfinite(study.interval()))
    found = study.ranking[2]
    assert found is not None
    assert study.inputs[int(np.argmax(found.total))].key == "frame.ring.friction"


def test_too_few_doffs_that_spin_give_no_ranking():
    study = study_spread(choose(MILL, "F1", "AV30K", Trial(traveller_mass=28e-6)), 72)
    assert study.unsteady > 0
    assert all(found is None for found in study.ranking)


def test_a_setting_that_never_spins_is_refused():
    with pytest.raises(Refusal, match="without a steady balloon at some place of the doff"):
        study_spread(choose(MILL, "F1", "AV30K", Trial(traveller_mass=8e-6)), 72)
