"""What the mechanics of a turning yarn demand of every balloon, whatever its numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from sample_positions import positions
from tests.property.plausible import plausible

from ringwright.physics import Outcome, kernel, solve, threads
from ringwright.physics.position import scaled
from ringwright.physics.shoot import ANGLE, shoot
from ringwright.physics.taut import find

COUNT = 200
STEPS = 64


def steady_ones(count: int, seed: int, **changes):
    """Plausible positions that have a steady balloon, with some inputs set alike for all."""
    p = plausible(count, seed)
    p = replace(p, **{name: np.full(count, value) for name, value in changes.items()})
    return p.take(np.flatnonzero(solve(p).outcome == Outcome.STEADY))


FREE = {"control_ring_diameter": 0.0, "control_ring_depth": 0.0, "control_ring_friction": 0.0}
QUIET = {"feed_speed": 0.0, "gravity": 0.0}


def integrated(p, steps: int = STEPS):
    """States (steps + 1, 6, n) at equal depths of solved free balloons, and their cases."""
    cases = scaled(p)
    w = find(cases).point.w
    state = np.zeros((6, len(p)))
    tension, angle = np.exp(w[0]), w[1] / ANGLE
    state[2], state[4] = tension * np.sin(angle), tension * np.cos(angle)
    nodes = kernel.span(
        np.stack([cases.drag, cases.feed, cases.gravity, cases.height]), state, steps, 0, keep_nodes=True
    )[1]
    assert nodes is not None
    return nodes, cases


def test_tension_and_speed_and_height_balance_all_along_the_yarn():
    # T + m w^2 r^2/2 + m g z is the same everywhere on a free balloon: air that only pushes across does no work along.
    p = steady_ones(COUNT, 1, **FREE)
    drawn = threads(p, points=30)
    m, w = p.yarn_linear_density, p.traveller_speed
    energy = drawn.tension + 0.5 * m * (w * drawn.radius) ** 2 + m * p.gravity * drawn.depth
    np.testing.assert_allclose(energy, np.broadcast_to(solve(p).guide_tension, energy.shape), rtol=1e-9)


def test_below_a_control_ring_it_balances_again_at_no_lower_a_tension():
    p = steady_ones(3 * COUNT, 2)
    p = p.take(np.flatnonzero(solve(p).control_ring_force > 0))
    assert len(p) > 20
    drawn = threads(p, points=40)
    m, w = p.yarn_linear_density, p.traveller_speed
    energy = drawn.tension + 0.5 * m * (w * drawn.radius) ** 2 + m * p.gravity * drawn.depth
    below = drawn.depth > 1.0001 * p.control_ring_depth
    assert (below.sum(axis=0) > 10).all()
    np.testing.assert_allclose(np.where(below, energy / energy[-1], 1.0), 1.0, rtol=1e-9)
    assert (energy[-1] >= energy[0] * (1 - 1e-12)).all()  # the ring's friction can only tighten the yarn


def test_the_downward_pull_never_grows_downwards_and_is_constant_without_air():
    nodes, _ = integrated(steady_ones(COUNT, 3, **FREE, gravity=0.0))
    downward = nodes[:, 4]
    assert (np.diff(downward, axis=0) <= 1e-12 * downward[0]).all()
    assert (downward[-1] < downward[0]).all()
    nodes, _ = integrated(steady_ones(COUNT, 4, **FREE, gravity=0.0, air_density=0.0))
    np.testing.assert_allclose(nodes[:, 4], np.broadcast_to(nodes[0, 4], nodes[:, 4].shape), rtol=1e-12)


def test_the_torque_is_what_the_air_has_done_to_the_yarn_above():
    # (r q_t)' = (p0/16) r^3 (1 - t_t^2)^(3/2), derived by hand from the moment about the axis, without feed.
    nodes, cases = integrated(steady_ones(COUNT, 5, **FREE, **QUIET), steps=128)
    x, y, qx, qy, qz, _ = np.moveaxis(nodes, 1, 0)
    torque = x * qy - y * qx
    assert (np.diff(torque, axis=0) >= -1e-12).all()
    r, force = np.hypot(x, y), np.sqrt(qx**2 + qy**2 + qz**2)
    along = np.divide(torque, r * force, out=np.zeros_like(r), where=r > 0)
    moment = cases.drag * r**3 * (1 - along**2) ** 1.5 * force / qz
    weights = np.full(129, 2.0)
    weights[1::2], weights[[0, -1]] = 4.0, 1.0
    summed = weights @ moment * cases.height / 128 / 3  # Simpson
    np.testing.assert_allclose(torque[-1], summed, rtol=1e-5)


def test_what_the_winding_yarn_pulls_is_friction_on_the_ring_and_drag_of_air():
    p = steady_ones(COUNT, 6, **FREE, **QUIET)
    nodes, _ = integrated(p)
    torque = (nodes[-1, 0] * nodes[-1, 3] - nodes[-1, 1] * nodes[-1, 2]) * p.ring_diameter / 2
    force = p.yarn_linear_density * (p.traveller_speed * p.ring_diameter / 2) ** 2
    s = solve(p)
    driven = s.winding_tension * p.winding_diameter / 2
    rubbed = p.ring_traveller_friction * s.ring_force * p.ring_diameter / 2
    np.testing.assert_allclose(driven, rubbed + torque * force, rtol=1e-8)


@pytest.mark.parametrize("faster", [1.1, 0.5, 2.0])
def test_tensions_grow_with_the_square_of_speed_and_the_shape_does_not_change(faster):
    p = steady_ones(COUNT, 7, **QUIET)
    slow, fast = solve(p), solve(replace(p, traveller_speed=p.traveller_speed * faster))
    assert (fast.outcome == Outcome.STEADY).all()
    for name in ("guide_tension", "ring_tension", "winding_tension", "ring_force", "control_ring_force"):
        np.testing.assert_allclose(getattr(fast, name), getattr(slow, name) * faster**2, rtol=1e-11)
    for name in ("balloon_length", "largest_radius", "lag", "guide_angle", "winding_ratio", "control_ring_bend"):
        np.testing.assert_allclose(getattr(fast, name), getattr(slow, name), rtol=1e-11, atol=1e-14)


def test_a_frame_of_another_size_in_thinner_air_spins_the_same_shape():
    # R -> l R, T -> l^2 T and p0 -> p0 needs air thinner by l; a traveller heavier by l holds it.
    p = steady_ones(COUNT, 12, **QUIET)
    scale = np.random.default_rng(12).uniform(0.5, 2.0, len(p))
    lengths = ("ring_diameter", "balloon_height", "winding_diameter", "control_ring_diameter", "control_ring_depth")
    larger = replace(
        p,
        air_density=p.air_density / scale,
        traveller_mass=p.traveller_mass * scale,
        **{name: getattr(p, name) * scale for name in lengths},
    )
    one, other = solve(p), solve(larger)
    np.testing.assert_allclose(other.guide_tension, one.guide_tension * scale**2, rtol=1e-7)
    np.testing.assert_allclose(other.largest_radius, one.largest_radius * scale, rtol=1e-7)
    np.testing.assert_allclose(other.lag, one.lag, rtol=1e-6, atol=1e-12)


def test_a_coarser_yarn_with_as_much_more_drag_and_traveller_is_tenser_by_as_much():
    p = steady_ones(COUNT, 13)
    scale = np.random.default_rng(13).uniform(0.5, 2.0, len(p))
    coarser = replace(
        p,
        yarn_linear_density=p.yarn_linear_density * scale,
        traveller_mass=p.traveller_mass * scale,
        drag_coefficient=p.drag_coefficient * np.sqrt(scale),  # the diameter grows with the root of the count
    )
    one, other = solve(p), solve(coarser)
    np.testing.assert_allclose(other.winding_tension, one.winding_tension * scale, rtol=1e-7)
    np.testing.assert_allclose(other.largest_radius, one.largest_radius, rtol=1e-7)


def test_without_air_and_feed_the_mirror_image_is_a_balloon_too():
    draw = np.random.default_rng(8)
    tension, angle, start = draw.uniform(10, 40, 30), draw.uniform(0.1, 0.5, 30), draw.uniform(-0.3, 0.3, 30)
    state = np.zeros((6, 30))
    state[2], state[4] = tension * np.sin(angle) * np.cos(start), tension * np.cos(angle)
    state[3] = tension * np.sin(angle) * np.sin(start)
    state[0], state[1] = draw.uniform(0.1, 0.4, 30), draw.uniform(-0.4, 0.4, 30)
    mirror = np.array([1, -1, 1, -1, 1, 1.0])[:, None]
    nought = np.zeros(30)
    parameters = np.stack([nought, nought, np.full(30, 1e-3), draw.uniform(4, 9, 30)])
    end = kernel.span(parameters, state, 16, 0)[0]
    np.testing.assert_allclose(kernel.span(parameters, mirror * state, 16, 0)[0], mirror * end, rtol=1e-13, atol=1e-13)
    # With air they differ: the yarn trails, and which side it trails to tells the way it turns.
    parameters[0] = 0.1
    trailing = kernel.span(parameters, state, 16, 0)[0]
    assert np.abs(kernel.span(parameters, mirror * state, 16, 0)[0] - mirror * trailing).max() > 0.1


def test_a_control_ring_that_bends_nothing_changes_nothing():
    free = steady_ones(60, 9, **FREE)
    cases = scaled(free)
    point = find(cases).point
    ringed = replace(
        cases,
        control_radius=np.ones(len(free)),
        control_depth=0.6 * cases.height,
        control_friction=np.full(len(free), 0.3),
    )
    steps = np.full(len(free), 32)
    without = shoot(cases, point.w, np.zeros(len(free), dtype=bool), steps)
    for contact in (False, True):
        within = shoot(ringed, point.w, np.full(len(free), contact), steps)
        np.testing.assert_allclose(within.pull, without.pull, rtol=1e-9, atol=1e-9)


def test_a_control_ring_just_out_of_reach_changes_nothing_and_one_just_within_changes_little():
    free = steady_ones(60, 10, **FREE)
    one = solve(free)
    drawn = threads(free, points=100)
    at = 60
    radius, depth = drawn.radius[at], drawn.depth[at]
    keep = np.flatnonzero(2 * radius > free.winding_diameter * 1.01)
    assert keep.size > 20

    def with_ring(gap: float):
        return solve(
            replace(
                free.take(keep),
                control_ring_diameter=2 * radius[keep] * (1 + gap),
                control_ring_depth=depth[keep],
                control_ring_friction=np.full(keep.size, 0.2),
            )
        )

    outside, inside = with_ring(1e-5), with_ring(-1e-4)
    np.testing.assert_allclose(outside.guide_tension, one.guide_tension[keep], rtol=1e-8)
    assert (outside.control_ring_force == 0).all()
    touching = inside.outcome == Outcome.STEADY
    assert touching.mean() > 0.9  # one that rubs may have no steady balloon where the free one is near its fold
    assert (inside.control_ring_force[touching] > 0).all()
    np.testing.assert_allclose(inside.guide_tension[touching], one.guide_tension[keep][touching], rtol=1e-2)


def test_feed_and_gravity_change_the_guide_tension_by_hundredths_of_a_percent():
    # 0.31 m/s changes it by 0.03 percent and gravity by less than 0.01 percent, computed by another hand.
    plain = positions(traveller_mass=40e-6)
    base = solve(plain).guide_tension[0]
    with_feed = solve(replace(plain, feed_speed=np.array([0.31]))).guide_tension[0] / base - 1
    with_gravity = solve(replace(plain, gravity=np.array([9.81]))).guide_tension[0] / base - 1
    assert with_feed == pytest.approx(3e-4, abs=0.5e-4)
    assert 0 < with_gravity < 1e-4


def test_a_position_does_not_depend_on_its_neighbours_in_the_batch():
    p = plausible(300, 11)
    together = solve(p)
    backwards = solve(p.take(np.arange(299, -1, -1)))
    assert (together.outcome == backwards.outcome[::-1]).all()
    np.testing.assert_allclose(together.guide_tension, backwards.guide_tension[::-1], rtol=1e-9)
    for i in (0, 17, 150, 299):
        alone = solve(p.take(slice(i, i + 1)))
        assert alone.outcome[0] == together.outcome[i]
        np.testing.assert_allclose(alone.guide_tension[0], together.guide_tension[i], rtol=1e-9)
