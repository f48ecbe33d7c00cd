"""Where the moving yarn touches: the traveller on the ring, the wind-on yarn to the cop, and the control ring.

Everything is dimensionless (ring radii, m w^2 a^2, traveller's angular speed) and in the traveller's frame.  The
functions are smooth in their arguments, complex ones too, so that slopes come from complex steps without loss.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ringwright.physics.cases import Cases
from ringwright.physics.motion.waves import Complex
from ringwright.physics.real import Array

__all__ = ["At", "slopes", "through_control_ring", "traveller", "wind_on"]

STEP = 1e-30
"""Complex step: any size below the root of the rounding serves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class At:
    """Where a traveller is and how it moves, each (n,) or (n, k); ``force`` and ``place`` carry a last axis of 3."""

    force: Complex
    """(T - flow^2) t at the balloon's end: the flow is the one that passes the traveller."""
    place: Complex
    """Traveller from the spindle's axis."""
    angle: Complex
    """Its azimuth about the ring's centre, in the traveller's frame."""
    turning: Complex
    """Rate of that azimuth: the traveller's speed is 1 + turning."""
    flow: Complex
    """Yarn that passes through the traveller, u at rest."""
    sense: Complex
    """Sense of that flow as friction feels it: +1 on to the cop, -1 backwards."""


def _dot(a: Complex, b: Complex) -> Complex:
    product: Complex = np.sum(a * b, axis=-1)
    return product


def wind_on(cop: Array, place: Complex) -> Complex:
    """Give the direction of the straight yarn from the traveller to the cop of radius ``cop``, tangent to it."""
    x, y = place[..., 0], place[..., 1]
    square = x * x + y * y
    straight = np.sqrt(square - cop * cop)
    inward, forward = -straight / square, cop / square
    return np.stack([inward * x - forward * y, inward * y + forward * x, np.zeros_like(x)], axis=-1)


def traveller(cases: Cases, at: At) -> tuple[Complex, Complex, Complex, Complex]:
    """Give tangential force missing for steady sliding, ring tension, winding tension, and the ring's normal force.

    The first is -M0 times the acceleration along the ring: q_t - W t_w.e_t + mu_R sqrt(N_r^2 + q_z^2), with
    N_r = M0 (1 + turning)^2 - q_r + W t_w.e_n and W = |q| exp(sense mu_y phi), or K^sense |q|.
    """
    cosine, sine = np.cos(at.angle), np.sin(at.angle)
    outward = np.stack([cosine, sine, np.zeros_like(cosine)], axis=-1)
    forward = np.stack([-sine, cosine, np.zeros_like(cosine)], axis=-1)
    pull = at.force
    tension = np.sqrt(_dot(pull, pull))
    wind = wind_on(cases.cop, at.place)
    wrap = np.arccos(_dot(pull, wind) / tension)
    by_wrap = cases.fixed_ratio <= 0.0
    grip = np.where(by_wrap, cases.yarn_friction * wrap, np.log(np.where(by_wrap, 1.0, cases.fixed_ratio)))
    winding = tension * np.exp(at.sense * grip)
    radial = cases.mass * (1.0 + at.turning) ** 2 - _dot(pull, outward) + winding * _dot(wind, outward)
    normal = np.sqrt(radial**2 + pull[..., 2] ** 2)
    missing = _dot(pull, forward) - winding * _dot(wind, forward) + cases.ring_friction * normal
    return missing, tension + at.flow**2, winding + at.flow**2, normal


def through_control_ring(cases: Cases, force: Complex, azimuth: Complex, bend: Complex, slip: Complex) -> Complex:
    """Pass the force (n, 3) through a control ring on whose circle the contact lies at ``azimuth``.

    The meridian part turns outwards by ``bend``; friction acts against the sliding of the yarn on the wire, which is
    along the wire but for ``slip`` (along the yarn, over along the wire).  At slip 0 this is the steady law.
    """
    cosine, sine = np.cos(azimuth), np.sin(azimuth)
    q_r, q_t = cosine * force[..., 0] + sine * force[..., 1], cosine * force[..., 1] - sine * force[..., 0]
    meridian = np.sqrt(q_r * q_r + force[..., 2] ** 2)
    # Along the meridian the wire drags with slip times the yarn's share of the meridian, integrated over the bend.
    lean = q_t / meridian
    gain = 1.0 + slip * (np.arcsinh(lean + cases.control_friction * bend) - np.arcsinh(lean))
    turned_r = gain * (q_r * np.cos(bend) + force[..., 2] * np.sin(bend))
    turned_z = gain * (force[..., 2] * np.cos(bend) - q_r * np.sin(bend))
    new_t = q_t + cases.control_friction * meridian * bend
    return np.stack([cosine * turned_r - sine * new_t, sine * turned_r + cosine * new_t, turned_z], axis=-1)


def slopes(function: Callable[[Complex], Complex], at: Complex) -> Array:
    """Give d(function)/d(argument) at the real arguments ``at`` (n, m) by complex steps: (n, ..., m)."""
    parts = []
    for column in range(at.shape[-1]):
        moved = at.astype(complex)
        moved[:, column] += 1j * STEP
        parts.append(np.imag(function(moved)) / STEP)
    return np.stack(parts, axis=-1)
