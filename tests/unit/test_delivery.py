"""The course of delivery and the doff's time against hand arithmetic and quadrature."""

import numpy as np
import pytest
from scipy.integrate import quad

from ringwright.physics.delivery import Course, speed_at, time_at, yarn_length
from ringwright.refusal import Refusal

COURSE = Course((0.0, 0.04, 0.12, 0.9, 1.0), (0.24, 0.27, 0.30, 0.30, 0.26))


def test_a_steady_delivery_takes_length_over_speed():
    steady = Course((0.0, 1.0), (0.3, 0.3))
    assert float(time_at(steady, 1.0, 2100.0)) == pytest.approx(7000.0, rel=1e-14)
    assert float(time_at(steady, 0.25, 2100.0)) == pytest.approx(1750.0, rel=1e-14)


def test_a_doff_of_30s_yarn_takes_content_over_production():
    # 30 Ne at TM 3.9 and 18,000 rpm: tpi = 3.9 sqrt(30) = 21.361, delivery 18000/21.361 = 842.6 in/min = 0.35672 m/s,
    # 590.54/30 = 19.685 tex, so 25.28 g/h; 48.87 g then take 1.933 h
    linear_density = 590.54 / 30 * 1e-6
    speed = 18000 / (3.9 * 30**0.5) * 0.0254 / 60
    length = float(yarn_length(48.87e-3, linear_density))
    assert speed * linear_density * 3600e3 == pytest.approx(25.28, abs=0.005)
    assert float(time_at(Course((0.0, 1.0), (speed, speed)), 1.0, length)) / 3600 == pytest.approx(1.933, abs=0.0005)


def test_time_through_changing_speeds_agrees_with_quadrature():
    for share in (0.0, 0.02, 0.04, 0.5, 0.97, 1.0):
        wanted = quad(lambda x: 2000.0 / float(speed_at(COURSE, x)), 0, share, points=[0.04, 0.12, 0.9], epsrel=1e-12)[
            0
        ]
        assert float(time_at(COURSE, share, 2000.0)) == pytest.approx(wanted, rel=1e-10, abs=1e-12)


def test_one_straight_rise_takes_length_over_the_logarithmic_mean():
    # from 0.2 to 0.4 m/s over 100 m: 100 ln 2 / 0.2 s
    assert float(time_at(Course((0.0, 1.0), (0.2, 0.4)), 1.0, 100.0)) == pytest.approx(500 * np.log(2), rel=1e-14)


def test_speeds_lie_on_the_straight_lines():
    assert speed_at(COURSE, np.array([0.0, 0.02, 0.08, 0.5, 0.95, 1.0])) == pytest.approx(
        [0.24, 0.255, 0.285, 0.30, 0.28, 0.26]
    )


def test_a_speed_may_change_at_once():
    step = Course((0.0, 0.5, 0.5, 1.0), (0.2, 0.2, 0.4, 0.4))
    assert speed_at(step, np.array([0.25, 0.5, 0.75])) == pytest.approx([0.2, 0.4, 0.4])
    assert float(time_at(step, 1.0, 100.0)) == pytest.approx(50 / 0.2 + 50 / 0.4)


def test_a_course_that_cannot_be_run_is_refused_with_every_fault():
    with pytest.raises(Refusal) as refusal:
        Course((0.0, 0.6, 0.4), (0.3, -0.1))
    assert len(refusal.value.faults) == 3
    assert "must be more than 0 m/s throughout" in str(refusal.value)
