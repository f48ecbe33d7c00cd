"""The laws of a flat belt or tape on a turning surface: grip, creep, bending and the load on the shaft.

Tensions here are contact tensions: the pull in the belt less the part m v2 that only keeps the belt in its curve and
presses on nothing. All functions take floats or arrays that broadcast, SI.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.physics.real import Array

__all__ = [
    "Strip", "belt_law", "bend", "bending_pull", "centrifugal_tension", "creep", "effective_radius", "grip",
    "shaft_load", "wrap_of",
]  # fmt: skip

Real = Array | float


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A belt or tape: what it weighs, how it stretches and how it bends.

    ``stiffness`` is the pull over the strain it makes, E A [N]; ``mass`` per unstretched length [kg/m];
    ``bending_stiffness`` E I [N m2]; ``neutral_height`` of the layer that keeps its length, over the running face [m];
    ``bending_loss`` the share of the bending energy of a solid strip that each bend takes for good [1].
    """

    stiffness: float
    mass: float
    bending_stiffness: float
    neutral_height: float
    bending_loss: float


def belt_law(friction: Real, wrap: Real) -> Array:
    """Return the ratio of contact tensions at which a belt just slides, exp(mu theta) [1]; wrap in rad.

    Source: Euler 1769 and Eytelwein 1808, from memory; Klein and every machine text. Contact tensions take the belt's
    own mass into account, which textbooks write as (T1 - m v2) / (T2 - m v2).
    """
    return np.asarray(np.exp(np.multiply(friction, wrap)), dtype=np.float64)


def grip(tension: Real, friction: Real, wrap: Real) -> Array:
    """Return the most pull [N] that a belt entering with a contact tension [N] can give before it slides."""
    return np.asarray(tension * np.expm1(np.multiply(friction, wrap)), dtype=np.float64)


def wrap_of(tension: Real, laid: Real, press: Real) -> Array:
    """Return the wrap [rad]: what the path of the belt gives, and what a press [N] across a belt of a tension adds.

    A force across a string turns it by 2 asin(press / 2 T); a press of 2 T or more doubles it back, pi. Statics.
    """
    across = np.clip(np.divide(press, 2 * np.asarray(tension, dtype=np.float64)), 0.0, 1.0)
    return np.asarray(laid + 2 * np.arcsin(across), dtype=np.float64)


def centrifugal_tension(mass: Real, speed: Real) -> Array:
    """Return the pull that keeps a running belt in its curves, m v2 [N]."""
    return np.asarray(mass * np.square(speed), dtype=np.float64)


def creep(pull: Real, stiffness: float) -> Array:
    """Return the speed lost to creep, as a share: a belt that gives a pull [N] shortens or stretches by pull / (E A).

    The surface goes with the belt where the belt comes on; what the belt gains in length on the way round, a driven
    surface never sees. Source: Bird 1905, as quoted by Collins; Reynolds 1874, from memory.
    """
    return np.asarray(np.divide(pull, stiffness), dtype=np.float64)


def bend(strip: Strip, tension: Real, wrap: Real, radius: Real) -> Array:
    """Return the curvature [1/m] of the belt's neutral layer on a round surface of a radius [m].

    A belt of bending stiffness B that turns by theta at one line has the curvature (theta / 2) root(T / B) there; once
    that is tighter than the surface it lies on it, at 1 / (radius + neutral height). Source: a beam under tension,
    B w'''' = T w'', w = exp(-x root(T / B)); our derivation, in the tests by integration.
    """
    lying = 1 / (np.asarray(radius, dtype=np.float64) + strip.neutral_height)
    free = np.multiply(wrap, 0.5) * np.sqrt(np.asarray(tension, dtype=np.float64) / strip.bending_stiffness)
    return np.asarray(np.minimum(lying, free), dtype=np.float64)


def effective_radius(strip: Strip, curvature: Real, radius: Real) -> Array:
    """Return the radius [m] at which the neutral layer's speed turns the surface.

    Bent with a curvature c the running face is slower than the neutral layer by c y: radius / (1 - c y), which is
    radius + y where the belt lies on the surface, and the bare radius where it passes straight.
    """
    return np.asarray(np.divide(radius, 1 - np.multiply(curvature, strip.neutral_height)), dtype=np.float64)


def bending_pull(strip: Strip, curvature: Real) -> Array:
    """Return the pull [N] that one bend to a curvature and back takes: the lost share of B c2 / 2 for each metre.

    On surfaces that it lies on this goes with 1 / radius2 and its torque with 1 / radius, as Childs and Cowburn 1987
    measured on small pulleys (abstract).
    """
    return np.asarray(strip.bending_loss * strip.bending_stiffness * np.square(curvature) / 2, dtype=np.float64)


def shaft_load(slack: Real, tight: Real, wrap: Real) -> Array:
    """Return the force [N] of a belt on a shaft: the sum of its two contact tensions, turned by the wrap [rad]."""
    both = np.square(slack) + np.square(tight) - 2 * np.multiply(slack, tight) * np.cos(wrap)
    return np.asarray(np.sqrt(np.maximum(both, 0.0)), dtype=np.float64)
