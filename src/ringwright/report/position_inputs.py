"""What the drawing of one spinning position needs: real dimensions in metres, and what to call each part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.report.number import Number

__all__ = ["Balloon", "Callout", "ControlRing", "Drafting", "Height", "Package", "PositionFigure", "Separators"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Balloon:
    """The solved yarn from guide to ring: depth below the guide (m), radius (m), azimuth (rad), tension (N)."""

    depth: Sequence[float]
    radius: Sequence[float]
    azimuth: Sequence[float]
    tension: Sequence[float]

    def __post_init__(self) -> None:
        if len(self.depth) < 2 or not len(self.depth) == len(self.radius) == len(self.azimuth) == len(self.tension):
            raise ValueError("a balloon needs at least two points and runs of one length")


@dataclass(frozen=True, slots=True, kw_only=True)
class Package:
    """Tube and cop: heights above the ring rail's lowest place (m), diameters (m), outlines as (height, radius)."""

    tube_foot: float
    tube_length: float
    tube_bottom_diameter: float
    tube_top_diameter: float
    cop: Sequence[tuple[float, float]] = ()
    earlier_cops: Sequence[Sequence[tuple[float, float]]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Drafting:
    """Roller diameters (m), and where the front nip stands: above the rail's lowest place and off the axis (m)."""

    front_diameter: float
    middle_diameter: float
    back_diameter: float
    nip_height: float
    nip_offset: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlRing:
    """Diameter and present height above the ring rail's lowest place (m)."""

    diameter: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Separators:
    """Gauge and plate thickness (m); a plate stands at half the gauge on each side."""

    gauge: float
    thickness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Height:
    """A height to dimension, above the ring rail's lowest place, with its name."""

    name: str
    number: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class Callout:
    """The name of a part and its one number; ``part`` is one of the parts that the drawing knows."""

    part: str
    name: str
    number: Number
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PositionFigure:
    """One spinning position at one moment of the doff (lengths in m, tensions in N)."""

    moment: str
    ring_diameter: float
    ring_height: float
    guide_height: float
    other_guide_height: float | None
    winding_diameter: float
    winding_tension: float
    triangle_tension: float
    wharve_diameter: float
    balloon: Balloon | None
    package: Package
    drafting: Drafting
    control_ring: ControlRing | None
    separators: Separators | None
    heights: Sequence[Height]
    callouts: Sequence[Callout]
