"""Yarn twist: turns per metre, twist multipliers in each system, surface angle of the fibres."""

from __future__ import annotations

from typing import Literal

import numpy as np

from ringwright.physics.constants import TWIST_MULTIPLIER
from ringwright.physics.real import Real

__all__ = [
    "TwistSystem",
    "surface_angle",
    "twist",
    "twist_multiplier",
    "twist_multiplier_from",
    "twist_multiplier_in",
    "yarn_diameter",
]

TwistSystem = Literal["English", "tex", "metric"]


def twist(twist_multiplier: Real, linear_density: Real) -> Real:
    """Return the yarn's twist [turns/m] from its twist multiplier [turns/m (kg/m)^0.5] and linear density [kg/m].

    T = alpha / root m. This is the twist found in the finished yarn, drawn off the cop over its end.
    Source: teaching sheet "TPI, TPM": TPI = TM x root Ne; TPM = tex twist factor / root tex.
    """
    turns: Real = twist_multiplier / np.sqrt(linear_density)
    return turns


def twist_multiplier(twist: Real, linear_density: Real) -> Real:
    """Return the twist multiplier [turns/m (kg/m)^0.5] of a yarn from its twist [turns/m] and linear density [kg/m]."""
    multiplier: Real = twist * np.sqrt(linear_density)
    return multiplier


def twist_multiplier_from(value: Real, system: TwistSystem) -> Real:
    """Return the SI twist multiplier [turns/m (kg/m)^0.5] for one given in a system of the trade.

    English: turns/inch / root Ne. tex: turns/m x root tex. metric: turns/m / root Nm.
    """
    return value * float(TWIST_MULTIPLIER[system])


def twist_multiplier_in(twist_multiplier: Real, system: TwistSystem) -> Real:
    """Return a twist multiplier in a system of the trade from the SI one [turns/m (kg/m)^0.5]."""
    return twist_multiplier / float(TWIST_MULTIPLIER[system])


def yarn_diameter(linear_density: Real, density: Real) -> Real:
    """Return the diameter [m] of a round yarn from its linear density [kg/m] and its density [kg/m3].

    d = root (4 m / (pi rho)). A soft yarn has no sharp edge; cotton at 1/1.1 g/cm3 is from Peirce 1937 (from memory).
    """
    diameter: Real = np.sqrt(4 * linear_density / (np.pi * density))
    return diameter


def surface_angle(twist: Real, diameter: Real) -> Real:
    """Return the angle [rad] between a surface fibre and the yarn axis, from twist [turns/m] and yarn diameter [m].

    tan(angle) = pi d T, the helix of the surface. Source: GATE TF 2005, question 71.
    """
    angle: Real = np.arctan(np.pi * diameter * twist)
    return angle
