"""Cohesion of a roving: the tension at which its fibres slip past each other, and how far it gives below that.

There is no measured law at hand that a mill could trust for its own roving. The form used here follows what is
published of twisted fibre assemblies (friction between fibres grows as the exponential of the twist angle squared); its
two constants are our own estimate. A mill that has read its roving's force at slip puts that in their place.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from ringwright.physics.real import Array, Real
from ringwright.sources import Cited

__all__ = [
    "count_change", "fibre_diameter", "mean_fibre", "specific_cohesion",
    "strand_extension", "strand_stiffness", "tension_at_extension", "twist_angle", "weak_place",
]  # fmt: skip

UNTWISTED: Final = Cited(
    500.0, "N m/kg", source="our-estimate",
    where="an untwisted strand of 27 mm cotton, 0.05 cN/tex: a sliver carries some 50 m of itself, from memory",
)  # fmt: skip
UNTWISTED_LENGTH: Final = Cited(27e-3, "m", source="our-estimate", where="mean fibre length of that strand")
UNTWISTED_FRICTION: Final = Cited(0.3, "1", source="our-estimate", where="friction between the fibres of that strand")
AMPLIFICATION: Final = Cited(
    0.064, "1", source="our-estimate",
    where="set so that a cotton roving of 1.2 TM holds some 0.5 cN/tex, ten times the untwisted one, from memory",
)  # fmt: skip
FIBRE_DENSITY: Final = Cited(1520.0, "kg/m3", source="our-estimate", where="cotton, from memory; polyester near 1380")
WEAKEST: Final = Cited(
    3.0, "1", source="our-estimate",
    where="standard deviations below the mean: about the weakest of a thousand places of even, normal spread",
)  # fmt: skip


def twist_angle(twist_multiplier: Real, strand_density: float) -> Array:
    """Return the angle [rad] of the outermost fibres to the axis: tan = pi D T, the same for every count.

    From the multiplier [turns/m sqrt(kg/m)] and the strand's density [kg/m3]: D = sqrt(4 m / (pi rho)).
    """
    return np.asarray(np.arctan(2 * np.sqrt(np.pi / strand_density) * np.asarray(twist_multiplier)), dtype=np.float64)


def fibre_diameter(fineness: Real) -> Array:
    """Return the diameter [m] of a round fibre of a linear density [kg/m], with cotton's density."""
    return np.sqrt(4 * np.asarray(fineness, dtype=np.float64) / (np.pi * float(FIBRE_DENSITY)))


def mean_fibre(shares: Sequence[float], finenesses: Sequence[float], lengths: Sequence[float]) -> tuple[float, float]:
    """Return mean length [m] and linear density [kg/m] of the fibres in a section, each kind by its number there.

    From mass shares [1], linear densities [kg/m] and mean lengths [m] of the kinds; a kind's number is share over
    fineness.
    """
    numbers = np.asarray(shares) / np.asarray(finenesses)
    return float(numbers @ np.asarray(lengths) / numbers.sum()), float(np.sum(shares) / numbers.sum())


def specific_cohesion(angle: Real, length: Real, fineness: Real, friction: Real) -> Array:
    """Return the tension at slip over linear density [N m/kg].

    From twist angle [rad] and the fibres: mean length [m], linear density [kg/m], friction on each other [1].
    c0 (L / L0) (f / f0) exp(A f L angle^2 / d): without twist it grows with length and friction, as the number of
    grips does; twist multiplies it as published (exp of the angle squared, one number of twist, friction and lengths).
    c0 and A are our estimate. Range: rovings, not yarns, where fibres break. Source of the form: Seguin and Crassous
    2022, abstract.
    """
    grip = np.asarray(friction, dtype=np.float64) * length
    untwisted = float(UNTWISTED) * grip / float(UNTWISTED_LENGTH * UNTWISTED_FRICTION)
    amplified = np.exp(float(AMPLIFICATION) * grip * np.asarray(angle) ** 2 / fibre_diameter(fineness))
    return np.asarray(untwisted * amplified, dtype=np.float64)


def strand_extension(tension: Real, cohesion: float, extension_at_slip: float) -> Array:
    """Return how much a strand is drawn out [1] under a tension [N]; infinite from its cohesion [N] on, where it slips.

    T / C = 1 - (1 - e / es)^2: stiff at first, flat where it slips. The shape is our assumption.
    """
    share = np.asarray(tension, dtype=np.float64) / cohesion
    drawn = extension_at_slip * (1 - np.sqrt(np.maximum(1 - share, 0)))
    return np.where(share < 1, drawn, np.inf)


def tension_at_extension(extension: Real, cohesion: float, extension_at_slip: float) -> Array:
    """Return the tension [N] that draws a strand out by so much [1], at most its cohesion [N]; the inverse."""
    left = np.maximum(1 - np.asarray(extension, dtype=np.float64) / extension_at_slip, 0)
    return np.asarray(cohesion * (1 - left**2), dtype=np.float64)


def strand_stiffness(cohesion: Real, extension_at_slip: float, length: float) -> Array:
    """Return the stiffness [N/m] of a free strand of a length [m] at small tensions: 2 C / (es L)."""
    return np.asarray(2 * np.asarray(cohesion, dtype=np.float64) / (extension_at_slip * length))


def count_change(extension: Real) -> Array:
    """Return the change of linear density [1] that goes into the back rollers with a strand drawn out so far [1]."""
    return -np.asarray(extension, dtype=np.float64) / (1 + np.asarray(extension, dtype=np.float64))


def weak_place(cohesion: Real, coefficient_of_variation: float) -> Array:
    """Return the cohesion [N] of about the weakest of a thousand places; nought where the spread leaves nothing."""
    return np.maximum(np.asarray(cohesion) * (1 - float(WEAKEST) * coefficient_of_variation), 0)
