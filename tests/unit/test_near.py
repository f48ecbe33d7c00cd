"""Variations solved from a model position are those that a solution from scratch finds."""

from dataclasses import fields, replace

import numpy as np
import pytest

from ringwright.mill import demo_mill_path, read_mill
from ringwright.physics.near import model, solve_near
from ringwright.physics.outcome import Outcome
from ringwright.physics.position import Positions, solve
from ringwright.setting.choice import Trial, choose
from ringwright.setting.places import Sampling, lay_out
from ringwright.setting.problem import doff_problem, positions

MILL = read_mill(demo_mill_path())


def varied(base, sets, seed, span):
    rng = np.random.default_rng(seed)
    columns = {field.name: np.tile(getattr(base, field.name), sets) for field in fields(Positions)}
    for name in ("ring_traveller_friction", "yarn_traveller_friction", "drag_coefficient", "traveller_mass"):
        columns[name] = columns[name] * np.repeat(rng.uniform(1 - span, 1 + span, sets), len(base))
    return Positions(**columns), np.tile(np.arange(len(base)), sets)


@pytest.mark.parametrize(
    ("frame", "yarn", "control_ring"), [("F1", "AV30K", True), ("F3", "AV20W", True), ("F1", "AV30K", False)]
)
@pytest.mark.parametrize("span", [0.05, 0.45])
def test_near_and_from_scratch_agree_in_outcome_and_tension(frame, yarn, control_ring, span):
    choice = choose(MILL, frame, yarn, Trial(control_ring=control_ring))
    base = positions(choice, lay_out(doff_problem(choice), Sampling(strokes=4, places=6)))
    given, which = varied(base, 12, 3, span)
    near, scratch = solve_near(given, model(base), which), solve(given)
    assert np.array_equal(near.outcome, scratch.outcome)
    steady = scratch.outcome == Outcome.STEADY
    assert steady.any()
    for name in ("guide_tension", "winding_tension", "largest_radius", "ring_force", "stopped_at_mass"):
        assert getattr(near, name) == pytest.approx(getattr(scratch, name), rel=1e-7, nan_ok=True)


def test_a_model_that_is_not_steady_or_not_alike_is_not_started_from():
    choice = choose(MILL, "F1", "AV30K")
    base = positions(choice, lay_out(doff_problem(choice), Sampling(strokes=3, places=4)))
    light = replace(base, traveller_mass=0.15 * base.traveller_mass)
    free = replace(base, control_ring_diameter=np.zeros(len(base)))
    every = np.arange(len(base))
    for start in (light, free):
        assert solve_near(base, model(start), every).guide_tension == pytest.approx(solve(base).guide_tension, rel=1e-9)
