"""The shape of the cop: what is wound where, from bare tube to full cop.

Heights count upwards from the lowest place of the ring rail, the foot of the first stroke.
A stroke lays its yarn on a cone, from the shoulder at its foot to the tube at its top; the foot climbs from 0 to
lift - chase. While the foot is in the base, the shoulder grows along a cone from the tube to the cop's full diameter.
Solids of cones only, so every volume is a closed form (pi h (D^2 + D d + d^2) / 12 for a frustum).
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import lru_cache
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from ringwright.refusal import Fault, Refusal

__all__ = [
    "CopShape",
    "foot_at",
    "full_volume",
    "profile",
    "shoulder_diameter",
    "swept_area",
    "tube_diameter",
    "volume_at",
    "winding_diameter",
]

Array: TypeAlias = npt.NDArray[np.float64]
Numbers: TypeAlias = Array | float


@dataclass(frozen=True, slots=True, kw_only=True)
class CopShape:
    """The measures of a cop, all in m; raises Refusal with every measure that cannot be built.

    ``tube_foot_diameter`` and ``tube_top_diameter`` are the tube's outside diameters at height 0 and at ``lift``;
    between and beyond them the tube is one straight taper.
    """

    tube_foot_diameter: float
    tube_top_diameter: float
    cop_diameter: float
    chase: float
    base_height: float
    lift: float

    def __post_init__(self) -> None:
        faults = list(_faults(self))
        if faults:
            raise Refusal(faults)

    @property
    def last_foot(self) -> float:
        """Height of the foot of the last stroke [m]."""
        return self.lift - self.chase


def _faults(shape: CopShape) -> list[Fault]:
    named = {field.name: float(getattr(shape, field.name)) for field in fields(shape)}
    small = [
        Fault(where=f"the cop's {name.replace('_', ' ')}", got=f"{1e3 * value:.6g} mm", wants="more than 0 mm")
        for name, value in named.items()
        if not (np.isfinite(value) and value > 0)
    ]
    if small:
        return small
    checks = (
        ("tube_foot_diameter", shape.cop_diameter, "less than", "the cop diameter"),
        ("tube_top_diameter", shape.tube_foot_diameter, "at most", "the tube's diameter at the foot"),
        ("chase", shape.lift, "less than", "the lift"),
        ("base_height", shape.last_foot, "at most", "the lift less the chase"),
    )
    return [
        Fault(
            where=f"the cop's {name.replace('_', ' ')}",
            got=f"{1e3 * named[name]:.6g} mm",
            wants=f"{relation} {bound} of {1e3 * most:.6g} mm",
        )
        for name, most, relation, bound in checks
        if not (named[name] < most or (relation == "at most" and named[name] == most))
    ]


def tube_diameter(shape: CopShape, height: Numbers) -> Array:
    """Outside diameter of the tube [m] at the heights [m], any shape."""
    share = np.asarray(height, dtype=np.float64) / shape.lift
    return shape.tube_foot_diameter + (shape.tube_top_diameter - shape.tube_foot_diameter) * share


def shoulder_diameter(shape: CopShape, foot: Numbers) -> Array:
    """Diameter of the cop [m] at the foot of a stroke, for feet at the heights [m], any shape."""
    base_share = np.clip(np.asarray(foot, dtype=np.float64) / shape.base_height, 0.0, 1.0)
    return shape.tube_foot_diameter + (shape.cop_diameter - shape.tube_foot_diameter) * base_share


def winding_diameter(shape: CopShape, foot: Numbers, stroke_share: Numbers) -> Array:
    """Diameter on which the yarn is wound [m], at a share 0 to 1 of the chase above the foot [m]; shapes broadcast."""
    shoulder = shoulder_diameter(shape, foot)
    top = tube_diameter(shape, foot + shape.chase)
    return np.asarray(shoulder + (top - shoulder) * stroke_share, dtype=np.float64)


def profile(shape: CopShape, foot: Numbers, height: Numbers) -> Array:
    """Outside diameter [m] of what has been built when the foot has come to ``foot`` [m], at the heights [m].

    This is the cop's growth line; shapes broadcast, so feet (n, 1) and heights (m,) give n lines.
    """
    feet, heights = np.asarray(foot, dtype=np.float64), np.asarray(height, dtype=np.float64)
    below = shoulder_diameter(shape, np.minimum(heights, feet))
    nose = winding_diameter(shape, feet, np.clip((heights - feet) / shape.chase, 0.0, 1.0))
    bare = (heights <= 0) | (heights >= feet + shape.chase)
    return np.where(bare, tube_diameter(shape, heights), np.where(heights <= feet, below, nose))


def volume_at(shape: CopShape, foot: Numbers) -> Array:
    """Volume of yarn on the tube [m3] when the foot has come to the heights [m], 0 to lift - chase, any shape.

    Base cone, body cylinder and nose cone, less the tube inside them, also while the cop is still being built.
    """
    feet = np.asarray(foot, dtype=np.float64)
    shoulder, top = shoulder_diameter(shape, feet), tube_diameter(shape, feet + shape.chase)
    start = shape.tube_foot_diameter
    base = _frustum(start, shoulder, np.minimum(feet, shape.base_height))
    body = np.pi / 4 * shape.cop_diameter**2 * np.maximum(feet - shape.base_height, 0.0)
    nose = _frustum(shoulder, top, shape.chase)
    return base + body + nose - _frustum(start, top, feet + shape.chase)


@lru_cache(maxsize=256)
def full_volume(shape: CopShape) -> float:
    """Volume of yarn on the full cop [m3]."""
    return float(volume_at(shape, shape.last_foot))


def swept_area(shape: CopShape, foot: Numbers) -> Array:
    """Volume laid per climb of the foot, dV/d(foot) [m2], for feet at the heights [m], any shape.

    The cone's diameter D and its growth per climb are both linear along the stroke, so Simpson's rule is exact for
    (pi/2) times the integral of D dD/d(foot) over the chase.
    """
    feet = np.asarray(foot, dtype=np.float64)
    shoulder, top = shoulder_diameter(shape, feet), tube_diameter(shape, feet + shape.chase)
    flare = (shape.cop_diameter - shape.tube_foot_diameter) / shape.base_height
    shoulder_growth = np.where(feet < shape.base_height, flare, 0.0)
    tube_growth = (shape.tube_top_diameter - shape.tube_foot_diameter) / shape.lift
    climb = (shoulder - top) / shape.chase
    at_foot, at_top = shoulder * (shoulder_growth + climb), top * (tube_growth + climb)
    midway = (shoulder + top) / 2 * ((shoulder_growth + tube_growth) / 2 + climb)
    return np.pi / 2 * shape.chase / 6 * (at_foot + 4 * midway + at_top)


def foot_at(shape: CopShape, volume: Numbers) -> Array:
    """Height of the foot [m] when the volumes [m3] have been wound, any shape; raises Refusal outside 0 to full.

    The volume rises steadily with the foot, so Newton's method kept inside a shrinking bracket finds the one root.
    """
    wanted = np.asarray(volume, dtype=np.float64)
    full = full_volume(shape)
    if not np.all((wanted >= -1e-12 * full) & (wanted <= full * (1 + 1e-12))):
        got = wanted[~((wanted >= 0) & (wanted <= full))].flat[0]
        wants = f"between 0 and {1e6 * full:.6g} cm3, the full cop"
        raise Refusal(Fault(where="the volume wound on the cop", got=f"{1e6 * got:.6g} cm3", wants=wants))
    wanted = np.clip(wanted, 0.0, full)
    low, high = np.zeros_like(wanted), np.full_like(wanted, shape.last_foot)
    foot = shape.last_foot * wanted / full
    for _ in range(100):
        excess = volume_at(shape, foot) - wanted
        low, high = np.where(excess <= 0, foot, low), np.where(excess >= 0, foot, high)
        step = foot - excess / swept_area(shape, foot)
        nearer = np.where((step >= low) & (step <= high), step, (low + high) / 2)
        if np.all(np.abs(nearer - foot) <= 1e-14 * shape.lift):
            break
        foot = nearer
    return foot


def _frustum(one: Numbers, other: Numbers, height: Numbers) -> Array:
    return np.asarray(np.pi / 12 * height * (one * one + one * other + other * other), dtype=np.float64)
