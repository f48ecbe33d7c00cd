"""The traveller's forces in the plane of the ring, by hand formula: a quick estimate beside the solved balloon.

It leaves out the balloon's drag and its pull on the traveller, and comes out low for that: by some 5 to 20 % against
a solved position.
"""

from __future__ import annotations

import numpy as np

from ringwright.physics.real import Real

__all__ = [
    "centrifugal_force",
    "winding_angle",
    "winding_ratio",
    "winding_tension",
    "winding_tension_roughly",
    "wrap_for_ratio",
]


def centrifugal_force(traveller_mass: Real, traveller_speed: Real, ring_diameter: float) -> Real:
    """Return the traveller's centrifugal force [N] from mass [kg], speed [rad/s] and ring diameter [m]: M w^2 D / 2."""
    return traveller_mass * traveller_speed**2 * (ring_diameter / 2)


def winding_angle(winding_diameter: Real, ring_diameter: float) -> Real:
    """Return the angle [rad] between the wound yarn and the ring's radius at the traveller; sin = d / D.

    Range: yarn straight from traveller to cop, touching it; winding diameter below ring diameter.
    """
    angle: Real = np.arcsin(winding_diameter / ring_diameter)
    return angle


def winding_tension(centrifugal_force: Real, winding_angle: Real, friction: float) -> Real:
    """Return the winding tension [N] from centrifugal force [N], winding angle [rad], ring friction coefficient [1].

    F = mu F_Z / (sin a + mu cos a): friction on the ring holds the traveller back, the pull inwards lightens it.
    Source: Krause, as quoted by Klein 1987, conditions at the traveller in the plane of the ring.
    """
    tension: Real = friction * centrifugal_force / (np.sin(winding_angle) + friction * np.cos(winding_angle))
    return tension


def winding_tension_roughly(centrifugal_force: Real, winding_angle: Real, friction: float) -> Real:
    """Return the winding tension [N] with the inward pull left out: mu F_Z / sin a, always the higher of the two."""
    tension: Real = friction * centrifugal_force / np.sin(winding_angle)
    return tension


def winding_ratio(friction: float, wrap: Real) -> Real:
    """Return winding tension over balloon tension [1], from yarn friction [1] and angle of wrap [rad]: exp(mu wrap).

    The capstan law; thin, limp yarn that slips all along the wrap. Source: GATE TF 2014, question 43.
    """
    ratio: Real = np.exp(friction * wrap)
    return ratio


def wrap_for_ratio(ratio: Real, friction: float) -> Real:
    """Return the angle of wrap [rad] that gives a winding ratio [1] at a yarn friction [1]."""
    wrap: Real = np.log(ratio) / friction
    return wrap
