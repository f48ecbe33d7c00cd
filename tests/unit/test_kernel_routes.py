"""The integration of the balloon: two routes that agree, of eighth order, with tangents that are true slopes."""

from __future__ import annotations

import numpy as np
import pytest
from sample_positions import WITH_CONTROL_RING, positions

from ringwright.physics import kernel, solve
from ringwright.physics.kernel import arrays, library

needs_library = pytest.mark.skipif(
    not library.available(), reason="no compiled balloon library: this machine had no C compiler when it was installed"
)
ROUTES = [
    pytest.param(arrays.span, id="NumPy"),
    pytest.param(library.span, id="C", marks=needs_library),
]


def balloons(count: int, tangents: int, seed: int = 5):
    """Starts at the guide for random balloons with some air, feed and gravity; the tangents start at random."""
    draw = np.random.default_rng(seed)
    height = draw.uniform(4, 12, count)
    tension, angle = height**2 * draw.uniform(0.2, 0.6, count), draw.uniform(0.1, 0.5, count)
    state = np.zeros((6 + 5 * tangents, count))
    state[2], state[4] = tension * np.sin(angle), tension * np.cos(angle)
    state[6:] = draw.normal(size=(5 * tangents, count))
    parameters = np.stack(
        [draw.uniform(0, 0.4, count), draw.uniform(0, 0.02, count), draw.uniform(0, 1e-3, count), height]
    )
    return parameters, state


@needs_library
@pytest.mark.parametrize("tangents", [0, 2, 3])
@pytest.mark.parametrize("count", [1, 7, 8, 9, 40])
@pytest.mark.parametrize("steps", [1, 8])
def test_both_routes_give_the_same(tangents, count, steps):
    parameters, state = balloons(count, tangents)
    ours, ours_nodes = library.span(parameters, state, steps, tangents, keep_nodes=True)
    theirs, theirs_nodes = arrays.span(parameters, state, steps, tangents, keep_nodes=True)
    assert ours_nodes is not None
    assert theirs_nodes is not None
    size = np.abs(theirs).max()
    assert np.abs(ours - theirs).max() < 1e-12 * size
    assert np.abs(ours_nodes - theirs_nodes).max() < 1e-12 * size


@pytest.mark.parametrize("span", ROUTES)
def test_the_given_state_is_not_changed_and_the_nodes_begin_and_end_with_it(span):
    parameters, state = balloons(3, 2)
    before = state.copy()
    end, nodes = span(parameters, state, 5, 2, keep_nodes=True)
    assert (state == before).all()
    assert nodes.shape == (6, 6, 3)
    assert (nodes[0] == state[:6]).all()
    assert (nodes[-1] == end[:6]).all()
    assert span(parameters, state, 5, 2)[1] is None


@pytest.mark.parametrize("span", ROUTES)
def test_halving_the_steps_divides_the_error_by_two_to_the_eighth(span):
    parameters, state = balloons(40, 2)
    exact = span(parameters, state, 96, 2)[0]
    errors = [np.abs(span(parameters, state, steps, 2)[0] - exact).max(axis=0) for steps in (6, 12)]
    order = np.log2(errors[0] / errors[1])
    assert 7.5 < np.median(order) < 9.5
    assert np.quantile(order, 0.1) > 6.5


@pytest.mark.parametrize("span", ROUTES)
def test_a_tangent_is_the_slope_by_finite_differences(span):
    parameters, state = balloons(20, 2)
    end, _ = span(parameters, state, 24, 2)
    eps = 1e-5
    for first in (6, 11):
        by = np.zeros((6, 20))
        by[:5] = eps * state[first : first + 5]
        up = span(parameters, state[:6] + by, 24, 0)[0]
        down = span(parameters, state[:6] - by, 24, 0)[0]
        slope = (up - down)[:5] / (2 * eps)
        size = np.abs(slope).max()
        assert np.abs(end[first : first + 5] - slope).max() < 1e-7 * size


@pytest.mark.parametrize("span", ROUTES)
def test_one_bad_case_does_not_spoil_its_neighbours(span):
    parameters, state = balloons(11, 2)
    alone = span(parameters[:, :10].copy(), state[:, :10].copy(), 8, 2)[0]
    state[4, 10] = 1e-9  # this yarn leaves the guide sideways, where depth cannot be the variable
    with np.errstate(all="ignore"):
        together = span(parameters, state, 8, 2)[0]
    assert np.abs(together[:, :10] - alone).max() <= 1e-13 * np.abs(alone).max()


@needs_library
def test_a_number_of_tangents_that_the_library_was_not_built_for_is_an_error():
    parameters, state = balloons(2, 1)
    with pytest.raises(ValueError, match="not 1"):
        library.span(parameters, state, 4, 1)


@pytest.mark.parametrize("changes", [{}, WITH_CONTROL_RING, {"feed_speed": 0.4, "gravity": 9.81}])
def test_without_the_library_positions_come_out_the_same(changes, monkeypatch):
    p = positions(**changes, traveller_mass=np.array([35.5, 45, 50, 63, 100]) * 1e-6)
    first = solve(p)
    monkeypatch.setattr(library, "available", lambda: False)
    monkeypatch.setattr(library, "span", None)  # it cannot be asked by mistake
    second = solve(p)
    assert (first.outcome == second.outcome).all()
    assert (first.outcome == 0).any()
    np.testing.assert_allclose(second.guide_tension, first.guide_tension, rtol=1e-9)
    np.testing.assert_allclose(second.lag, first.lag, rtol=1e-8)


def test_the_route_at_work_is_told_in_words():
    assert kernel.ROUTE.startswith("compiled C" if library.available() else "NumPy")
