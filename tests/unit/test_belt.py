"""The laws of a flat belt, each held to another way of reckoning it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp, solve_ivp

from ringwright.physics.belt import (
    Strip,
    belt_law,
    bend,
    bending_pull,
    centrifugal_tension,
    effective_radius,
    grip,
    shaft_load,
    wrap_of,
)

STRIP = Strip(stiffness=9e4, mass=0.1, bending_stiffness=0.05, neutral_height=7e-4, bending_loss=0.05)


@pytest.mark.parametrize(("friction", "degrees"), [(0.25, 110), (0.4, 180), (0.1, 5)])
def test_the_belt_law_is_what_integrating_friction_round_the_surface_gives(friction, degrees):
    wrap = math.radians(degrees)
    run = solve_ivp(lambda _, tension: friction * tension, (0, wrap), [7.0], rtol=1e-12, atol=1e-12)
    assert 7.0 * belt_law(friction, wrap) == pytest.approx(run.y[0, -1], rel=1e-9)
    assert grip(7.0, friction, wrap) == pytest.approx(run.y[0, -1] - 7.0, rel=1e-9)


def test_a_press_across_a_long_tight_belt_grips_as_a_block_under_that_press():
    # Coulomb's law: the most pull is friction times the press, however tight the belt.
    for tension in (1e3, 1e5):
        wrap = wrap_of(tension, 0.0, 6.0)
        assert grip(tension, 0.3, wrap) == pytest.approx(0.3 * 6.0, rel=2e-3)


def test_wrap_by_a_press_holds_the_balance_of_forces_across_the_belt():
    wrap = float(wrap_of(50.0, 0.0, 20.0))
    assert 2 * 50.0 * math.sin(wrap / 2) == pytest.approx(20.0)  # both strands lean by half the wrap
    assert wrap_of(5.0, 0.0, 100.0) == pytest.approx(math.pi)  # a press that doubles the belt back


def test_the_pull_of_a_belt_in_its_curve_is_that_of_its_mass():
    # 0.1 kg/m at 16 m/s: 25.6 N, hand arithmetic.
    assert centrifugal_tension(0.1, 16.0) == pytest.approx(25.6)


def test_the_bend_at_one_line_is_that_of_a_beam_under_tension():
    """B w'''' = T w'' on either side of a line where the belt turns by theta, solved as a boundary problem."""
    tension, turn = 400.0, 0.02
    far = 12 * math.sqrt(STRIP.bending_stiffness / tension)

    def slope(_, y):
        return np.vstack((y[1], y[2], y[3], tension / STRIP.bending_stiffness * y[2]))

    def ends(a, b):  # half of the belt: turned by half of theta at the line, straight and level far off
        return np.array([a[0], a[1] - 0.0, b[1] - turn / 2, b[2]])

    x = np.linspace(0, far, 400)
    found = solve_bvp(slope, ends, x, np.zeros((4, 400)), tol=1e-9, max_nodes=20000)
    assert found.success
    assert bend(STRIP, tension, turn, 1e-4) == pytest.approx(found.sol(0.0)[2], rel=1e-4)


def test_a_belt_that_would_bend_more_than_its_wharve_lies_on_it():
    assert bend(STRIP, 4000.0, 2.0, 0.01) == pytest.approx(1 / (0.01 + STRIP.neutral_height))


def test_lying_belts_turn_the_surface_at_the_radius_of_their_neutral_layer_and_straight_ones_at_the_bare_one():
    lying = 1 / (0.01 + STRIP.neutral_height)
    assert effective_radius(STRIP, lying, 0.01) == pytest.approx(0.01 + STRIP.neutral_height)
    assert effective_radius(STRIP, 0.0, 0.01) == 0.01


def test_bending_takes_the_lost_share_of_the_energy_of_the_bend():
    # A metre bent to 1/0.0107 m: B c2 / 2 = 0.05 / 2 / 0.0107^2 = 218.36 J/m; 5 % of it is 10.918 N.
    assert bending_pull(STRIP, 1 / 0.0107) == pytest.approx(10.918, rel=1e-4)


def test_the_load_on_a_shaft_is_nothing_straight_on_and_both_strands_at_half_a_turn():
    assert shaft_load(30.0, 30.0, 0.0) == pytest.approx(0.0, abs=1e-6)
    assert shaft_load(30.0, 50.0, math.pi) == pytest.approx(80.0)
    assert shaft_load(30.0, 40.0, math.pi / 2) == pytest.approx(50.0)  # 3, 4, 5
