"""Our rotor against a general library of rotordynamics, on a spindle with a full cop.

The values were made once by experiments/rotor_oracle.py with ross-rotordynamics 2.3.0; that library brings 1.2 GB with
it and is not installed for the tests.
"""

from __future__ import annotations

import numpy as np
import pytest

from ringwright.physics.rotor import Lump, Shaft, Spread, Support, system
from ringwright.physics.whirl import critical_speeds, unbalance_response, whirl

RPM = np.pi / 30
YOUNG, RIGIDITY, DENSITY, KAPPA = 206e9, 79e9, 7850.0, 0.8866571018651362
PARTS = ((4, 0.025, 0.0065), (2, 0.0175, 0.009), (6, 0.030, 0.0105))
COP = (0.008, 0.014, 0.016, 0.016, 0.014, 0.008)
SUPPORTS = (Support(node=0, stiffness=4e4, damping=78.0), Support(node=4, stiffness=1e6, damping=40.0))

# ross-rotordynamics 2.3.0: damped frequency [rad/s], + forward, - backward; logarithmic decrement.
AT_REST = ((224.23191491896543, 0.6359742073357779), (2570.4134066081, 0.2233217056992676),
           (4455.5378834838575, 0.3983989962106742))  # fmt: skip
AT_16000_RPM = (
    (-220.5346795165243, 0.6383450439453472), (227.9861841390505, 0.6333425490368947),
    (-2557.8512258544265, 0.21902539863742423), (2582.8477357982456, 0.22760436093851197),
    (-4420.885958449868, 0.4061240649924655), (4490.418625153259, 0.39078666383057575),
)  # fmt: skip
# The same: displacement of the top [m] under 1 g mm at node 10, at 1500, 2600 and 16000 rpm.
AT_THE_TOP = (7.80198824927287e-06 - 2.163059019283952e-06j, -2.240017609550154e-05 - 1.1779928547918218e-05j,
              -9.453964088869763e-06 - 1.1590482012094516e-07j)  # fmt: skip


@pytest.fixture(scope="module")
def spindle():
    lengths = np.concatenate([np.full(many, length) for many, length, _ in PARTS])
    thick = np.concatenate([np.full(many, diameter) for many, _, diameter in PARTS])
    area, second = np.pi / 4 * thick**2, np.pi / 64 * thick**4
    shaft = Shaft(heights=np.concatenate([[0.0], np.cumsum(lengths)]), bending=YOUNG * second,
                  shear=KAPPA * RIGIDITY * area)  # fmt: skip
    turn = np.repeat(DENSITY * second[:, None], 4, axis=1)
    own = Spread(mass=np.repeat(DENSITY * area[:, None], 4, axis=1), diametral=turn, polar=2 * turn)
    lumps = [Lump(node=4, mass=0.07, diametral=8.2e-6, polar=6.4e-6)]
    lumps += [
        Lump(node=7 + k, mass=m, diametral=m * (0.016**2 / 4 + 0.03**2 / 12), polar=m * 0.016**2 / 2)
        for k, m in enumerate(COP)
    ]
    return system(shaft, own, lumps, SUPPORTS)


def test_whirls_at_rest_are_those_of_the_library_in_both_senses(spindle):
    found = whirl(spindle, 0.0, 6)
    expected = [one for one, _ in AT_REST for _ in range(2)]
    assert np.abs(found.frequency) == pytest.approx(expected, rel=1e-6)
    assert found.decrement == pytest.approx([d for _, d in AT_REST for _ in range(2)], rel=1e-6)


def test_whirls_at_speed_are_those_of_the_library_with_sense_and_decrement(spindle):
    found = whirl(spindle, 16000 * RPM, 6)
    assert found.frequency == pytest.approx([f for f, _ in AT_16000_RPM], rel=1e-6)
    assert found.decrement == pytest.approx([d for _, d in AT_16000_RPM], rel=1e-6)


def test_the_answer_to_unbalance_is_that_of_the_library_in_size_and_phase(spindle):
    pull = np.zeros(26)
    pull[20] = 1e-6
    moved = unbalance_response(spindle, pull, np.array([1500.0, 2600.0, 16000.0]) * RPM)[:, 24]
    assert moved == pytest.approx(np.array(AT_THE_TOP), rel=1e-6)


def test_a_critical_speed_is_where_the_forward_whirl_meets_the_spin(spindle):
    # Without damping, and found another way: by following the forward whirl until it is as fast as the spin.
    still = system_without_damping(spindle)
    for critical in critical_speeds(still, 2):
        frequencies = whirl(still, float(critical), 8).frequency
        assert np.min(np.abs(frequencies / critical - 1)) < 1e-7


def system_without_damping(of):
    return type(of)(mass=of.mass, polar=of.polar, damping=0 * of.damping, stiffness=of.stiffness)
