"""The traveller's speed, its lag behind the spindle, and the twist that is missing until the yarn leaves the cop."""

from __future__ import annotations

import numpy as np

from ringwright.physics.real import Real

__all__ = ["missing_twist", "rubbing_speed", "traveller_lag", "traveller_speed", "winding_speed"]


def winding_speed(delivery_speed: Real, contraction: float = 0.0) -> Real:
    """Return the speed at which yarn is wound [m/s] from the front rollers' [m/s]: v (1 - C)."""
    return delivery_speed * (1 - contraction)


def traveller_lag(winding_speed: Real, winding_diameter: Real) -> Real:
    """Return how much slower than the spindle the traveller turns [rad/s], from winding speed [m/s] and diameter [m].

    lag = 2 v / d: the difference winds the yarn up. Range: a mean over strokes, the rail's own speed left out.
    Source: Klein 1987, the winding principle: n_T = n_spindle - L / (pi d).
    """
    return 2 * winding_speed / winding_diameter


def traveller_speed(spindle_speed: Real, winding_speed: Real, winding_diameter: Real) -> Real:
    """Return the traveller's speed [rad/s] from the spindle's [rad/s], the winding speed [m/s] and diameter [m]."""
    return spindle_speed - traveller_lag(winding_speed, winding_diameter)


def missing_twist(winding_diameter: Real) -> Real:
    """Return the twist [turns/m] that yarn on the cop lacks against spindle turns, by winding diameter [m].

    1 / (pi d), whatever the speeds; it comes back when the yarn is drawn off over the end of the cop.
    Source: Klein 1987, variation in yarn twist.
    """
    return 1 / (np.pi * winding_diameter)


def rubbing_speed(traveller_speed: Real, ring_diameter: float) -> Real:
    """Return the traveller's speed along the ring [m/s] from its speed [rad/s] and the ring's diameter [m]."""
    return traveller_speed * (ring_diameter / 2)
