"""What holds for every cop, rail and eyelet."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.physics.cop import CopShape, foot_at, full_volume, profile, volume_at, winding_diameter
from ringwright.physics.delivery import Course, speed_at, time_at
from ringwright.physics.rails import stroke_share, yarn_share_laid
from ringwright.physics.spinning_angle import triangle_tension


@st.composite
def shapes(draw):
    lift = draw(st.floats(0.12, 0.30))
    tube = draw(st.floats(0.012, 0.030))
    chase = lift * draw(st.floats(0.1, 0.4))
    return CopShape(
        tube_foot_diameter=tube,
        tube_top_diameter=tube * draw(st.floats(0.7, 1.0)),
        cop_diameter=tube * draw(st.floats(1.1, 2.6)),
        chase=chase,
        base_height=(lift - chase) * draw(st.floats(0.02, 1.0)),
        lift=lift,
    )


@given(shapes(), st.lists(st.floats(0.0, 1.0), min_size=1, max_size=12))
@settings(max_examples=150, deadline=None)
def test_foot_and_volume_undo_each_other(shape, shares):
    feet = shape.last_foot * np.array(shares)
    assert foot_at(shape, volume_at(shape, feet)) == pytest.approx(feet, rel=1e-9, abs=1e-12 * shape.lift)
    volumes = full_volume(shape) * np.array(shares)
    assert volume_at(shape, foot_at(shape, volumes)) == pytest.approx(volumes, rel=1e-9, abs=1e-12 * full_volume(shape))


@given(shapes())
@settings(max_examples=100, deadline=None)
def test_a_climbing_foot_only_ever_adds_yarn_and_never_takes_it_off(shape):
    feet = np.linspace(0.0, shape.last_foot, 60)
    assert np.all(np.diff(volume_at(shape, feet)) > 0)
    lines = profile(shape, feet[:, None], np.linspace(-0.01, shape.lift + 0.01, 80))
    assert np.all(np.diff(lines, axis=0) >= -1e-15)


@given(shapes(), st.integers(2, 400))
@settings(max_examples=60, deadline=None)
def test_the_strokes_add_up_to_the_content(shape, strokes):
    feet = foot_at(shape, np.linspace(0.0, 1.0, strokes + 1) * full_volume(shape))
    each = np.diff(volume_at(shape, feet))
    assert each.sum() == pytest.approx(full_volume(shape), rel=1e-9)
    assert each == pytest.approx(np.full(strokes, full_volume(shape) / strokes), rel=1e-9)


@given(shapes(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
@settings(max_examples=100, deadline=None)
def test_the_winding_diameter_is_the_growth_line_at_the_rail(shape, progress, share):
    foot = progress * shape.last_foot
    wound = float(winding_diameter(shape, foot, share))
    assert float(profile(shape, foot, foot + share * shape.chase)) == pytest.approx(wound, rel=1e-9)
    assert shape.tube_top_diameter * (1 - 1e-12) <= wound <= shape.cop_diameter * (1 + 1e-12)


@given(st.floats(0.0, 1.0), st.floats(0.05, 0.95), st.floats(0.012, 0.06), st.floats(0.3, 1.0))
def test_rise_and_fall_lay_their_share_of_the_yarn_at_each_height(share, rise, foot, taper):
    laid = float(yarn_share_laid(share, foot, foot * taper))
    going_up, coming_down = stroke_share(np.array([laid * rise, 1 - laid * (1 - rise)]), rise, foot, foot * taper)
    assert going_up == pytest.approx(share, abs=1e-9)
    assert coming_down == pytest.approx(share, abs=1e-9)


@given(st.lists(st.floats(0.05, 1.0), min_size=3, max_size=3), st.floats(0.05, 0.95))
def test_the_time_lies_between_those_of_the_slowest_and_the_fastest_speed(speeds, knee):
    course = Course((0.0, knee, 1.0), tuple(speeds))
    time = time_at(course, np.linspace(0, 1, 30), 1000.0)
    assert 1000 / max(speeds) * (1 - 1e-12) <= time[-1] <= 1000 / min(speeds) * (1 + 1e-12)
    assert np.all(np.diff(time) > 0)
    assert np.all(speed_at(course, np.linspace(0, 1, 30)) >= min(speeds) * (1 - 1e-12))


@given(st.floats(0.0, 1.3), st.floats(0.0, 1.5), st.floats(0.0, 0.6))
def test_the_triangle_pulls_less_than_the_guide_and_its_mean_lies_between(guide_angle, lean, friction):
    tension = triangle_tension(0.25, guide_angle, lean, friction)
    assert float(tension.least) <= float(tension.mean) * (1 + 1e-12)
    assert float(tension.mean) <= float(tension.most) * (1 + 1e-12)
    assert float(tension.most) <= 0.25 * (1 + 1e-12)
