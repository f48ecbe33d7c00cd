"""End breaks as stress against strength: the chance that the yarn's pull finds a place too weak to bear it.

Strength at length l is Weibull's weakest link, F = 1 - exp(-(l/l0)(s/s0)^m). A piece of yarn meets the tension T while
it passes the weak zone at the front rollers, where it has the share k of its later strength. For small chances

    breaks per second and spindle = (v/l0) E[T^m] / (k s0)^m,

whatever the length l. The spread of T multiplies the breaks and must be in the model. Zone strength and spread cannot
be learnt from break counts alone, so ratios are trusted and absolute rates only after calibration.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, lgamma, log, log1p, pi, sqrt
from typing import Literal

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import gammaln, ndtr

from ringwright.physics.real import Array
from ringwright.setting.doff import Doff

__all__ = [
    "Law",
    "Strength",
    "Stress",
    "break_chance",
    "break_rate",
    "doff_stress",
    "moment",
    "normal_break_chance",
    "rate_ratio",
    "strength_of",
    "thin_place",
    "weibull_shape",
]

Law = Literal["constant", "normal", "gamma", "lognormal"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """Weibull's law of yarn strength at one test length: shape m [1], scale s0 [N], length l0 [m]."""

    shape: float
    scale: float
    length: float = 0.5


def weibull_shape(cv: float) -> float:
    """Return the Weibull shape m [1] of a coefficient of variation [1], 0.003 to 2; close to 1.2/CV."""

    def excess(m: float) -> float:
        return lgamma(1 + 2 / m) - 2 * lgamma(1 + 1 / m) - log1p(cv**2)

    return float(brentq(excess, 0.4, 600.0, xtol=1e-12, rtol=1e-13))


def strength_of(mean: float, cv: float, length: float = 0.5) -> Strength:
    """Return the law of a mean strength [N] and its CV [1] as tested at a length [m], 0.5 m by common practice."""
    shape = weibull_shape(cv)
    return Strength(shape=shape, scale=mean / exp(lgamma(1 + 1 / shape)), length=length)


def moment(mean: float, cv: float, order: float, law: Law = "lognormal") -> float:
    """Return E[T^order] of a tension with its mean [N] and CV [1] under a law of its spread."""
    if cv == 0 or law == "constant":
        return float(mean**order)
    if law == "lognormal":
        return float(mean**order * exp(order * (order - 1) / 2 * log1p(cv**2)))
    if law == "gamma":
        k = 1 / cv**2
        return exp(order * log(mean * cv**2) + float(gammaln(k + order) - gammaln(k)))
    spread, top = cv * mean, mean * (1 + 40 * cv)

    def part(t: float) -> float:
        return float(t**order * exp(-0.5 * ((t - mean) / spread) ** 2) / (spread * sqrt(2 * pi)))

    return float(
        quad(part, 0.0, top, epsabs=0.0, epsrel=1e-10, limit=400, points=[mean, mean * (1 + order * cv**2)])[0]
    )


def break_rate(speed: float, tension_moment: float, strength: Strength, zone: float = 1.0) -> float:
    """Return the breaks per second of one spindle from yarn speed [m/s], E[T^m] and strength; ``zone`` is k."""
    return float(speed / strength.length * tension_moment / (zone * strength.scale) ** strength.shape)


def break_chance(mean: float, cv: float, strength: Strength, length: float, law: Law = "lognormal") -> float:
    """Return the chance [1] that a piece of yarn [m] breaks under a tension drawn once for it; no small-chance form."""
    pieces = length / strength.length

    def chance(t: float) -> float:
        return float(-np.expm1(-pieces * (t / strength.scale) ** strength.shape))

    if cv == 0 or law == "constant":
        return chance(mean)
    if law == "lognormal":
        spread = sqrt(log1p(cv**2))
        middle = log(mean) - spread**2 / 2

        def at(z: float) -> float:
            return chance(exp(middle + spread * z)) * exp(-z * z / 2) / sqrt(2 * pi)

        peak = strength.shape * spread  # where the integrand lies: the tilt of T^m moves the bell by m sigma
        return float(quad(at, -12.0, peak + 12.0, epsabs=0.0, epsrel=1e-10, limit=400, points=[0.0, peak])[0])
    if law == "gamma":
        raise ValueError("the chance is worked out for constant, normal and lognormal spread")

    def bell(t: float) -> float:
        return chance(t) * exp(-0.5 * ((t - mean) / (cv * mean)) ** 2) / (cv * mean * sqrt(2 * pi))

    return float(quad(bell, 0.0, mean * (1 + 40 * cv), epsabs=0.0, epsrel=1e-10, limit=400, points=[mean])[0])


def normal_break_chance(strength: float, strength_sd: float, tension: float, tension_sd: float) -> float:
    """Return the chance [1] that a normal tension passes a normal strength (all N): Phi(-(S - T) / root(sum s^2))."""
    return float(ndtr(-(strength - tension) / sqrt(strength_sd**2 + tension_sd**2)))


def thin_place(tension: float, linear_density: float, cv: float, tenacity: float) -> tuple[float, float]:
    """Return z and the chance [1] that an element of yarn is too thin for a tension [N].

    The critical density is tension / tenacity; z = (1 - tension / (tenacity m)) / CV with m [kg/m], tenacity [N m/kg],
    CV of mass [1] of elements about a fibre long. Source: derived; tenacity at the break about 1.85 gf/tex for wool
    (Lappage 2005, abstract).
    """
    z = (1 - tension / (tenacity * linear_density)) / cv
    return z, float(ndtr(-z))


@dataclass(frozen=True, slots=True, kw_only=True)
class Stress:
    """What a doff asks of its yarn: yarn speed [m/s], ln of the mean of T^m over the yarn, and m."""

    yarn_speed: float
    log_moment: float
    shape: float

    @property
    def even_tension(self) -> float:
        """The one tension [N] that, held through the doff, would break as many ends."""
        return exp(self.log_moment / self.shape)


def doff_stress(doff: Doff, shape: float) -> Stress:
    """Return the stress of a doff at the spinning triangle; places without a steady balloon are left out.

    Places of a doff carry equal lengths of yarn, so the mean over places is the mean over yarn. The spread of T about
    its mean at a place is a factor that ratios lose, if it is alike in both.
    """
    logs: Array = shape * np.log(doff.forces.triangle_tension)
    logs = logs[np.isfinite(logs)]
    top = float(logs.max()) if logs.size else float("nan")
    mean = top + log(float(np.mean(np.exp(logs - top)))) if logs.size else top
    return Stress(yarn_speed=doff.problem.yarn_length / doff.problem.doff_time, log_moment=mean, shape=shape)


def rate_ratio(new: Stress, old: Stress, tension_share: float = 1.0) -> float:
    """Return how many times the breaks per spindle hour of a doff are those of another.

    ``tension_share`` of the old breaks follow T^m, the rest only the length spun.
    """
    length = new.yarn_speed / old.yarn_speed
    return length * (1 - tension_share + tension_share * exp(new.log_moment - old.log_moment))
