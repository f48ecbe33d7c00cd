"""Belts in print: the pull of a rope round a post, the creep of leather, losses on small pulleys."""

from __future__ import annotations

import math

import pytest

from ringwright.physics.belt import Strip, belt_law, bending_pull, creep
from ringwright.sources import Cited

CAPSTAN = Cited(1.37, "N", source="GATE-2014", where="question 43: 100 cN, friction 0.2, a quarter turn")
LEATHER_CREEP = Cited(0.01, "1", source="Bird-1905", where="creep of common leather belts should not exceed 1 %")
TIGHT, SLACK, MODULUS = (
    Cited(value, "Pa", source="Khurmi-Gupta", where="example 11.2: stresses and modulus of a leather belt")
    for value in (1.4e6, 0.5e6, 100e6)
)


def test_pull_round_a_quarter_turn_is_as_printed():
    assert 1.0 * belt_law(0.2, math.pi / 2) == pytest.approx(CAPSTAN, abs=0.005)


def test_a_leather_belt_of_a_textbook_creeps_under_the_printed_bound_and_by_hand():
    # (1.4 - 0.5) / 100 = 0.9 %, under Bird's 1 %. The textbook itself prints a formula with the roots of the stresses.
    area = 1e-3
    found = float(creep((TIGHT - SLACK) * area, MODULUS * area))
    assert found == pytest.approx(0.009)
    assert 0.5 * LEATHER_CREEP < found < LEATHER_CREEP


def test_the_torque_lost_to_bending_goes_with_one_over_the_radius():
    """Childs-Cowburn-1987, abstract: measured torque losses go about as 1 / R, on flat belts alike, R 51 to 21 mm."""
    strip = Strip(stiffness=1e5, mass=0.1, bending_stiffness=0.05, neutral_height=0.0, bending_loss=0.05)
    torque = [float(bending_pull(strip, 1 / r)) * r * r for r in (0.051, 0.036, 0.021)]
    assert torque == pytest.approx([torque[0]] * 3)
