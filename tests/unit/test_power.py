"""Power by part: the air on the package against hand arithmetic, the yarn's balance at every place of every doff."""

from dataclasses import replace
from math import log10, pi, sqrt

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from ringwright.mill import demo_mill_path, read_mill
from ringwright.physics import package_drag
from ringwright.physics.package_drag import package_drag_power, skin_friction
from ringwright.physics.position import solve, threads
from ringwright.physics.power import yarn_power
from ringwright.setting.choice import choose
from ringwright.setting.places import Sampling, lay_out
from ringwright.setting.problem import doff_problem, positions

MILL = read_mill(demo_mill_path())
SETTINGS = sorted(MILL.settings)
RPM = 2 * pi / 60


def demo_positions(name, sampling=None):
    setting = MILL.settings[name]
    choice = choose(MILL, setting.frame, setting.yarn)
    return positions(choice, lay_out(doff_problem(choice), sampling or Sampling(strokes=12, places=9)))


@pytest.mark.parametrize("reynolds", [1e3, 44_385.0, 1e5, 3e6])
def test_the_friction_coefficient_solves_the_law_as_it_is_written(reynolds):
    (c,) = skin_friction(np.array([reynolds]))
    assert 1 / sqrt(c) == pytest.approx(-0.6 + 4.07 * log10(reynolds * sqrt(c)), rel=1e-10)


def test_slow_cylinders_follow_the_exact_laminar_law():
    # A long cylinder turns the air as a free vortex: wall stress 2 eta w, so C = 2 eta w / (rho w^2 r^2 / 2) = 4 / Re.
    assert skin_friction(np.array([1.0, 20.0])) == pytest.approx([4.0, 0.2])


@pytest.mark.parametrize(
    ("radius", "rpm", "watt"), [(0.020, 16e3, 2.734), (0.012, 16e3, 0.4535), (0.020, 10e3, 0.7453)]
)
def test_a_package_of_180_mm_takes_the_power_worked_out_by_hand(radius, rpm, watt, monkeypatch):
    # C from the law by hand iteration, then rho/2 C (w r)^3 2 pi r L with rho 1.204 kg/m3, nu 1.51e-5 m2/s.
    monkeypatch.setattr(package_drag, "AIR_VISCOSITY", 1.204 * 1.51e-5)
    outline, heights = np.full((1, 7), 2 * radius), np.linspace(0, 0.18, 7)
    assert package_drag_power(outline, heights, np.array([rpm * RPM]), 1.204) == pytest.approx([watt], rel=5e-4)


def test_hairs_multiply_the_drag_of_the_part_that_they_cover():
    outline, heights, speed = np.full((1, 3), 0.04), np.array([0.0, 0.1, 0.2]), np.array([1600.0])
    smooth = package_drag_power(outline, heights, speed, 1.2)
    assert package_drag_power(outline, heights, speed, 1.2, 1.25) == pytest.approx(1.25 * smooth)
    half = package_drag_power(outline, heights, speed, 1.2, np.array([[1.5, 1.25, 1.0]]))
    assert half == pytest.approx(1.25 * smooth)


@pytest.mark.parametrize("name", SETTINGS)
def test_traveller_balloon_and_control_ring_take_what_the_wound_yarn_gives_at_every_place(name):
    given = demo_positions(name)
    power = yarn_power(given, solve(given))
    assert np.abs(power.imbalance).max() < 1e-6
    assert power.balloon.min() > 0
    assert power.control_ring.min() >= 0


def test_the_balance_also_closes_with_the_feed_in_the_balloon():
    given = demo_positions("F1-AV30K")
    fed = replace(given, feed_speed=np.full(len(given), 0.31))
    power = yarn_power(fed, solve(fed))
    assert power.feed.min() > 0
    assert np.abs(power.imbalance).max() < 1e-6


def test_a_wrong_shape_does_not_close_the_balance():
    given = demo_positions("F1-AV30K")
    solved = solve(given)
    off = yarn_power(given, replace(solved, ring_tension=1.001 * solved.ring_tension))
    assert np.abs(off.imbalance).min() > 1e-4


def _drag_along(given, points):
    """Drag power from the drawn threads alone: D r^3 (1 - t_theta^2)^1.5 along each span, by splines."""
    thread = threads(given, points)
    watt = np.zeros(len(given))
    diameter = np.sqrt(4 * given.yarn_linear_density / (pi * given.yarn_density))
    per_length = 0.5 * given.air_density * given.drag_coefficient * diameter
    for i in range(len(given)):
        for part in (slice(0, points // 2 + 1), slice(points // 2 + 1, points + 2)):
            z, r, a = (row[part, i] for row in (thread.depth, thread.radius, thread.azimuth))
            a = np.unwrap(a)
            if z[0] == 0:
                a[0] = a[1]  # the azimuth of the eyelet itself means nothing; the drag there is nought
            slope_r, slope_a = CubicSpline(z, r)(z, 1), CubicSpline(z, a)(z, 1)
            length = np.sqrt(1 + slope_r**2 + (r * slope_a) ** 2)
            along = r * slope_a / length
            torque = per_length[i] * r**3 * (1 - along**2) ** 1.5 * length
            watt[i] += CubicSpline(z, torque).integrate(z[0], z[-1]) * given.traveller_speed[i] ** 3
    return watt


def test_the_balloons_drag_is_the_sum_of_the_drag_along_its_shape():
    given = demo_positions("F1-AV30K", Sampling(strokes=3, places=4))
    power = yarn_power(given, solve(given))
    assert power.balloon == pytest.approx(_drag_along(given, 200), rel=1e-4)


def test_powers_of_yarn_and_air_grow_with_the_cube_of_speed_where_the_coefficients_are_fixed():
    given = demo_positions("F3-AV20W", Sampling(strokes=3, places=4))
    quick = replace(given, traveller_speed=1.1 * given.traveller_speed)
    slow, fast = yarn_power(given, solve(given)), yarn_power(quick, solve(quick))
    for part in ("supplied", "traveller", "balloon"):
        assert getattr(fast, part) == pytest.approx(1.1**3 * getattr(slow, part), rel=1e-7)
