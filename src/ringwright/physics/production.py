"""Production: delivery speed, yarn for each spindle and frame, orders, doffs, mean count, ends down."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, pi

from ringwright.physics.constants import ENDS_DOWN_SHARE
from ringwright.physics.real import Real

__all__ = [
    "delivery_speed",
    "doff_time",
    "doffs",
    "ends_down_share",
    "frame_production",
    "frames_for_order",
    "mean_linear_density",
    "production_rate",
    "spindle_speed_for",
]


def delivery_speed(spindle_speed: Real, twist: Real, contraction: float = 0.0) -> Real:
    """Return the front rollers' surface speed [m/s] from spindle speed [rad/s], yarn twist [turns/m], contraction [1].

    v = n / (T (1 - C)), n = spindle turns/s: each turn of the spindle leaves one turn in the yarn once it is drawn off
    over the end. With C = 0 this is twist = spindle speed / delivery speed. Source: Klein 1987, variation in yarn
    twist.
    """
    return spindle_speed / (2 * pi) / (twist * (1 - contraction))


def spindle_speed_for(delivery_speed: Real, twist: Real, contraction: float = 0.0) -> Real:
    """Return the spindle speed [rad/s] that gives a delivery speed [m/s]; the inverse of ``delivery_speed``."""
    return 2 * pi * delivery_speed * twist * (1 - contraction)


def production_rate(spindle_speed: Real, twist: Real, linear_density: Real, efficiency: float = 1.0) -> Real:
    """Return the yarn made by one spindle [kg/s] from spindle speed [rad/s], twist [turns/m], linear density [kg/m].

    p = efficiency n m / T. Contraction falls out: the rollers deliver faster by 1 / (1 - C) what is finer by 1 - C.
    Source: lb/spindle/h = U E / (504 TM Ne^1.5), study cards "Math for Test 3".
    """
    return efficiency * spindle_speed / (2 * pi) * linear_density / twist


def frame_production(production_rate: float, spindles: int, duration: float) -> float:
    """Return the yarn [kg] of so many spindles in a time [s], each making ``production_rate`` [kg/s]."""
    return production_rate * spindles * duration


def frames_for_order(order: float, frame_rate: float, time: float) -> int:
    """Return how many whole frames make an order [kg] in a time [s], each making ``frame_rate`` [kg/s].

    An order that fits a number of frames to within one part in a thousand million takes that number, not one more.
    """
    return max(0, ceil(order / (frame_rate * time) * (1 - 1e-9)))


def doff_time(content: Real, production_rate: Real) -> Real:
    """Return the time [s] to fill a cop of so much yarn [kg] at a production rate [kg/s], its stops included in it."""
    return content / production_rate


def doffs(duration: Real, content: Real, production_rate: Real) -> Real:
    """Return the number of doffs [1] of one frame in a time [s]; the inverse of the doff time, times the duration."""
    return duration * production_rate / content


def mean_linear_density(masses: Sequence[float], linear_densities: Sequence[float]) -> float:
    """Return the mean linear density [kg/m] of lots by their masses [kg] and linear densities [kg/m].

    Total mass / total length, which is the harmonic mean weighted by mass. Source: GATE TF 2013, question 40.
    """
    lengths = (mass / linear_density for mass, linear_density in zip(masses, linear_densities, strict=True))
    return sum(masses) / sum(lengths)


def ends_down_share(break_rate: Real, patrol_time: Real) -> Real:
    """Return the share of spindles with their end down [1] from breaks per spindle and second and patrol time [s].

    d = 0.75 e t. Range: small shares; the patrol grows with e, which the formula leaves out. Source: Balasubramanian,
    "Ring frame end breakage distribution": d% = 0.75 e t, e per 100 spindle hours, t in hours.
    """
    return float(ENDS_DOWN_SHARE) * break_rate * patrol_time
