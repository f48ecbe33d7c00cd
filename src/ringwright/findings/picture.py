"""What a study's picture shows, as plain numbers: bars of spindles, a strip of boundaries, a curve of rates."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Bars", "Curve", "Picture", "Strip"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bars:
    """Breaks of each spindle in order along the frame, the frame's mean, and the spindles that are named."""

    title: str
    counts: tuple[int, ...]
    mean: float
    named: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """Close pairs at each boundary of neighbours (by its first spindle), what chance makes, and the named ones."""

    title: str
    boundaries: tuple[int, ...]
    pairs: tuple[int, ...]
    expected: float
    named: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Breaks per 1000 spindle-hours along an axis: fitted with its band, and as counted in bins."""

    title: str
    axis: str
    at: tuple[float, ...]
    rate: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    counted_at: tuple[float, ...]
    counted: tuple[float, ...]


Picture = Bars | Strip | Curve
