"""The turn over the guide eyelet against hand arithmetic, plain vectors and quadrature."""

import numpy as np
import pytest
from scipy.integrate import quad

from ringwright.physics.spinning_angle import angle_to_vertical, triangle_tension, wrap_angle


def by_vectors(lean, guide_angle, azimuth):
    above = np.array([-np.sin(lean), 0.0, -np.cos(lean)])
    below = np.array(
        [np.sin(guide_angle) * np.cos(azimuth), np.sin(guide_angle) * np.sin(azimuth), -np.cos(guide_angle)]
    )
    return np.arctan2(np.linalg.norm(np.cross(above, below)), above @ below)


def test_a_nip_as_far_aside_as_above_leans_the_yarn_by_45_degrees():
    assert float(np.degrees(angle_to_vertical(0.05, 0.05))) == pytest.approx(45.0)


def test_the_turn_is_the_angle_between_the_two_directions():
    for lean, guide_angle, azimuth in (
        (0.3, 0.5, 0.0),
        (0.3, 0.5, 1.1),
        (0.3, 0.3, 3.1),
        (0.0, 0.7, 2.0),
        (0.6, 0.1, np.pi),
    ):
        assert float(wrap_angle(lean, guide_angle, azimuth)) == pytest.approx(by_vectors(lean, guide_angle, azimuth))


def test_the_turn_is_most_on_the_nip_side_and_least_opposite():
    assert float(wrap_angle(0.3, 0.5, 0.0)) == pytest.approx(0.8)
    assert float(wrap_angle(0.3, 0.5, np.pi)) == pytest.approx(0.2)


def test_yarn_straight_through_the_eyelet_loses_no_tension():
    tension = triangle_tension(0.3, 0.4, 0.4, 0.2)
    assert float(tension.most) == pytest.approx(0.3, rel=1e-12)


def test_a_nip_on_the_axis_gives_one_turn_all_round():
    # every azimuth turns by the guide angle 0.5, so 0.30 N above 0.2 friction is 0.30 exp(-0.1) = 0.27145 N
    tension = triangle_tension(0.30, 0.5, 0.0, 0.2)
    assert float(tension.mean) == pytest.approx(0.27145, abs=5e-6)
    assert float(tension.least) == pytest.approx(float(tension.most), rel=1e-12)


def test_rope_friction_by_a_quarter_turn_is_the_textbook_factor():
    # 90 degrees at friction 0.2: exp(0.2 pi/2) = 1.3691; GATE examination 2014, 100 cN becomes 1.37 N
    assert 1.0 / float(triangle_tension(1.0, np.pi / 2, 0.0, 0.2).mean) == pytest.approx(1.37, abs=0.005)


@pytest.mark.parametrize(("lean", "guide_angle"), [(0.35, 0.5), (0.5, 0.5), (0.2, 1.2), (0.0, 0.4), (1.0, 0.02)])
def test_the_mean_over_a_revolution_agrees_with_quadrature(lean, guide_angle):
    whole = quad(lambda f: np.exp(-0.25 * by_vectors(lean, guide_angle, f)), 0, 2 * np.pi, points=[np.pi], epsrel=1e-12)
    mean = float(triangle_tension(1.0, guide_angle, lean, 0.25).mean)
    assert mean == pytest.approx(whole[0] / (2 * np.pi), rel=1e-6)


def test_arrays_keep_their_shape():
    tension = triangle_tension(np.full((3, 4), 0.3), np.linspace(0.1, 1.0, 4), 0.3, 0.2)
    assert tension.mean.shape == tension.least.shape == tension.most.shape == (3, 4)
