"""What holds for every belt that runs: its energy closes, tension rises along it, and speed follows tension."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.physics.belt import Strip
from ringwright.physics.belt_run import Anchor, BeltRun, Drum, Wharves, run_belt


@st.composite
def belts(draw):
    """Belts over 1 to 60 wharves, pressed or laid, held at their slack end by so much that the drum holds."""
    n = draw(st.integers(1, 60))
    one = np.ones(n)
    strip = Strip(
        stiffness=10 ** draw(st.floats(3.5, 6)), mass=draw(st.floats(0, 0.2)),
        bending_stiffness=10 ** draw(st.floats(-4, -1)), neutral_height=draw(st.floats(0, 2e-3)),
        bending_loss=draw(st.floats(0, 0.2)),
    )  # fmt: skip
    wharves = Wharves(
        diameter=draw(st.floats(0.015, 0.03)) * one, laid=draw(st.floats(0.0, 2.0)) * one,
        press=draw(st.floats(1.0, 20.0)) * one, friction=draw(st.floats(0.05, 0.5)) * one,
        drag=draw(st.floats(0, 0.2)) * one, power=draw(st.floats(5, 40)) * one, speed=1675.0,
        exponent=draw(st.floats(1.5, 3)), bearing_arm=draw(st.floats(0, 2e-5)),
    )  # fmt: skip
    drum = Drum(diameter=draw(st.floats(0.1, 0.3)), wrap=3.0, friction=0.5)
    return BeltRun(
        strip=strip, drum=drum, wharves=wharves, anchor=Anchor(tension=5.0 * n + 20, fixed=False),
        end_drag=draw(st.floats(0, 0.5)),
    )  # fmt: skip


@given(belts(), st.floats(100, 200))
@settings(max_examples=60, deadline=None)
def test_energy_closes_and_speed_follows_tension(run, drum_speed):
    ran = run_belt(run, drum_speed)
    told = ran.load.sum() + ran.bearing.sum() + ran.sliding.sum() + ran.drum_sliding
    told += ran.bending.sum() + ran.rollers.sum()
    # The model is of first order in the belt's change of strain; what it leaves out is of second order.
    strain = (ran.tight.max() - ran.slack.min()) / run.strip.stiffness
    assert abs(told / ran.drawn - 1) < 1e-9 + 4 * strain**2
    assert np.all(np.diff(ran.slack) >= 0)
    assert np.all(np.diff(ran.belt_speed) >= 0)
    assert np.all(ran.sliding >= -1e-9)
    assert np.all(ran.spindle_speed <= ran.free_speed * (1 + 1e-12))
