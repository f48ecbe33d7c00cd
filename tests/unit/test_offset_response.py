"""What a part off the spindle's axis does once per turn, against routes that share nothing with the answer."""

from __future__ import annotations

import numpy as np
import pytest
from sample_positions import WITH_CONTROL_RING, positions

from ringwright.physics import Outcome, solve
from ringwright.physics.motion import offset_response

DELIVERY = 0.31
TENSIONS = ("guide_tension", "ring_tension", "winding_tension")
CASES = [
    pytest.param({"balloon_height": 0.120}, id="short"),
    pytest.param({"winding_diameter": 0.018}, id="tube"),
    pytest.param(WITH_CONTROL_RING, id="control ring"),
]


def heavy(**changes):
    return positions(**{"traveller_mass": 45e-6, **changes})


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("quantity", [*TENSIONS, "yarn_flow", "control_ring_bend"])
def test_all_parts_and_the_spindle_moved_together_are_no_offset(case, quantity):
    response = offset_response(heavy(**case, feed_speed=DELIVERY))
    parts = [getattr(getattr(response, part), quantity)[0] for part in ("ring", "guide", "control_ring", "spindle")]
    assert abs(sum(parts)) <= 1e-11 * max(map(abs, parts))


@pytest.mark.parametrize("case", CASES)
def test_the_quasi_static_estimate_is_the_slope_of_the_steady_solver(case):
    # A ring moved outwards under the traveller is, to that moment's balance, a larger ring with the same cop, on which
    # the traveller's centrifugal force stays as it was.  The real part is the offset along the traveller's radius.
    move = 1e-6

    def larger(by):
        radius = 0.020 + by
        return solve(heavy(**case, ring_diameter=2 * radius, traveller_mass=45e-6 * 0.020 / radius))

    ring = offset_response(heavy(**case)).ring
    out, inward = larger(move), larger(-move)
    for tension in TENSIONS:
        slope = (getattr(out, tension)[0] - getattr(inward, tension)[0]) / (2 * move)
        assert getattr(ring, f"still_{tension}")[0].real == pytest.approx(slope, rel=1e-6)


@pytest.mark.parametrize("case", CASES)
def test_twice_as_many_pieces_change_nothing(case):
    coarse = offset_response(heavy(**case), DELIVERY)
    fine = offset_response(heavy(**case), DELIVERY, pieces=256)
    for tension in TENSIONS:
        assert getattr(coarse.ring, tension)[0] == pytest.approx(getattr(fine.ring, tension)[0], rel=1e-6)


def test_the_quasi_static_estimate_is_several_times_too_small_for_a_ring_off_centre():
    across_the_doff = positions(winding_diameter=np.linspace(0.018, 0.036, 7), **WITH_CONTROL_RING)
    ring = offset_response(across_the_doff, DELIVERY).ring
    assert (np.abs(ring.guide_tension) > 3 * np.abs(ring.still_guide_tension)).all()


def test_the_limit_is_where_the_flow_swings_by_all_that_is_delivered():
    response = offset_response(heavy(), DELIVERY)
    limit = response.valid_below("ring")[0]
    assert limit * abs(response.ring.yarn_flow[0]) == pytest.approx(DELIVERY)
    assert response.reversal(ring=limit, guide=0, control_ring=0)[0] == pytest.approx(1)
    assert offset_response(heavy(), 2 * DELIVERY).valid_below("ring")[0] == pytest.approx(2 * limit)
    assert np.isnan(offset_response(heavy()).valid_below("ring")[0])


def test_an_offset_a_quarter_turn_on_moves_the_tension_a_quarter_turn_later():
    response = offset_response(heavy(**WITH_CONTROL_RING), DELIVERY)
    along = response.together("guide_tension", ring=1e-4, guide=0, control_ring=2e-4)
    across = response.together("guide_tension", ring=1e-4j, guide=0, control_ring=2e-4j)
    assert across[0] == pytest.approx(-1j * along[0])
    by_hand = 1e-4 * response.ring.guide_tension[0] + 2e-4 * response.control_ring.guide_tension[0]
    assert along[0] == pytest.approx(by_hand)


def test_a_control_ring_that_the_balloon_does_not_touch_does_nothing():
    wide = {**WITH_CONTROL_RING, "balloon_height": 0.160, "control_ring_depth": 0.08, "control_ring_diameter": 0.2}
    with_ring, without = offset_response(heavy(**wide), DELIVERY), offset_response(heavy(), DELIVERY)
    assert with_ring.control_ring.guide_tension[0] == 0
    assert with_ring.pressed_below("control_ring")[0] == np.inf
    assert with_ring.ring.guide_tension[0] == pytest.approx(without.ring.guide_tension[0], rel=1e-6)


def test_a_position_without_a_steady_balloon_has_no_response():
    given = positions(traveller_mass=np.array([45e-6, 5e-6]))
    assert solve(given).outcome[1] != Outcome.STEADY
    response = offset_response(given, DELIVERY)
    assert response.steady.tolist() == [True, False]
    assert np.isfinite(response.ring.guide_tension[0])
    assert np.isnan(response.ring.guide_tension[1])
    assert np.isnan(response.valid_below("ring")[1])
