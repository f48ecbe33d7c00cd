"""Unwinding of a roving bobbin that hangs in the creel: radius, inertia, holding torque, tension, start and stop.

The bobbin is a hollow cylinder of even density on a thin tube. The strand leaves it at the rim, passes the guide rod
and ends at the back rollers, which take it at a set speed. Tensions are at the back rollers, behind the rod.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from ringwright.physics.real import Array, Real
from ringwright.sources import Cited

__all__ = [
    "Bobbin", "Feed", "Hanger", "Strand", "bobbin_inertia", "bobbin_radius", "guide_gain", "holding_torque",
    "jerk_tensions", "least_holding_torque", "overrun_slack", "package_density", "start_peak", "start_tension",
    "steady_tension",
]  # fmt: skip

GRAVITY: Final = Cited(9.80665, "m/s2", source="SI-brochure", where="standard acceleration of free fall, from memory")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bobbin:
    """A roving bobbin: radii of tube and of the full bobbin [m], traverse [m], masses of tube and full roving [kg]."""

    empty_radius: float
    full_radius: float
    traverse: float
    tube_mass: float
    content: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Hanger:
    """The hanger: bearing friction [1], bearing diameter [m], brake torque [N m], friction at rest over sliding [1]."""

    bearing_friction: float
    bearing_diameter: float
    brake_torque: float
    breakaway: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """The back rollers: surface speed [m/s], times [s] in which they reach it from rest and come to rest from it."""

    speed: float
    start_time: float
    stop_time: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Strand:
    """The free strand: stiffness [N/m], wrap on the guide rod [rad], friction on the rod [1]."""

    stiffness: float
    wrap: float
    friction: float


def bobbin_radius(bobbin: Bobbin, share: Real) -> Array:
    """Return the rim's radius [m] at a share of the full content, any shape: the section wound falls in proportion.

    r^2 = r_empty^2 + share (r_full^2 - r_empty^2). Range: wound evenly, the cones at the ends left out.
    """
    empty, full = bobbin.empty_radius**2, bobbin.full_radius**2
    return np.sqrt(empty + np.asarray(share, dtype=np.float64) * (full - empty))


def package_density(bobbin: Bobbin) -> float:
    """Return the density of the wound roving [kg/m3] that content, radii and traverse make."""
    return float(bobbin.content / (np.pi * bobbin.traverse * (bobbin.full_radius**2 - bobbin.empty_radius**2)))


def bobbin_inertia(bobbin: Bobbin, share: Real) -> Array:
    """Return the moment of inertia about the axis [kg m2]: hollow cylinder m (r1^2 + r2^2) / 2 and the thin tube."""
    wound = bobbin.content * np.asarray(share, dtype=np.float64)
    rim = bobbin_radius(bobbin, share)
    return bobbin.tube_mass * bobbin.empty_radius**2 + wound * (rim**2 + bobbin.empty_radius**2) / 2


def holding_torque(bobbin: Bobbin, hanger: Hanger, share: Real) -> Array:
    """Return the torque that holds the turning bobbin back [N m]: bearing f W d / 2 under its weight, and the brake.

    Source: engineering tables of rolling bearing friction, M = F f d / 2.
    """
    weight = GRAVITY * (bobbin.tube_mass + bobbin.content * np.asarray(share, dtype=np.float64))
    return hanger.bearing_friction * weight * hanger.bearing_diameter / 2 + hanger.brake_torque


def guide_gain(strand: Strand) -> float:
    """Return the tension behind the guide rod over that before it: exp(friction x wrap), the capstan equation."""
    return float(np.exp(strand.friction * strand.wrap))


def steady_tension(bobbin: Bobbin, hanger: Hanger, strand: Strand, share: Real) -> Array:
    """Return the tension [N] of even running: holding torque / radius, times the guide rod's gain."""
    return holding_torque(bobbin, hanger, share) / bobbin_radius(bobbin, share) * guide_gain(strand)


def start_tension(bobbin: Bobbin, hanger: Hanger, strand: Strand, feed: Feed, share: Real) -> Array:
    """Return the tension [N] while the rollers speed up evenly and a strand that does not give turns the bobbin.

    (M + I v / (r t)) / r times the gain: the angular acceleration is v / (r t).
    """
    rim = bobbin_radius(bobbin, share)
    turning = bobbin_inertia(bobbin, share) * feed.speed / (rim * feed.start_time)
    return (holding_torque(bobbin, hanger, share) + turning) / rim * guide_gain(strand)


def start_peak(bobbin: Bobbin, hanger: Hanger, strand: Strand, feed: Feed, share: Real) -> Array:
    """Return the first peak of tension [N] at a start of the frame with a strand that gives, any shape of shares.

    The strand is drawn taut until the bobbin breaks away, then stretch e follows e'' + w^2 (e - e0) = a without
    damping, w^2 = k r^2 / I, e0 = M / (k r); a is the rollers' acceleration, and nought once they have their speed.
    Closed form in two pieces. The real strand damps, so this is the higher end.
    """
    rim, torque = bobbin_radius(bobbin, share), holding_torque(bobbin, hanger, share)
    swing = np.sqrt(strand.stiffness * rim**2 / bobbin_inertia(bobbin, share))
    rest, breaks_away = torque / (strand.stiffness * rim), hanger.breakaway * torque / (strand.stiffness * rim)
    rise = feed.speed / feed.start_time
    # The bobbin turns from here on; the rollers may have their whole speed by then.
    when = np.sqrt(2 * breaks_away / rise)
    rate = np.minimum(rise * when, feed.speed)
    left = np.maximum(feed.start_time - when, 0)
    during = rest + np.where(left > 0, rise, 0) / swing**2
    height, after = _highest(breaks_away, rate, during, swing)
    cosine, sine = np.cos(swing * left), np.sin(swing * left)
    stretch = during + (breaks_away - during) * cosine + rate / swing * sine
    later = rate * cosine - (breaks_away - during) * swing * sine
    at_speed, _ = _highest(stretch, later, rest, swing)
    highest = np.where((left > 0) & (after > left), at_speed, height)
    return np.asarray(strand.stiffness * highest * guide_gain(strand))


def _highest(stretch: Array, rate: Array, middle: Array, swing: Array) -> tuple[Array, Array]:
    """Give the first highest stretch [m] of a swing about a middle from a stretch and its rate, and when [s]."""
    phase = np.arctan2(rate / swing, stretch - middle)
    return middle + np.hypot(stretch - middle, rate / swing), np.maximum(phase, 0) / swing


def jerk_tensions(bobbin: Bobbin, hanger: Hanger, strand: Strand, feed: Feed, share: Real) -> tuple[Array, Array]:
    """Return the lowest and highest tension [N] of a bobbin that sticks and slips while the rollers run evenly.

    The classic swing of a slider drawn by a spring: about M / r with half-width root(((b - 1) M / r)^2 + v^2 k I /
    r^2), b the friction at rest over that of sliding. Undamped, so the wider end; a slack strand has tension nought.
    With b = 1 the bobbin turns evenly once it turns, and both are the steady tension.
    """
    steady = holding_torque(bobbin, hanger, share) / bobbin_radius(bobbin, share)
    if hanger.breakaway <= 1:
        return steady * guide_gain(strand), steady * guide_gain(strand)
    moved = bobbin_inertia(bobbin, share) / bobbin_radius(bobbin, share) ** 2
    half = np.hypot((hanger.breakaway - 1) * steady, feed.speed * np.sqrt(strand.stiffness * moved))
    return np.maximum(steady - half, 0) * guide_gain(strand), (steady + half) * guide_gain(strand)


def overrun_slack(bobbin: Bobbin, hanger: Hanger, feed: Feed, share: Real) -> Array:
    """Return the slack [m] that the bobbin throws off when the rollers come to rest evenly in their stop time.

    The bobbin coasts over I w^2 / (2 M), so the rim lets go I v^2 / (2 M r); the rollers still take v t / 2. Nought
    where the bobbin would stop sooner than the rollers. A bobbin held by no torque coasts without end: infinite.
    """
    rim = bobbin_radius(bobbin, share)
    torque = np.maximum(holding_torque(bobbin, hanger, share), np.finfo(np.float64).tiny)
    with np.errstate(over="ignore"):
        coasted = bobbin_inertia(bobbin, share) * feed.speed**2 / (2 * torque * rim)
    return np.maximum(coasted - feed.speed * feed.stop_time / 2, 0)


def least_holding_torque(bobbin: Bobbin, feed: Feed, slack: float, share: Real) -> Array:
    """Return the least torque [N m] that keeps the slack at a stop within an allowance [m]; ``overrun_slack`` inverted.

    M = I v^2 / (2 r (s + v t / 2)): the energy of turning is the torque's work over the arc let go.
    """
    rim = bobbin_radius(bobbin, share)
    return bobbin_inertia(bobbin, share) * feed.speed**2 / (2 * rim * (slack + feed.speed * feed.stop_time / 2))
