"""The traveller's balance: what mass a balloon asks for, and the wind-on tension.

The traveller is a point mass pressed on the ring; the wind-on yarn is straight, in the ring's plane and tangent to
the cop; friction acts where it rubs the ring and where the yarn wraps round it.  For a balloon that arrives with the
force q (q_r outward, q_t forward, q_z down), with c = cop radius / ring radius = sin g:

    |q| = T_L,  cos phi = (-q_r cos g + q_t sin g)/T_L,  T_w = T_L exp(mu_y phi)  (or T_w = K T_L)
    mu_R N = T_w sin g - q_t,  N^2 = N_r^2 + q_z^2,  M0 = q_r + T_w cos g + N_r.

Everything is dimensionless; with feed, T stands for T - u^2.  Derived in docs/explanation/balloon.md.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.physics.cases import Array, Cases
from ringwright.physics.triples import dot, length

__all__ = ["Balance", "balance"]

_TINY = 1e-30


@dataclass(frozen=True, slots=True)
class Balance:
    """The balance at the traveller for each case; slopes are (3, n), by (q_r, q_t, q_z)."""

    ring_tension: Array
    winding_tension: Array
    wrap: Array
    normal: Array
    mass: Array
    """M0 that this balloon asks for; past lift-off, that of a traveller which just no longer presses."""
    mass_slope: Array
    residual: Array
    """Friction balance for the case's own traveller mass, over that mass; nought at a solution."""
    residual_slope: Array


def balance(cases: Cases, q: Array) -> Balance:
    """Work out the balance for the forces q (3, n): rows q_r, q_t, q_z at the traveller."""
    sine = cases.cop
    cosine = np.sqrt(1.0 - sine * sine)
    ring_tension = length(q)
    direction = q / ring_tension
    wind = np.stack([-cosine, sine, np.zeros_like(sine)])
    cos_wrap = np.clip(dot(direction, wind), -1.0, 1.0)
    wrap = np.arccos(cos_wrap)
    by_wrap = cases.fixed_ratio <= 0.0
    winding = ring_tension * np.where(by_wrap, np.exp(cases.yarn_friction * wrap), cases.fixed_ratio)
    # d(wrap)/dq is bounded except where the yarn runs straight through the traveller.
    wrap_slope = -(wind - cos_wrap * direction) / (ring_tension * np.maximum(np.sin(wrap), _TINY))
    winding_slope = winding * (direction / ring_tension + np.where(by_wrap, cases.yarn_friction, 0.0) * wrap_slope)

    q_r, q_t, q_z = q
    normal = (winding * sine - q_t) / cases.ring_friction
    normal_slope = sine * winding_slope / cases.ring_friction
    normal_slope[1] -= 1.0 / cases.ring_friction
    with np.errstate(invalid="ignore", divide="ignore"):
        # Past lift-off N_r is held at nought, so that the mass stays defined and continuous there.
        radial = np.sqrt(np.maximum(normal * normal - q_z * q_z, 0.0))
        mass_slope = cosine * winding_slope + normal * normal_slope / radial
        mass_slope[0] += 1.0
        mass_slope[2] -= q_z / radial

    own_radial = cases.mass - q_r - winding * cosine
    own_normal = np.sqrt(own_radial**2 + q_z**2)
    residual = (winding * sine - q_t - cases.ring_friction * own_normal) / cases.mass
    pull = cases.ring_friction / own_normal
    residual_slope = sine * winding_slope + pull * own_radial * cosine * winding_slope
    residual_slope[0] += pull * own_radial
    residual_slope[1] -= 1.0
    residual_slope[2] -= pull * q_z
    return Balance(
        ring_tension=ring_tension,
        winding_tension=winding,
        wrap=wrap,
        normal=normal,
        mass=q_r + winding * cosine + radial,
        mass_slope=mass_slope,
        residual=residual,
        residual_slope=residual_slope / cases.mass,
    )
