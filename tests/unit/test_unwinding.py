"""A hanging bobbin against hand arithmetic, limit cases and its equation of motion integrated step by step."""

from dataclasses import replace
from math import exp, pi, sqrt

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from ringwright.physics.unwinding import (
    Bobbin,
    Feed,
    Hanger,
    Strand,
    bobbin_inertia,
    bobbin_radius,
    guide_gain,
    holding_torque,
    jerk_tensions,
    least_holding_torque,
    overrun_slack,
    package_density,
    start_peak,
    start_tension,
    steady_tension,
)

BOBBIN = Bobbin(empty_radius=0.024, full_radius=0.076, traverse=0.305, tube_mass=0.25, content=1.3)
HANGER = Hanger(bearing_friction=0.01, bearing_diameter=0.012, brake_torque=1e-3, breakaway=1.5)
STRAND = Strand(stiffness=140.0, wrap=0.0, friction=0.25)
FEED = Feed(speed=8e-3, start_time=4.0, stop_time=1.0)


def test_the_radius_runs_from_full_to_empty_with_the_section_wound():
    assert bobbin_radius(BOBBIN, np.array([1.0, 0.0])) == pytest.approx([0.076, 0.024])
    # Half of the roving lies outside the radius that halves the ring-shaped section.
    half = float(bobbin_radius(BOBBIN, 0.5))
    assert half**2 - 0.024**2 == pytest.approx(0.076**2 - half**2)


def test_density_and_weight_of_a_full_bobbin_by_hand():
    # 1.3 kg in pi x 0.305 m x (76^2 - 24^2) mm2 = 4.983 dm3
    assert package_density(BOBBIN) == pytest.approx(1.3 / (pi * 0.305 * 5.2e-3), rel=1e-12)
    # 1.55 kg x 9.80665 = 15.200 N; x 0.01 x 6 mm = 0.9120 mN m, and 1 mN m of brake
    assert holding_torque(BOBBIN, HANGER, 1.0) == pytest.approx(1.9120e-3, rel=1e-4)


def test_the_inertia_is_that_of_a_hollow_cylinder_summed_shell_by_shell():
    edges = np.linspace(0.024, 0.076, 20_001)
    middle, density = (edges[1:] + edges[:-1]) / 2, package_density(BOBBIN)
    shells = 2 * pi * middle * np.diff(edges) * 0.305 * density
    assert float(bobbin_inertia(BOBBIN, 1.0)) == pytest.approx(0.25 * 0.024**2 + shells @ middle**2, rel=1e-7)


def test_a_torque_pulls_harder_at_a_thinner_bobbin_in_inverse_ratio():
    free = replace(HANGER, bearing_friction=0.0)
    full, empty = steady_tension(BOBBIN, free, STRAND, np.array([1.0, 0.0]))
    assert full == pytest.approx(1e-3 / 0.076)
    assert empty / full == pytest.approx(76 / 24)


def test_a_quarter_turn_over_a_rod_multiplies_the_tension():
    bent = replace(STRAND, wrap=pi / 2)
    assert guide_gain(bent) == pytest.approx(exp(0.25 * pi / 2))
    ratio = steady_tension(BOBBIN, HANGER, bent, 1.0) / steady_tension(BOBBIN, HANGER, STRAND, 1.0)
    assert float(ratio) == pytest.approx(guide_gain(bent))


def test_a_strand_that_does_not_give_adds_the_force_of_speeding_up():
    torque, inertia = float(holding_torque(BOBBIN, HANGER, 1.0)), float(bobbin_inertia(BOBBIN, 1.0))
    expected = torque / 0.076 + inertia * (8e-3 / 4.0) / 0.076**2
    assert float(start_tension(BOBBIN, HANGER, STRAND, FEED, 1.0)) == pytest.approx(expected)


def turned(share, feed, hanger, strand, *, seconds, moving=False, step=2e-4):
    """Integrate x (drawn by the rollers) and the bobbin's angle with friction that sticks; give time and stretch.

    The bobbin rests until the strand pulls it over its friction at rest, and sticks again when it comes to rest.
    """
    rim, inertia = float(bobbin_radius(BOBBIN, share)), float(bobbin_inertia(BOBBIN, share))
    torque = float(holding_torque(BOBBIN, hanger, share))

    def speed(t):
        return feed.speed if moving else feed.speed * min(t / feed.start_time, 1.0)

    x = angle = rate = 0.0
    times, stretches = [], []
    for k in range(int(seconds / step)):
        t = k * step
        x += step * (speed(t) + speed(t + step)) / 2
        pull = max(strand.stiffness * (x - rim * angle), 0.0) * rim
        if rate > 0 or pull > hanger.breakaway * torque:
            rate = max(rate + step * (pull - torque) / inertia, 0.0)
            angle += step * rate
        times.append(t)
        stretches.append(x - rim * angle)
    return np.array(times), np.array(stretches)


@pytest.mark.parametrize("share", [1.0, 0.3, 0.0])
@pytest.mark.parametrize("start_time", [0.02, 0.8, 4.0])
def test_the_first_peak_at_a_start_is_that_of_the_equation_of_motion(share, start_time):
    feed = replace(FEED, start_time=start_time)
    _, stretch = turned(share, feed, HANGER, STRAND, seconds=1.5, step=2e-5)
    first = next(k for k in range(1, len(stretch) - 1) if stretch[k - 1] < stretch[k] >= stretch[k + 1])
    peak = float(start_peak(BOBBIN, HANGER, STRAND, feed, share))
    assert peak == pytest.approx(STRAND.stiffness * stretch[first], rel=5e-4)


def test_with_hardly_any_friction_a_slow_start_doubles_the_force_of_speeding_up():
    # The dynamic load factor of a ramp that lasts long against the swing, a textbook limit: 2.
    free = Hanger(bearing_friction=0.0, bearing_diameter=0.012, brake_torque=1e-12)
    slow = replace(FEED, start_time=60.0)
    force = float(bobbin_inertia(BOBBIN, 1.0)) * (8e-3 / 60.0) / 0.076**2
    assert float(start_peak(BOBBIN, free, STRAND, slow, 1.0)) == pytest.approx(2 * force, rel=1e-3)


def test_with_hardly_any_friction_a_sudden_start_pulls_with_speed_times_root_of_stiffness_and_mass():
    free = Hanger(bearing_friction=0.0, bearing_diameter=0.012, brake_torque=1e-12)
    sudden = replace(FEED, start_time=1e-6)
    mass = float(bobbin_inertia(BOBBIN, 1.0)) / 0.076**2
    # Energy: m v^2 / 2 goes into the spring.
    assert float(start_peak(BOBBIN, free, STRAND, sudden, 1.0)) == pytest.approx(8e-3 * sqrt(140.0 * mass), rel=1e-4)


@pytest.mark.parametrize("share", [0.7, 0.0])
def test_jerks_swing_between_the_tensions_of_the_equation_of_motion(share):
    hard = replace(HANGER, brake_torque=6e-3)
    _, stretch = turned(share, FEED, hard, STRAND, seconds=30.0, moving=True)
    later = stretch[len(stretch) // 2 :]
    low, high = jerk_tensions(BOBBIN, hard, STRAND, FEED, share)
    assert float(high) == pytest.approx(STRAND.stiffness * later.max(), rel=5e-3)
    assert float(low) == pytest.approx(STRAND.stiffness * max(later.min(), 0.0), rel=3e-2, abs=5e-4)


def test_without_more_friction_at_rest_the_bobbin_turns_evenly():
    even = replace(HANGER, breakaway=1.0)
    low, high = jerk_tensions(BOBBIN, even, STRAND, FEED, 0.5)
    assert float(low) == float(high) == pytest.approx(float(steady_tension(BOBBIN, even, STRAND, 0.5)))


@pytest.mark.parametrize(("brake", "stop_time"), [(5e-6, 0.0), (2e-5, 0.5), (1e-4, 0.3), (1e-3, 1.0)])
def test_the_slack_at_a_stop_is_that_of_the_equation_of_motion(brake, stop_time):
    hanger, feed = replace(HANGER, bearing_friction=1e-4, brake_torque=brake), replace(FEED, stop_time=stop_time)
    rim, inertia = 0.076, float(bobbin_inertia(BOBBIN, 1.0))
    torque = float(holding_torque(BOBBIN, hanger, 1.0))

    def motion(t, y):
        rollers = feed.speed * max(1 - t / stop_time, 0.0) if stop_time else 0.0
        # The bobbin slows by its friction alone once the strand is slack.
        return [y[1] * rim - rollers, -torque / inertia]

    expected, rest = 0.0, feed.speed / rim * inertia / torque
    if not stop_time or torque / inertia < feed.speed / rim / stop_time:
        run = solve_ivp(motion, (0, rest), [0.0, feed.speed / rim], rtol=1e-10, atol=1e-14, max_step=rest / 2000)
        expected = run.y[0, -1]
    assert float(overrun_slack(BOBBIN, hanger, feed, 1.0)) == pytest.approx(expected, rel=1e-4, abs=1e-12)


def test_the_least_torque_lets_go_exactly_the_slack_allowed():
    quick = replace(FEED, stop_time=0.2)
    torque = float(least_holding_torque(BOBBIN, quick, 0.010, 1.0))
    held = Hanger(bearing_friction=0.0, bearing_diameter=0.012, brake_torque=torque)
    assert float(overrun_slack(BOBBIN, held, quick, 1.0)) == pytest.approx(0.010)
    # The energy of turning is the torque's work over the arc: the slack and what the rollers took meanwhile.
    arc = (0.010 + 8e-3 * 0.2 / 2) / 0.076
    assert float(bobbin_inertia(BOBBIN, 1.0)) * (8e-3 / 0.076) ** 2 / 2 == pytest.approx(torque * arc)


def test_a_bobbin_that_nothing_holds_runs_on_without_end():
    free = Hanger(bearing_friction=0.0, bearing_diameter=0.012, brake_torque=0.0)
    assert float(overrun_slack(BOBBIN, free, FEED, 1.0)) > 1e100
