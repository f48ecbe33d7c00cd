"""Every plausible position is solved on the taut branch or refused with a named limit, seen by a second route.

Five thousand positions.  Each steady one is built again by stepping along the yarn (``arc_length``) and must reach the
ring and balance the traveller there.  For some hundreds the branch is followed from a traveller twenty times heavier
(``lightening``): it must lead to the same balloon, or end at the mass that the refusal names.
"""

from __future__ import annotations

import os
from dataclasses import fields, replace

import numpy as np
import pytest
from tests.property.arc_length import (
    FINE,
    Setting,
    along_the_yarn,
    at_the_guide,
    bent,
    force_at,
    setting_of,
    traveller,
)
from tests.property.lightening import FREE, HELD, lighten, newton
from tests.property.plausible import plausible

from ringwright.physics import Outcome, Positions, Solutions, limit_masses, solve

COUNT = 5000
FOLLOWED = 240
"""How many positions, three steady ones to two refused, are followed from a heavy traveller."""
LIMITED = 1500
"""Of how many positions the limits are held against the solutions."""
SEED = int(os.environ.get("RINGWRIGHT_SEED", "2025"))
"""Another seed draws other positions: RINGWRIGHT_SEED=7 python -m pytest tests/property/test_right_root.py."""
REFUSED = (Outcome.FOLD, Outcome.LIFT_OFF)

# Positions that were solved wrongly or not at all at some time while the solver was written: draw, seed, index.
ONCE_WRONG = [
    (600, 3, 188),  # the fold named was six times too heavy, found beyond a jump to another curve
    (6000, 12, 4223),  # a light traveller that the drag holds: not converged
    (6000, 14, 724),  # the same with a large cop
    (6000, 14, 5395),  # the same with a fixed tension ratio
    (5000, 2025, 1018),  # a fold behind a sharp bend of the branch
    (5000, 2025, 2551),  # a sweep gave a balloon from beyond the fold
    (5000, 2025, 4433),  # the same
]


@pytest.fixture(scope="module")
def drawn() -> tuple[Positions, Solutions]:
    p = plausible(COUNT, SEED)
    return p, solve(p)


def part(solutions: Solutions, index) -> Solutions:
    return Solutions(**{f.name: getattr(solutions, f.name)[index] for f in fields(solutions)})


def refused(s: Solutions):
    return np.flatnonzero(np.isin(s.outcome, REFUSED))


def places(k: Setting, p: Positions, s: Solutions) -> dict[str, np.ndarray]:
    """Build the balloons of solved positions again from guide tension, guide angle, length and bend, along the yarn.

    Gives what they miss, and the quantities to compare, dimensionless.
    """
    _, a, scale = setting_of(p)
    flow = k.feed**2
    energy = s.guide_tension / scale - flow
    length = s.balloon_length / a
    state = at_the_guide(s.guide_angle)
    path: list[np.ndarray] = [state]
    gap = np.full(len(p), -np.inf)
    ringed = k.control_radius > 0
    upper = np.where(ringed, length * k.control_depth / k.height, length)
    for _ in range(6):  # find how much yarn lies above the control ring's height
        trial = along_the_yarn(k, state, energy, upper, FINE)
        upper = upper + np.where(ringed, (k.control_depth - trial[2]) / trial[5], 0.0)
    state = along_the_yarn(k, state, energy, upper, FINE, path)
    gap[ringed] = np.hypot(state[0], state[1])[ringed] - k.control_radius[ringed]
    pressed = np.zeros(len(p))
    below, new_energy = bent(k, state, energy, s.control_ring_bend)
    _, q = force_at(k, state, energy)
    pressed = np.hypot(q[0], q[2]) * s.control_ring_bend
    state = np.where(ringed, below, state)
    energy = np.where(ringed, new_energy, energy)
    state = along_the_yarn(k, state, energy, length - upper, FINE, path)
    r, q = force_at(k, state, energy)
    at_ring = traveller(k, q)
    x, y = np.stack([node[:2] for node in path[1:]], axis=1)
    return {
        "height": state[2] - k.height,
        "radius": r - 1,
        "friction": at_ring.residual,
        "unit tangent": np.sum(state[3:] ** 2, axis=0) - 1,
        "gap": gap,
        "pressed": pressed * scale,
        "ring_tension": (np.sqrt(np.sum(q**2, axis=0)) + flow) * scale,
        "winding_tension": (at_ring.winding + flow) * scale,
        "traveller_wrap": at_ring.wrap,
        "ring_force": at_ring.normal * scale,
        "ring_force_radial": at_ring.outward * scale,
        "ring_force_axial": q[2] * scale,
        "lag": np.unwrap(np.arctan2(y, x), axis=0)[-1],
        "widest node": np.hypot(x, y).max(axis=0) * a,
    }


COMPARED = ("ring_tension", "winding_tension", "traveller_wrap", "ring_force", "ring_force_axial", "lag")


def check_steady(p: Positions, s: Solutions) -> None:
    """Hold solved positions against the balloon built again along the yarn."""
    k, _, _ = setting_of(p)
    seen = places(k, p, s)
    assert np.abs(seen["unit tangent"]).max() < 1e-9
    assert np.abs(seen["radius"]).max() < 1e-7
    assert (np.abs(seen["height"]) / k.height).max() < 1e-8
    assert np.abs(seen["friction"]).max() < 1e-8
    assert seen["ring_force_radial"].min() > 0
    for name in COMPARED:
        np.testing.assert_allclose(seen[name], getattr(s, name), rtol=1e-7, atol=1e-8, err_msg=name)
    np.testing.assert_allclose(seen["ring_force_radial"], s.ring_force_radial, rtol=1e-6, atol=1e-8)
    # The largest radius is at least that of every place passed, and not much more than the widest of them.
    excess = s.largest_radius / seen["widest node"] - 1
    assert excess.min() > -1e-8
    assert excess.max() < 0.01
    # A control ring presses where it touches, and only there.
    touching = s.control_ring_force > 0
    assert np.abs(seen["gap"][touching]).max(initial=0.0) < 1e-7
    np.testing.assert_allclose(seen["pressed"], s.control_ring_force, rtol=1e-7, atol=1e-10)
    assert seen["gap"][~touching].max(initial=-np.inf) < 1e-5
    assert s.control_ring_bend.min() >= 0


def test_every_position_is_solved_or_refused_with_a_named_limit(drawn):
    p, s = drawn
    assert (s.outcome == Outcome.NOT_CONVERGED).sum() == 0
    steady = s.outcome == Outcome.STEADY
    for f in fields(s):
        if f.name not in {"neck_radius", "neck_depth", "stopped_at_mass"}:
            assert np.isfinite(getattr(s, f.name)[steady]).all(), f.name
    stopped = refused(s)
    assert np.isfinite(s.stopped_at_mass).sum() == stopped.size
    assert (s.stopped_at_mass[stopped] / p.traveller_mass[stopped]).min() > 1
    assert np.isfinite(s.guide_tension).sum() == steady.sum()
    assert 0.5 * COUNT < steady.sum() < 0.98 * COUNT  # neither kind is rare
    assert stopped.size > 100


def test_every_steady_balloon_stands_when_built_again_along_the_yarn(drawn):
    p, s = drawn
    steady = np.flatnonzero(s.outcome == Outcome.STEADY)
    check_steady(p.take(steady), part(s, steady))


def test_a_traveller_a_thousandth_heavier_than_the_named_limit_has_a_steady_balloon(drawn):
    p, s = drawn
    stopped = refused(s)
    heavier = replace(p.take(stopped), traveller_mass=1.001 * s.stopped_at_mass[stopped])
    found = solve(heavier)
    np.testing.assert_array_equal(found.outcome, Outcome.STEADY)
    check_steady(heavier, found)


def test_limits_name_the_same_end_as_the_solutions(drawn):
    p, s = drawn
    p, s = p.take(slice(LIMITED)), part(s, slice(LIMITED))
    limits = limit_masses(p)
    end = np.fmax(limits.fold, limits.lift_off)
    stopped = refused(s)
    kinds = np.where(np.isfinite(limits.fold[stopped]), Outcome.FOLD, Outcome.LIFT_OFF)
    np.testing.assert_array_equal(kinds, s.outcome[stopped])
    np.testing.assert_allclose(end[stopped], s.stopped_at_mass[stopped], rtol=1e-3)
    steady = s.outcome == Outcome.STEADY
    above = np.flatnonzero(steady & (end > 1.001 * p.traveller_mass))
    np.testing.assert_array_equal(above, [], err_msg="steady, although the limits say that the branch ended before")


def follow_all(p: Positions, s: Solutions) -> None:
    """Lighten travellers from twenty times their mass: steady ones to their mass, refused ones past their limit."""
    k, a, scale = setting_of(p)
    steady = s.outcome == Outcome.STEADY
    limit = s.stopped_at_mass / (p.yarn_linear_density * a)
    end = lighten(k, np.where(steady, k.mass, 0.97 * limit))
    assert end.begun.all()
    stopped = np.flatnonzero(~steady)
    # None passes the limit, all come to it, and they end there as the refusal says.
    assert end.ended[stopped].sum() == stopped.size
    np.testing.assert_allclose(end.mass[stopped], limit[stopped], rtol=1e-3)
    lifted = s.outcome[stopped] == Outcome.LIFT_OFF
    assert (end.lifted[stopped] == lifted).sum() >= 0.98 * stopped.size
    # Within a little of a fold the coarse descent may end early; it must then have come close.
    assert (end.mass / k.mass)[steady].max(initial=1.0) < 1.0005
    arrived = np.flatnonzero(steady & ~end.ended)
    assert arrived.size >= 0.97 * steady.sum()
    for held, rows in ((False, FREE), (True, HELD)):
        i = arrived[end.held[arrived] == held]
        if not i.size:
            continue
        fine = newton(k.take(i), end.u[:rows, i], FINE)
        assert fine.good.all()
        assert np.abs(fine.u[:2] - end.u[:2, i]).max() < 0.01  # the same balloon, only better integrated
        np.testing.assert_allclose((np.exp(fine.u[0]) + k.feed[i] ** 2) * scale[i], s.guide_tension[i], rtol=1e-6)
        np.testing.assert_allclose(fine.u[1], s.guide_angle[i], rtol=1e-6)
        np.testing.assert_array_equal(s.control_ring_force[i] > 0, held)


def test_travellers_made_lighter_step_by_step_lead_to_the_same_balloons_or_stop_where_the_refusals_say(drawn):
    p, s = drawn
    steady = np.flatnonzero(s.outcome == Outcome.STEADY)
    # The lighter the traveller over its need, the nearer the end of the branch: half of them come from there.
    k, _, _ = setting_of(p.take(steady))
    by_need = steady[np.argsort(k.mass * k.cop / (k.height**2 * k.ring_friction))]
    some = 3 * FOLLOWED // 10
    chosen = np.concatenate([by_need[:some], steady[:: steady.size // some], refused(s)[: 2 * FOLLOWED // 5]])
    chosen = np.unique(chosen)
    follow_all(p.take(chosen), part(s, chosen))


def test_positions_that_were_once_wrong_are_right():
    taken = [plausible(count, seed).take(slice(index, index + 1)) for count, seed, index in ONCE_WRONG]
    p = Positions(**{f.name: np.concatenate([getattr(one, f.name) for one in taken]) for f in fields(taken[0])})
    s = solve(p)
    assert [i for i, outcome in enumerate(s.outcome) if outcome == Outcome.NOT_CONVERGED] == []
    steady = np.flatnonzero(s.outcome == Outcome.STEADY)
    check_steady(p.take(steady), part(s, steady))
    follow_all(p, s)


def test_a_sweep_gives_what_each_position_gives_alone(drawn):
    # Neighbours at random: the hardest order for a sweep, which must then fall back.
    p, s = drawn
    swept = solve(p, sweep=True)
    np.testing.assert_array_equal(swept.outcome, s.outcome)
    np.testing.assert_allclose(swept.guide_tension, s.guide_tension, rtol=1e-6)
    np.testing.assert_allclose(swept.lag, s.lag, rtol=1e-6, atol=1e-9)


def repeated(count: int) -> Positions:
    """One position with a low control ring, many times."""
    one = plausible(60, 2026)
    ringed = np.flatnonzero(one.control_ring_diameter > 0)[0]
    return Positions(**{f.name: np.full(count, getattr(one, f.name)[ringed]) for f in fields(one)})


def test_the_limits_of_a_position_lie_below_every_traveller_that_spins_steadily():
    p = replace(repeated(60), traveller_mass=250e-6 * 0.06 ** np.linspace(0, 1, 60))
    lightest = p.traveller_mass[solve(p).outcome == Outcome.STEADY].min()
    limits = limit_masses(p.take(slice(1)))
    assert np.fmax(limits.fold, limits.lift_off)[0] < lightest


@pytest.mark.parametrize("swept", ["traveller_mass", "balloon_height", "winding_diameter", "control_ring_depth"])
def test_an_ordered_sweep_gives_what_each_position_gives_alone(swept):
    # Each sweep runs over folds or lift-offs, or the coming and going of the control ring.
    count = 2000
    p = repeated(count)
    part_of_it = np.linspace(0, 1, count)
    span = {
        "traveller_mass": 250e-6 * 0.1**part_of_it,
        "balloon_height": p.control_ring_depth * 1.05 + 0.2 * part_of_it,
        "winding_diameter": p.ring_diameter * (0.4 + 0.5 * part_of_it),
        "control_ring_depth": p.balloon_height * (0.05 + 0.9 * part_of_it),
    }
    p = replace(p, **{swept: span[swept]})
    alone, together = solve(p), solve(p, sweep=True)
    assert (alone.outcome == Outcome.NOT_CONVERGED).sum() == 0
    np.testing.assert_array_equal(together.outcome, alone.outcome)
    np.testing.assert_allclose(together.guide_tension, alone.guide_tension, rtol=1e-6)
    np.testing.assert_allclose(together.stopped_at_mass, alone.stopped_at_mass, rtol=1e-4)
