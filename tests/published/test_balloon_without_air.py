"""The balloon without air against its closed form in Jacobi elliptic functions, evaluated by scipy.

Nordmark and Essen 2007, The skipping rope curve, European Journal of Physics 28, 241, give the existence of the form
(read only as an abstract); it was derived again here.  With modulus k, k'^2 = 1 - k^2, widest radius R, axial force P:

    r(z) = R sn(u | k), u = 2 k z/(k'^2 R),  P = R^2 k'^2/(4 k^2),  T0 = R^2 (1 + k^2)/(4 k^2),  cos(alpha) = P/T0,
    yarn length to u: (R/2k) (2 E(am u, k) - k'^2 u)

in ring radii and m w^2 a^2.  A balloon past its widest place reaches the ring at u = 2K - F(arcsin(1/R), k).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, asin, cos, exp, pi, radians, sin, sqrt

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ellipe, ellipeinc, ellipj, ellipk, ellipkinc

from ringwright.physics import Outcome, Positions, kernel, solve, threads

# Height and widest radius in ring radii; the widest is the easier to miss.
BALLOONS = [(10.0, 1.2), (10.0, 1.5), (10.0, 2.0), (12.0, 1.5), (8.0, 1.5), (5.0, 1.1), (14.0, 2.2), (4.0, 1.3)]
# h, R -> k, P, T0, tension at the ring, guide angle in degrees, length: computed from the form by another hand.
COMPUTED = [
    (10, 1.2, 0.127910, 21.643548, 22.363548, 21.863548, 14.578259, 10.130462),
    (10, 1.5, 0.176913, 17.409738, 18.534738, 18.034738, 20.065141, 10.255384),
    (10, 2.0, 0.250068, 14.991308, 16.991308, 16.491308, 28.079814, 10.552079),
    (12, 1.5, 0.148413, 24.974931, 26.099931, 25.599931, 16.883662, 12.213917),
    (8, 1.5, 0.218507, 11.218797, 12.343797, 11.843797, 24.651563, 8.316287),
]


@dataclass(frozen=True)
class ClosedForm:
    """One balloon without air, past its widest place at the ring."""

    h: float
    R: float
    k: float

    @property
    def P(self):  # noqa: N802 - as the form is written
        return self.R**2 * (1 - self.k**2) / (4 * self.k**2)

    @property
    def T0(self):  # noqa: N802 - as the form is written
        return self.R**2 * (1 + self.k**2) / (4 * self.k**2)

    @property
    def alpha(self):
        return acos(self.P / self.T0)

    @property
    def slope_at_ring(self):
        """q_r/q_z where the yarn arrives; the yarn is past its widest place, so it comes inwards."""
        return -sqrt((self.T0 - 0.5) ** 2 - self.P**2) / self.P

    def u(self, z):
        return 2 * self.k * z / ((1 - self.k**2) * self.R)

    def radius(self, z):
        return self.R * ellipj(self.u(z), self.k**2)[0]

    def length(self, z):
        u = self.u(z)
        amplitude = ellipj(u, self.k**2)[3]
        return self.R / (2 * self.k) * (2 * ellipeinc(amplitude, self.k**2) - (1 - self.k**2) * u)


def closed_form(h: float, R: float) -> ClosedForm:
    def missed(k):
        arrives = 2 * ellipk(k * k) - ellipkinc(asin(1 / R), k * k)
        return 2 * k * h / ((1 - k * k) * R) - arrives

    return ClosedForm(h, R, brentq(missed, 1e-6, 1 - 1e-6, xtol=1e-16, rtol=1e-15))


def integrated(form: ClosedForm, steps: int):
    state = np.zeros((6, 1))
    state[2], state[4] = form.T0 * sin(form.alpha), form.T0 * cos(form.alpha)
    parameters = np.array([[0.0], [0.0], [0.0], [form.h]])
    return kernel.span(parameters, state, steps, 0, keep_nodes=True)


def traveller_for(form: ClosedForm, c: float, ring_friction: float, yarn_friction: float):
    """M0 of the traveller that this balloon asks for, by hand: without air there is no torque."""
    tension = form.T0 - 0.5
    q_z, q_r = form.P, form.P * form.slope_at_ring
    g = asin(c)
    winding = tension * exp(yarn_friction * acos(-q_r * cos(g) / tension))
    normal = winding * c / ring_friction
    return q_r + winding * cos(g) + sqrt(normal**2 - q_z**2)


def position_of(form: ClosedForm, c: float) -> tuple[Positions, float, float]:
    m, a, w = 21e-6, 0.0205, 15500 * 2 * pi / 60
    values = {
        "yarn_linear_density": m,
        "ring_diameter": 2 * a,
        "balloon_height": form.h * a,
        "traveller_speed": w,
        "traveller_mass": traveller_for(form, c, 0.11, 0.28) * m * a,
        "winding_diameter": 2 * a * c,
        "ring_traveller_friction": 0.11,
        "yarn_traveller_friction": 0.28,
        "fixed_tension_ratio": 0.0,
        "drag_coefficient": 0.0,
        "air_density": 1.2,
        "yarn_density": 900.0,
        "feed_speed": 0.0,
        "gravity": 0.0,
        "control_ring_diameter": 0.0,
        "control_ring_depth": 0.0,
        "control_ring_friction": 0.0,
        "gauge": np.nan,
    }
    return Positions(**{name: np.array([value]) for name, value in values.items()}), a, m * (w * a) ** 2


@pytest.mark.parametrize("row", COMPUTED)
def test_the_closed_form_itself_agrees_with_values_computed_by_another_hand(row):
    h, R, k, P, T0, at_ring, degrees, length = row
    form = closed_form(h, R)
    assert (form.k, form.P, form.T0, form.T0 - 0.5) == pytest.approx((k, P, T0, at_ring), abs=1e-6)
    assert (form.alpha, form.length(h)) == pytest.approx((radians(degrees), length), abs=1e-6)


@pytest.mark.parametrize(("h", "R"), BALLOONS)
def test_the_integrated_balloon_follows_the_closed_form_all_the_way(h, R):
    form = closed_form(h, R)
    end, nodes = integrated(form, 48)
    z = np.linspace(0, h, 49)
    assert np.hypot(nodes[:, 0, 0], nodes[:, 1, 0]) == pytest.approx(form.radius(z), abs=1e-11)
    assert nodes[:, 5, 0] == pytest.approx(form.length(z), abs=1e-11)
    assert nodes[:, 4, 0] == pytest.approx(form.P, rel=1e-12)
    assert end[2, 0] / end[4, 0] == pytest.approx(form.slope_at_ring, rel=1e-9)


@pytest.mark.parametrize(("h", "R"), BALLOONS)
@pytest.mark.parametrize("c", [0.45, 0.9])
def test_the_solver_finds_the_balloon_of_its_traveller(h, R, c):
    # All of these lie before the fold of the traveller's mass, so that they are on the taut branch.
    form = closed_form(h, R)
    position, a, force = position_of(form, c)
    found = solve(position)
    assert found.outcome[0] == Outcome.STEADY
    assert found.guide_tension[0] / force == pytest.approx(form.T0, rel=1e-8)
    assert found.ring_tension[0] / force == pytest.approx(form.T0 - 0.5, rel=1e-8)
    assert found.guide_angle[0] == pytest.approx(form.alpha, rel=1e-8)
    assert found.balloon_length[0] / a == pytest.approx(form.length(h), rel=1e-9)
    assert found.largest_radius[0] / a == pytest.approx(R, rel=1e-8)
    assert found.lag[0] == pytest.approx(0.0, abs=1e-12)


def test_the_widest_place_is_a_quarter_period_below_the_guide():
    form = closed_form(10.0, 1.5)
    position, a, _ = position_of(form, 0.6)
    quarter = ellipk(form.k**2) * (1 - form.k**2) * form.R / (2 * form.k)
    assert solve(position).largest_radius_depth[0] / a == pytest.approx(quarter, rel=1e-6)


def test_the_drawn_thread_lies_on_the_closed_form():
    form = closed_form(10.0, 1.5)
    position, a, force = position_of(form, 0.6)
    drawn = threads(position, points=40)
    assert drawn.radius[:, 0] / a == pytest.approx(form.radius(drawn.depth[:, 0] / a), abs=1e-9)
    assert drawn.tension[:, 0] / force == pytest.approx(form.T0 - (drawn.radius[:, 0] / a) ** 2 / 2, rel=1e-9)


@pytest.mark.parametrize("k", [0.1, 0.3, 0.5])
def test_a_slim_half_wave_needs_the_tension_of_a_string(k):
    # P = (h/pi)^2 for a slim half wave; the exact factor is (pi/(2 K k'))^2, which tends to 1.
    height = (1 - k * k) * ellipk(k * k) / k
    axial = (1 - k * k) / (4 * k * k)
    exact = (pi / (2 * ellipk(k * k))) ** 2 / (1 - k * k)
    assert axial / (height / pi) ** 2 == pytest.approx(exact, rel=1e-12)
    state = np.zeros((6, 1))
    T0 = (1 + k * k) / (4 * k * k)
    state[2], state[4] = sqrt(T0**2 - axial**2), axial
    end, _ = kernel.span(np.array([[0.0], [0.0], [0.0], [height]]), state, 64, 0)
    assert np.hypot(end[0, 0], end[1, 0]) == pytest.approx(0.0, abs=1e-9)
    loop = 2 * ellipe(k * k) / ((1 - k * k) * ellipk(k * k)) - 1
    assert end[5, 0] / height == pytest.approx(loop, rel=1e-11)
