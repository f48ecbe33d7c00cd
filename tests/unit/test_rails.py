"""Rails against hand arithmetic and quadrature."""

import numpy as np
import pytest
from scipy.integrate import quad

from ringwright.physics.rails import Rail, fixed, rail_height, stroke_share, yarn_share_laid

RISE = 2 / 3
GUIDE = Rail(height=0.200, climb=0.120, stroke=0.015)


def test_a_rail_climbs_with_the_foot_and_moves_with_the_stroke():
    # 200 + 120/2 + 15/5 = 263 mm
    assert float(rail_height(GUIDE, 0.5, 0.2)) == pytest.approx(0.263, rel=1e-14)
    assert rail_height(GUIDE, np.array([[0.0], [1.0]]), np.array([0.0, 1.0])) == pytest.approx(
        np.array([[0.200, 0.215], [0.320, 0.335]])
    )


def test_a_fixed_rail_stays_where_it_starts():
    assert rail_height(fixed(GUIDE), np.array([0.0, 0.7]), 1.0) == pytest.approx([0.200, 0.200])


def test_the_stroke_begins_and_ends_at_its_foot_and_turns_at_the_top():
    assert stroke_share(np.array([0.0, RISE, 1.0]), RISE, 0.037, 0.019) == pytest.approx([0.0, 1.0, 0.0], abs=1e-15)


def test_the_yarn_laid_below_a_height_follows_the_winding_circumference():
    for share in (0.1, 0.5, 0.9):
        below = quad(lambda x: 0.037 - 0.018 * x, 0, share)[0] / quad(lambda x: 0.037 - 0.018 * x, 0, 1)[0]
        assert float(yarn_share_laid(share, 0.037, 0.019)) == pytest.approx(below, rel=1e-12)
        assert float(stroke_share(below * RISE, RISE, 0.037, 0.019)) == pytest.approx(share, rel=1e-12)


def test_half_the_yarn_of_a_rise_on_a_two_to_one_cone_lies_below_0_419_of_the_stroke():
    # d1 = d0/2: y = (x - x^2/4) / 0.75; for y = 1/2, x^2/4 - x + 0.375 = 0, x = 2 - sqrt(2.5) = 0.41886
    assert float(stroke_share(RISE / 2, RISE, 0.038, 0.019)) == pytest.approx(2 - 2.5**0.5, rel=1e-12)


def test_at_constant_delivery_the_rail_moves_twice_as_fast_at_the_top_as_at_the_foot():
    # diameters two to one; Klein, Manual of Textile Technology, the formation of the conical layers: "twice"
    step = 1e-6
    low = stroke_share(step, RISE, 0.038, 0.019)
    high = 1 - stroke_share(RISE - step, RISE, 0.038, 0.019)
    assert float(high / low) == pytest.approx(2.0, rel=1e-4)


def test_the_fall_is_quicker_than_the_rise_by_the_share_of_the_yarn():
    # two thirds on the rise: the same height is passed at half the distance in phase from the turning point
    assert float(stroke_share(RISE - 0.2, RISE, 0.037, 0.019)) == pytest.approx(
        float(stroke_share(RISE + 0.1, RISE, 0.037, 0.019)), rel=1e-12
    )


def test_on_a_plain_cylinder_the_rail_moves_at_one_speed():
    assert stroke_share(np.array([0.1, 0.3, 0.5]), 0.5, 0.02, 0.02) == pytest.approx([0.2, 0.6, 1.0])
