"""The balloon in time: steady where it is steady, linear where offsets are small, and true to its yarn."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from sample_positions import WITH_CONTROL_RING, positions

from ringwright.physics.kernel import motion as kernel
from ringwright.physics.motion import Manner, Offsets, motion_in_time, offset_response
from ringwright.physics.motion.moment import SEEN
from ringwright.physics.motion.rest import rests
from ringwright.physics.motion.running import start_of
from ringwright.physics.motion.stepping import Method, march
from ringwright.refusal import Refusal

DELIVERY = 0.31
needs_library = pytest.mark.skipif(
    not kernel.available(), reason="no compiled stepper: this machine had no C compiler when it was installed"
)
SMALL = 2e-6
"""An offset at which the answer is linear to about 1e-3."""
LIGHT = {"traveller_mass": 40e-6, "feed_speed": DELIVERY}
FREE = {**LIGHT, "balloon_height": 0.120}
TUBE = {**LIGHT, "winding_diameter": 0.018}
PRESSED = {**LIGHT, **WITH_CONTROL_RING}
TENSIONS = ("guide_tension", "ring_tension", "winding_tension")


def run(case, turns, **given):
    return motion_in_time(positions(**case), DELIVERY, turns, **given)


@pytest.mark.parametrize("case", [FREE, TUBE, PRESSED], ids=["free", "tube", "control ring"])
def test_the_steady_balloon_stays_where_it_is_for_a_thousand_turns(case):
    # It starts from the steady solver's shape, which is not quite the grid's own, so that it is moved at every step.
    turns = 1000 if kernel.available() else 5
    seen = run(case, turns)
    assert seen.stopped == ""
    assert seen.turns[-1] == turns
    for tension in TENSIONS:
        values = getattr(seen, tension)
        assert np.abs(values / values[0] - 1).max() < 1e-6
    assert np.abs(seen.traveller_angle).max() < 1e-6


@needs_library
@pytest.mark.parametrize(
    ("case", "part"),
    [(FREE, "ring"), (FREE, "guide"), (TUBE, "ring"), (PRESSED, "ring"), (PRESSED, "guide"), (PRESSED, "control_ring")],
)
def test_a_small_offset_is_answered_as_the_linear_response_says(case, part):
    seen = run(case, 40, offsets=Offsets(**{part: SMALL}))
    answer = getattr(offset_response(positions(**case)), part)
    for quantity in (*TENSIONS, "yarn_flow"):
        assert abs(seen.swing(quantity) / SMALL / getattr(answer, quantity)[0] - 1) < 0.01


@needs_library
def test_a_yarn_that_stretches_is_answered_alike_by_both():
    manner = Manner(axial_stiffness=80.0, steps_per_turn=192)
    seen = run(TUBE, 40, offsets=Offsets(ring=SMALL), manner=manner)
    stretching = offset_response(positions(**TUBE), axial_stiffness=80.0).ring.guide_tension[0]
    stiff = offset_response(positions(**TUBE)).ring.guide_tension[0]
    assert abs(seen.swing("guide_tension") / SMALL / stretching - 1) < 0.01
    assert abs(stiff / stretching - 1) > 0.1  # so that the check could fail


@needs_library
def test_half_the_step_leaves_a_quarter_of_the_error():
    exact = offset_response(positions(**FREE)).ring.guide_tension[0]

    def error(steps):
        seen = run(FREE, 30, offsets=Offsets(ring=SMALL), manner=Manner(steps_per_turn=steps, damping=0.8))
        return abs(seen.swing("guide_tension") / SMALL / exact - 1)

    assert error(48) / error(96) == pytest.approx(4, rel=0.1)


@pytest.mark.parametrize("case", [FREE, PRESSED])
def test_no_yarn_is_lost(case):
    turns = 24 if kernel.available() else 2
    seen = run(case, turns, offsets=Offsets(ring=0.1e-3, guide=0.05e-3j))
    assert np.ptp(seen.yarn_kept) > 1e-5  # it does move
    assert seen.imbalance < 1e-8
    # The flow through the traveller, summed, is what was fed less what the balloon kept: to the order of the steps.
    step = 60 / 16000 / 128
    wound = np.sum((seen.yarn_flow[1:] + seen.yarn_flow[:-1]) / 2) * step
    fed = DELIVERY * step * (len(seen.turns) - 1)
    assert wound == pytest.approx(fed - (seen.yarn_kept[-1] - seen.yarn_kept[0]), rel=1e-5)


@needs_library
def test_beyond_the_limit_the_flow_stops_for_a_part_of_each_turn_and_the_linear_trough_is_too_low():
    answer = offset_response(positions(**TUBE))
    offset = 1.5 * answer.valid_below("ring")[0]
    seen = run(TUBE, 12, offsets=Offsets(ring=offset), manner=Manner(ramp_turns=4))
    last = seen.last(2)
    assert last.yarn_flow.min() > -0.02 * DELIVERY
    assert np.mean(last.yarn_flow < 0.1 * DELIVERY) > 0.2
    trough = seen.guide_tension[0] - offset * abs(answer.ring.guide_tension[0])
    assert last.guide_tension.min() > trough + 0.03
    never_turning = run(TUBE, 12, offsets=Offsets(ring=offset), manner=Manner(ramp_turns=4, reverses=False)).last(2)
    assert never_turning.yarn_flow.min() < -0.3 * DELIVERY


@needs_library
@pytest.mark.parametrize("case", [FREE, PRESSED])
def test_both_routes_step_alike(case):
    ((_, rest),) = rests(positions(**case))
    rows = []
    for compiled in (True, False):
        strand, state = start_of(rest)
        offsets = np.array([3e-3, 2e-3j, 1e-3 + 1e-3j])
        strand = replace(strand, offsets=offsets, ramp=pi, stretch=1e-4, soft=0.05 * float(strand.cases.feed))
        rows.append(march(strand, Method.of(2 * pi / 64), state, 48, compiled=compiled))
    assert np.ptp(rows[0][:, SEEN.index("guide_tension")]) > 0.1
    assert np.abs(rows[0] - rows[1]).max() < 1e-6


@needs_library
def test_a_yarn_that_leaves_the_control_ring_ends_the_run_with_a_word():
    manner = Manner(ramp_turns=2, reverses=False)
    seen = run({**PRESSED, "winding_diameter": 0.018}, 4, offsets=Offsets(ring=3e-3), manner=manner)
    assert "left the control ring" in seen.stopped
    assert (seen.control_ring_bend > 0).all()


@pytest.mark.parametrize(
    ("case", "delivery", "word"), [(FREE, 0.0, "delivery_speed"), ({**FREE, "traveller_mass": 3e-6}, 0.31, "steady")]
)
def test_what_cannot_be_run_is_refused_in_words(case, delivery, word):
    with pytest.raises(Refusal, match=word):
        motion_in_time(positions(**case), delivery, 1)
