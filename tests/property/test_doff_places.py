"""What holds for the places of every doff, whatever the cop, the rails and the speeds."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.physics.cop import CopShape, volume_at
from ringwright.physics.delivery import Course
from ringwright.physics.rails import Rail
from ringwright.setting.places import DoffProblem, Sampling, lay_out


@st.composite
def problems(draw):
    lift, tube = draw(st.floats(0.12, 0.30)), draw(st.floats(0.012, 0.030))
    chase = lift * draw(st.floats(0.1, 0.4))
    shape = CopShape(
        tube_foot_diameter=tube,
        tube_top_diameter=tube * draw(st.floats(0.7, 1.0)),
        cop_diameter=tube * draw(st.floats(1.2, 2.6)),
        chase=chase,
        base_height=(lift - chase) * draw(st.floats(0.05, 0.9)),
        lift=lift,
    )
    base, tip = draw(st.floats(0.0, 0.4)), draw(st.floats(0.5, 1.0))
    problem = DoffProblem(
        shape=shape,
        ring_rail=Rail(height=0.0, climb=lift - chase, stroke=chase),
        guide_rail=Rail(height=lift + 0.03, climb=lift * draw(st.floats(0, 1)), stroke=chase * draw(st.floats(0, 1))),
        control_ring_rail=None,
        course=Course(
            (0.0, base / 2, base, tip, 1.0), tuple(draw(st.lists(st.floats(0.1, 0.6), min_size=5, max_size=5)))
        ),
        twist=draw(st.floats(400, 1500)),
        linear_density=draw(st.floats(5e-6, 60e-6)),
        package_density=draw(st.floats(350, 600)),
        yarn_per_stroke=1.0,
        rise_share=draw(st.floats(0.4, 0.9)),
    )
    return replace(problem, yarn_per_stroke=problem.yarn_length / draw(st.floats(5, 900)))


@given(problems(), st.integers(2, 40), st.integers(2, 12))
@settings(max_examples=120, deadline=None)
def test_places_follow_time_and_stay_on_the_machine(problem, strokes, places):
    laid = lay_out(problem, Sampling(strokes, places))
    shape = problem.shape
    assert np.all(np.diff(laid.time) > 0)
    assert np.all(np.diff(laid.share) > 0)
    assert laid.time[-1] <= problem.doff_time
    assert laid.ring_height.min() == pytest.approx(0.0, abs=1e-12)
    assert laid.ring_height.max() <= shape.lift * (1 + 1e-12)
    assert np.all(laid.balloon_height > 0)
    assert np.all(laid.winding_diameter >= shape.tube_top_diameter * (1 - 1e-9))
    assert np.all(laid.winding_diameter <= shape.cop_diameter * (1 + 1e-9))
    assert np.all(laid.traveller_speed < laid.spindle_speed)


@given(problems())
@settings(max_examples=60, deadline=None)
def test_the_yarn_on_the_cop_at_each_stroke_is_the_yarn_delivered(problem):
    laid = lay_out(problem, Sampling(40, 2))
    on_the_cop = problem.package_density * volume_at(problem.shape, laid.foot_height[::2])
    delivered = laid.stroke[::2] * problem.yarn_per_stroke * problem.linear_density
    assert on_the_cop == pytest.approx(delivered, rel=1e-9, abs=1e-9 * problem.content)


@given(problems())
@settings(max_examples=40, deadline=None)
def test_every_stroke_shows_its_foot_and_its_top(problem):
    laid = lay_out(problem, Sampling(5, 6))
    in_stroke = (laid.ring_height - laid.foot_height).reshape(-1, 6)
    assert in_stroke.min(axis=1) == pytest.approx(np.zeros(len(in_stroke)), abs=1e-12)
    assert in_stroke.max(axis=1) == pytest.approx(np.full(len(in_stroke), problem.shape.chase), rel=1e-9)


def test_the_last_stroke_is_always_sampled():
    shape = CopShape(
        tube_foot_diameter=0.02, tube_top_diameter=0.02, cop_diameter=0.036, chase=0.04, base_height=0.02, lift=0.16
    )
    rail = Rail(height=0.0, climb=0.12, stroke=0.04)
    problem = DoffProblem(
        shape=shape,
        ring_rail=rail,
        guide_rail=replace(rail, height=0.2),
        control_ring_rail=rail,
        course=Course((0.0, 1.0), (0.3, 0.3)),
        twist=800.0,
        linear_density=20e-6,
        package_density=500.0,
        yarn_per_stroke=4.0,
        rise_share=2 / 3,
    )
    laid = lay_out(problem, Sampling(9, 4))
    assert laid.stroke[-1] == int(problem.strokes) - 1
    assert len(np.unique(laid.stroke)) == 9
