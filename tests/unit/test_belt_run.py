"""A belt round its drum and past its wharves, held to an integration round every arc, to limits and to its energy."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from ringwright.physics.belt import Strip
from ringwright.physics.belt_run import Anchor, BeltRun, Drum, Wharves, run_belt

SPEED = 1675.0
STRIP = Strip(stiffness=9e3, mass=0.008, bending_stiffness=3e-4, neutral_height=3e-4, bending_loss=0.0)


def run_of(n=4, **changes):
    one = np.ones(n)
    wharves: dict[str, Any] = {
        "diameter": 0.02 * one, "laid": 1.92 * one, "press": 0 * one, "friction": 0.25 * one, "drag": 0 * one,
        "power": 16 * one, "speed": SPEED, "exponent": 2.4,
    } | changes.pop("wharves", {})  # fmt: skip
    given: dict[str, Any] = {
        "strip": STRIP, "drum": Drum(diameter=0.2, wrap=2.6, friction=0.4), "wharves": Wharves(**wharves),
        "anchor": Anchor(tension=9.0, fixed=False, place=2), "end_drag": 0.0,
    } | changes  # fmt: skip
    return BeltRun(**given)


def arc_by_arc(run, drum_speed):
    """Spindle speeds by integrating tension and belt speed round every wharve, the slack tension found by shooting.

    Each surface goes with the belt where it comes on and, as far as friction reaches back from where the belt leaves,
    the belt slides: dT/dphi = mu (T - u m v). The arc of sliding ends where the torque that the spindle wants is taken.
    """
    strip, wharves = run.strip, run.wharves
    radius = wharves.diameter[0] / 2 + strip.neutral_height

    def walk(slack_pull):
        flow, pulls, speeds = on_speed, [slack_pull], np.zeros(0).tolist()
        for _ in range(30):  # the flow follows from the tension on to the drum, which follows from the flow
            pulls, speeds = [slack_pull], []
            for k in range(len(wharves.diameter)):
                v = flow * (1 + pulls[-1] / strip.stiffness)
                omega = v / radius
                torque = wharves.power[k] / wharves.speed * (omega / wharves.speed) ** (wharves.exponent - 1)
                pulls.append(slide(pulls[-1], torque, flow, wharves.friction[k]))
                speeds.append(omega)
            new = on_speed / (1 + pulls[-1] / strip.stiffness)
            if abs(new - flow) < 1e-14 * new:
                break
            flow = new
        return speeds, pulls

    def slide(pull, torque, flow, friction):
        bent = strip.mass * flow**2

        def law(_, y):
            gain = friction * (y[0] - bent * (1 + y[0] / strip.stiffness))
            return [gain / (1 - bent / strip.stiffness), gain * radius]

        def taken(_, y):
            return torque - y[1]

        vars(taken)["terminal"] = True
        found = solve_ivp(law, (0, 1.92), [pull, 0.0], events=taken, rtol=1e-11, atol=1e-12)
        assert found.status == 1, "the whole wrap slides"
        return found.y[0, -1]

    on_speed = drum_speed * (run.drum.diameter / 2 + strip.neutral_height)

    def off(slack_pull):
        pulls = walk(slack_pull)[1]
        flow = on_speed / (1 + pulls[-1] / strip.stiffness)
        at = pulls[run.anchor.place]
        return at - strip.mass * flow**2 * (1 + at / strip.stiffness) - run.anchor.tension

    slack = brentq(off, 8.0, 13.0, xtol=1e-12)
    return np.array(walk(slack)[0])


def parts(ran):
    return float(
        ran.load.sum() + ran.bearing.sum() + ran.sliding.sum() + ran.drum_sliding + ran.bending.sum()
        + ran.rollers.sum()
    )  # fmt: skip


def test_speeds_are_those_of_an_integration_round_every_arc():
    run = run_of()
    assert run_belt(run, 160.0).spindle_speed == pytest.approx(arc_by_arc(run, 160.0), rel=1e-9)


def test_equal_spindles_fall_off_in_equal_steps_by_pull_over_stiffness():
    """Closed form: spindle i runs at drum speed x (1 + T_i / E A) / (1 + T_on / E A), T rising by P / v at each."""
    n, tension = 300, 1000.0
    strip = replace(STRIP, stiffness=9e4, mass=0.0, neutral_height=0.0, bending_stiffness=1e9, bending_loss=0.0)
    run = run_of(
        n, strip=strip, anchor=Anchor(tension=tension, fixed=False),
        wharves={"press": 6 * np.ones(n), "laid": np.zeros(n), "exponent": 1 + 1e-9},
    )  # fmt: skip
    ran = run_belt(run, 160.0)
    # Torque that does not change with speed: pull = P / (w R), and R is the bare radius since the belt passes straight.
    pull = 16 / SPEED / 0.01
    t = tension + pull * np.arange(n)
    closed = 160.0 * 0.1 / 0.01 * (1 + t / 9e4) / (1 + (tension + n * pull) / 9e4)
    assert ran.spindle_speed == pytest.approx(closed, rel=1e-7)


@pytest.mark.parametrize("fixed", [True, False])
def test_power_at_the_drum_is_all_that_spindles_and_losses_take(fixed):
    n = 60
    anchor = Anchor(tension=300.0, fixed=fixed, pitch=0.07, slack_idle=1.0, tight_idle=5.0)
    strip = Strip(stiffness=4e4, mass=0.1, bending_stiffness=0.05, neutral_height=7e-4, bending_loss=0.05)
    wharves = {"press": 8 * np.ones(n), "laid": 0.02 * np.ones(n), "drag": 0.05 * np.ones(n), "bearing_arm": 8e-6}
    ran = run_belt(run_of(n, strip=strip, anchor=anchor, wharves=wharves), 160.0)
    assert ran.steady
    assert min(ran.sliding.min(), ran.bearing.min(), ran.bending.min(), ran.rollers.min(), ran.drum_sliding) > 0
    assert parts(ran) == pytest.approx(ran.drawn, rel=1e-9)


def test_energy_closes_with_a_wharve_that_slips_too():
    friction = 0.25 * np.ones(4)
    friction[2] = 0.02
    ran = run_belt(run_of(wharves={"friction": friction}), 160.0)
    assert ran.margin[2] < 1 < ran.margin[1]
    assert ran.sliding[2] > 100 * ran.sliding[1]
    assert parts(ran) == pytest.approx(ran.drawn, rel=1e-9)


def test_a_slipping_spindle_runs_at_the_speed_at_which_it_settles_in_time():
    """Spin it up under the most pull of the belt until it gains no more: a motion in place of a balance."""
    friction = 0.25 * np.ones(4)
    friction[2] = 0.02
    run = run_of(wharves={"friction": friction})
    ran = run_belt(run, 160.0)
    arm, inertia = 0.01 + STRIP.neutral_height, 2e-5

    def gain(_, w):
        load = 16 / SPEED * (w[0] / SPEED) ** 1.4
        return [(float(ran.most_pull[2]) * arm - load) / inertia]

    spun = solve_ivp(gain, (0, 200), [300.0], rtol=1e-10, atol=1e-9)
    assert ran.spindle_speed[2] == pytest.approx(spun.y[0, -1], rel=1e-6)


def test_a_belt_that_does_not_stretch_turns_all_alike_by_the_diameters():
    strip = replace(STRIP, stiffness=1e12, neutral_height=0.0)
    ran = run_belt(run_of(strip=strip), 160.0)
    assert ran.spindle_speed == pytest.approx(np.full(4, 1600.0), rel=1e-9)
    assert ran.sliding == pytest.approx(np.zeros(4), abs=1e-6)


def test_the_thickness_of_a_tape_takes_speed_as_the_trade_reckons_it():
    """Spindle = drum x (D + t) / (d + t), the trade's rule (common practice, no source), where nothing stretches."""
    ran = run_belt(run_of(strip=replace(STRIP, stiffness=1e12)), 160.0)
    assert ran.spindle_speed == pytest.approx(np.full(4, 160.0 * 200.6 / 20.6), rel=1e-9)


def test_without_load_a_belt_of_fixed_length_keeps_its_pull_and_presses_less_by_its_own_mass():
    strip = replace(STRIP, mass=0.1, stiffness=9e4)
    wharves = {"power": 1e-12 * np.ones(4)}
    anchor = Anchor(tension=100.0, fixed=True, pitch=0.07, slack_idle=1, tight_idle=1)
    ran = run_belt(run_of(strip=strip, anchor=anchor, wharves=wharves), 160.0)
    v = 160.0 * (0.1 + STRIP.neutral_height)
    flow = v / (1 + 100 / 9e4)
    assert ran.slack == pytest.approx(np.full(4, 100 - 0.1 * flow * v), rel=1e-7)


def test_a_belt_of_fixed_length_keeps_its_length_under_load():
    n, anchor = 40, Anchor(tension=200.0, fixed=True, pitch=0.07, slack_idle=0.5, tight_idle=2.0)
    strip = replace(STRIP, mass=0.0, stiffness=2e4, neutral_height=0.0)
    ran = run_belt(run_of(n, strip=strip, anchor=anchor), 160.0)
    pulls = np.concatenate((ran.slack, [ran.tight[-1]]))
    lengths = np.full(n + 1, 0.07)
    lengths[0] = 0.07 / 2 + 0.5
    lengths[-1] = 0.07 / 2 + 2.0
    unstretched = (lengths / (1 + pulls / 2e4)).sum()
    assert unstretched == pytest.approx(lengths.sum() / (1 + 200 / 2e4), rel=1e-9)


def test_a_jockey_holds_its_tension_where_it_stands():
    ran = run_belt(run_of(), 160.0)
    assert ran.tight[1] == pytest.approx(9.0)
    assert ran.slack[2] == pytest.approx(9.0)


def test_a_belt_too_slack_for_its_load_is_not_called_steady():
    assert not run_belt(run_of(anchor=Anchor(tension=1.0, fixed=False, place=2)), 160.0).steady


def test_a_drum_that_cannot_give_the_pull_is_not_called_steady():
    # Off the drum 9 - 2 x 0.97 N; the most it can give is 7 (exp(0.02 x 2.6) - 1), a third of a newton.
    assert not run_belt(run_of(drum=Drum(diameter=0.2, wrap=2.6, friction=0.02)), 160.0).steady
