"""The rails: where ring, guide and control ring stand at each moment of the doff.

A rail climbs with the foot of the strokes and moves up and down with each stroke. Within a stroke the ring rail rises
slowly and falls quickly. The drive of a rail gives every stroke the same motion; it is shaped for the body of the cop,
where a layer of even thickness wants yarn laid per height in proportion to the winding circumference. With a constant
delivery the rail's speed is then inverse to the winding diameter: about twice as fast at the top of a stroke as at its
foot (Klein, Manual of Textile Technology, the formation of the conical layers). In the base the same motion lays more
at the foot than at the top, which is what builds the shoulder there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

__all__ = ["Rail", "fixed", "rail_height", "stroke_share", "yarn_share_laid"]

Array: TypeAlias = npt.NDArray[np.float64]
Numbers: TypeAlias = Array | float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rail:
    """A rail's travel [m]: its height at the start of the doff, its climb over the doff, its movement in a stroke.

    Heights count from the ring rail's lowest place; the ring rail itself is height 0, climb lift - chase, stroke chase.
    """

    height: float
    climb: float
    stroke: float


def fixed(rail: Rail) -> Rail:
    """Hold a rail still where it starts the doff.

    A guide clears the tip of the tube at its starting height already, and the tube does not move; so it may stay there.
    """
    return replace(rail, climb=0.0, stroke=0.0)


def rail_height(rail: Rail, progress: Numbers, share: Numbers) -> Array:
    """Height of a rail [m] for the foot's progress 0 to 1 and the share 0 to 1 of the stroke; shapes broadcast."""
    return np.asarray(rail.height + rail.climb * progress + rail.stroke * share, dtype=np.float64)


def stroke_share(phase: Numbers, rise_share: float, foot_diameter: float, top_diameter: float) -> Array:
    """Share 0 to 1 of the chase at which the rail stands, for phases 0 to 1 of a stroke by yarn laid; any shape.

    ``rise_share`` of the stroke's yarn, more than 0 and less than 1, is laid on the rise, the rest on the fall. The
    diameters [m] are those of the cone for which the motion is shaped. The yarn laid up to the share x is
    y = (d0 x + (d1 - d0) x^2 / 2) / ((d0 + d1) / 2), a quadratic whose root is taken in the form without cancellation.
    """
    place = np.asarray(phase, dtype=np.float64)
    laid = np.where(place <= rise_share, place / rise_share, (1 - place) / (1 - rise_share))
    root = np.sqrt(foot_diameter**2 + (top_diameter**2 - foot_diameter**2) * laid)
    return np.asarray(laid * (foot_diameter + top_diameter) / (foot_diameter + root), dtype=np.float64)


def yarn_share_laid(share: Numbers, foot_diameter: float, top_diameter: float) -> Array:
    """Share of a rise's yarn that lies between the foot and the share 0 to 1 of the chase; the inverse of one rise."""
    x = np.asarray(share, dtype=np.float64)
    return x * (2 * foot_diameter + (top_diameter - foot_diameter) * x) / (foot_diameter + top_diameter)
