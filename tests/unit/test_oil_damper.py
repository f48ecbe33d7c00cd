"""The oil film of the foot step against the two ends of its own law, a plain grid solution, and Walther's line."""

from __future__ import annotations

import numpy as np
import pytest

from ringwright.physics.oil_damper import film_damping, squeeze_reynolds, viscosity_at, viscosity_hot


def test_a_short_film_damps_as_its_closed_form_says():
    # Reynolds along the height alone: p = 6 (viscosity) V cos(t) (z^2 - L^2/4) / c^3; its sum over the film.
    viscosity, radius, length, gap = 0.006, 0.01, 0.0005, 1e-4
    assert film_damping(viscosity, radius, length, gap) == pytest.approx(
        np.pi * viscosity * radius * length**3 / gap**3, rel=1e-3
    )


def test_a_tall_film_damps_as_its_closed_form_says():
    # Reynolds round the film alone: 12 pi (viscosity) (R/c)^3 L, less what the ends let out: one diameter's height.
    viscosity, radius, length, gap = 0.006, 0.004, 4.0, 1e-4
    assert film_damping(viscosity, radius, length, gap) == pytest.approx(
        12 * np.pi * viscosity * (radius / gap) ** 3 * (length - 2 * radius), rel=1e-6
    )


def test_a_film_between_the_two_damps_as_reynoldss_equation_on_a_grid_says():
    # Independent route: pressure p = P(z) cos(t) in a centred film; P'' - P / R^2 = 12 (viscosity) V / c^3, P = 0
    # at both ends, by differences on a grid; force = pi R times the sum of P.
    viscosity, radius, length, gap = 0.0064, 0.004, 0.025, 1.5e-4
    many = 2000
    step = length / many
    inside = many - 1
    matrix = np.zeros((3, inside))
    matrix[0, 1:] = matrix[2, :-1] = 1 / step**2
    matrix[1] = -2 / step**2 - 1 / radius**2
    from scipy.linalg import solve_banded  # noqa: PLC0415 - the one test that solves on a grid

    pressure = solve_banded((1, 1), matrix, np.full(inside, 12 * viscosity / gap**3))
    assert film_damping(viscosity, radius, length, gap) == pytest.approx(
        -np.pi * radius * pressure.sum() * step, rel=1e-5
    )


def test_half_the_gap_damps_eight_times_as_much():
    assert film_damping(0.006, 0.004, 0.02, 1e-4) == pytest.approx(8 * film_damping(0.006, 0.004, 0.02, 2e-4))


def test_an_oil_has_its_stated_viscosities_at_40_and_100_degrees():
    assert viscosity_at(313.15, 22e-6, 4.3e-6) == pytest.approx(22e-6, rel=1e-12)
    assert viscosity_at(373.15, 22e-6, 4.3e-6) == pytest.approx(4.3e-6, rel=1e-9)


def test_walthers_line_by_hand_at_20_degrees():
    # lg lg 22.7 = 0.132300, lg lg 5.0 = -0.155543; lg(373.15 / 313.15) = 0.0761333: B = 3.78077.
    # At 293.15 K: 0.132300 + 3.78077 x lg(313.15 / 293.15) = 0.132300 + 3.78077 x 0.0286627 = 0.240667;
    # v + 0.7 = 10 ^ 10 ^ 0.240667 = 10 ^ 1.74047 = 55.01.
    assert 1e6 * viscosity_at(293.15, 22e-6, 4.3e-6) == pytest.approx(54.3, abs=0.1)


def test_another_oil_of_the_family_falls_as_far_on_walthers_scale():
    def scale(viscosity):
        return np.log10(np.log10(1e6 * viscosity + 0.7))

    hot = viscosity_hot(46e-6, (22e-6, 4.3e-6))
    assert scale(46e-6) - scale(hot) == pytest.approx(scale(22e-6) - scale(4.3e-6))


def test_the_squeeze_reynolds_number_is_density_spin_gap_squared_over_viscosity():
    assert squeeze_reynolds(860.0, 0.0064, 1.5e-4, 1675.0) == pytest.approx(860 * 1675 * 2.25e-8 / 0.0064)
