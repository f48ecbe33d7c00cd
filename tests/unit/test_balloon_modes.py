"""Growth rates: nought at the fold, those of a plain whirling string where it is taut, and the growth seen in time."""

from __future__ import annotations

import json
from dataclasses import replace
from math import pi
from pathlib import Path

import numpy as np
import pytest
from sample_positions import WITH_CONTROL_RING, positions

from ringwright.physics.cases import Cases
from ringwright.physics.family import correct
from ringwright.physics.motion import modes
from ringwright.physics.motion.modes import modes_at_rest
from ringwright.physics.motion.moment import SEEN
from ringwright.physics.motion.rest import Rest, at_rest
from ringwright.physics.motion.running import start_of
from ringwright.physics.motion.stepping import Method, march
from ringwright.physics.motion.strand import sizes
from ringwright.physics.outcome import Outcome
from ringwright.physics.taut import Found, find

AUTHORITY = Path(__file__).parents[2] / "authorities" / "independent-balloon"
LIMITS = json.loads((AUTHORITY / "limits.json").read_text(encoding="utf-8"))["cases"]
FOLDS = [
    pytest.param(case, id=f"h {case['h']}, p0 {case['p0']}, c {case['c']}")
    for case in LIMITS
    if (case.get("end") or {}).get("kind") == "fold" and case["h"] <= 8
]
TURN = 2 * pi


def dimensionless(case, mass: float) -> Cases:
    values = dict.fromkeys(Cases.__slots__, 0.0)
    values |= {"height": case["h"], "drag": case["p0"] / 16, "cop": case["c"], "mass": mass}
    values |= {"ring_friction": 0.1, "yarn_friction": 0.3, "wall": float("nan")}
    return Cases(**{name: np.array([float(value)]) for name, value in values.items()})


def solved(case, mass: float) -> tuple[Cases, Found]:
    cases = dimensionless(case, mass)
    found = find(cases)
    assert found.outcome[0] == Outcome.STEADY
    return cases, found


def beyond_the_fold(case, reach: float) -> Rest:
    """The balloon a little further along the curve than the fold, where the mass rises again."""
    cases, found = solved(case, case["end"]["M0"] * (1 + 1e-6))
    point = found.point
    there = correct(cases, point.w + reach * point.ahead, point.ahead, point.contact, np.full(1, 64))
    assert there.good[0]
    assert there.slope[0] > 0
    return at_rest(replace(cases, mass=there.mass), there)


@pytest.mark.parametrize("case", FOLDS)
def test_the_slowest_motion_stops_dying_away_at_the_fold_as_the_root_of_the_distance(case):
    # A fold is a saddle and a node that meet: the rate goes as the root of the mass left, by hand.
    near, nearer = (modes_at_rest(at_rest(*_rest_at(case, share)), 1)[0] for share in (1e-4, 1e-6))
    assert near.imag == pytest.approx(0, abs=1e-6)
    assert near.real < nearer.real < 0
    assert near.real / nearer.real == pytest.approx(10, rel=0.2)
    assert modes_at_rest(beyond_the_fold(case, 0.02), 1)[0].real > 0


def _rest_at(case, share):
    cases, found = solved(case, case["end"]["M0"] * (1 + share))
    return cases, found.point


@pytest.mark.parametrize(("height", "agrees"), [(20, 0.08), (60, 0.012)])
def test_a_taut_string_without_air_whirls_as_the_closed_form_says(height, agrees):
    # A string of even tension T and length L with fixed ends turns at n pi root(T)/L either way; the frame turns at 1.
    # The balloon becomes that string as it grows tall and the traveller heavy, with an error of about 1/h.
    case = {"h": height, "p0": 0, "c": 0.5}
    cases, found = solved(case, 250.0 * height**1.5)
    rest = at_rest(cases, found.point)
    tension = np.linalg.norm(rest.spans[0].force[0], axis=1).mean()
    first = pi * np.sqrt(tension) / rest.spans[0].length[0, -1]
    expected = [n * first + turn for n in (1, 2, 3) for turn in (-1, 1)]
    seen = modes_at_rest(rest, 6)
    assert seen.imag == pytest.approx(expected, rel=agrees)
    assert np.abs(seen.real).max() < 0.02


@pytest.mark.parametrize("reach", [0.005, 0.02])
def test_just_beyond_the_fold_the_motion_in_time_grows_as_the_rate_says(reach):
    case = next(case for case in LIMITS if (case["h"], case["p0"], case["c"]) == (8, 2, 0.9))
    rest = beyond_the_fold(case, reach)
    rate = modes_at_rest(rest, 1)[0].real
    strand, state = start_of(rest)
    state.z[sizes(strand)[0] - 1] += 1e-6
    steps = 64
    seen = march(strand, Method.of(TURN / steps, 0.6), state, 12 * steps)
    moved = np.diff(seen[steps - 1 :: steps, SEEN.index("angle")])  # from turn to turn
    growth = np.log(moved[7] / moved[5]) / (2 * TURN)
    assert growth == pytest.approx(rate, rel=0.01)


@pytest.mark.parametrize("case", [{}, {"winding_diameter": 0.018}, WITH_CONTROL_RING])
def test_two_routes_find_the_same_slow_motions_and_they_die_away(case):
    # A rate on which the grid and the passage along the yarn do not agree is nan.
    seen = modes(positions(**case, feed_speed=0.31), 5)
    assert np.isfinite(seen.rates).all()
    assert (seen.rates.real < 0).all()
    assert seen.growth[0] == seen.rates.real.max()


def test_a_position_without_a_steady_balloon_has_no_rates():
    assert np.isnan(modes(positions(traveller_mass=5e-6), 2).rates).all()
