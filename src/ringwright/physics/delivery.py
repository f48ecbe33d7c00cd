"""The course of the delivery speed through the doff, and the time that it takes.

The speed is a run of straight lines over the share of the doff by content (0 empty tube, 1 full cop). Content is
chosen and not time, because the rails climb with content: a speed belongs to a place on the cop.
At one count, the share by content is also the share by length of yarn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from ringwright.refusal import Fault, Refusal

__all__ = ["Course", "speed_at", "time_at", "yarn_length"]

Array: TypeAlias = npt.NDArray[np.float64]
Numbers: TypeAlias = Array | float


@dataclass(frozen=True, slots=True)
class Course:
    """Delivery speeds [m/s] at shares of the doff, straight lines between; raises Refusal when it cannot be run."""

    shares: tuple[float, ...]
    speeds: tuple[float, ...]

    def __post_init__(self) -> None:
        where = "the course of the delivery speed"
        faults = []
        if len(self.shares) != len(self.speeds):
            got = f"{len(self.shares)} shares with {len(self.speeds)} speeds"
            faults.append(Fault(where=where, got=got, wants="one speed for each share"))
        ends = bool(self.shares) and self.shares[0] == 0 and self.shares[-1] == 1
        if not ends or any(b < a for a, b in zip(self.shares, self.shares[1:], strict=False)):
            got = f"at the shares {', '.join(f'{share:g}' for share in self.shares)}"
            faults.append(Fault(where=where, got=got, wants="given at shares that rise from 0 to 1"))
        if not all(np.isfinite(speed) and speed > 0 for speed in self.speeds):
            got = f"at speeds {', '.join(f'{speed:g}' for speed in self.speeds)} m/s"
            faults.append(Fault(where=where, got=got, wants="more than 0 m/s throughout"))
        if faults:
            raise Refusal(faults)


def speed_at(course: Course, share: Numbers) -> Array:
    """Delivery speed [m/s] at the shares of the doff, any shape; at a sudden change, the speed after it."""
    shares, speeds = np.asarray(course.shares), np.asarray(course.speeds)
    place = np.asarray(share, dtype=np.float64)
    piece = np.clip(np.searchsorted(shares, place, side="right") - 1, 0, len(shares) - 2)
    along = (place - shares[piece]) / np.maximum(shares[piece + 1] - shares[piece], np.finfo(np.float64).tiny)
    return np.asarray(speeds[piece] + (speeds[piece + 1] - speeds[piece]) * along, dtype=np.float64)


def time_at(course: Course, share: Numbers, length: float) -> Array:
    """Time since the start [s] at the shares of a doff of ``length`` [m] of yarn, any shape.

    Over a straight piece from speed a to speed b, the integral of d(length)/speed is length / logarithmic mean (a, b).
    """
    shares, speeds = np.asarray(course.shares), np.asarray(course.speeds)
    whole = np.diff(shares) * length / _logarithmic_mean(speeds[:-1], speeds[1:])
    before = np.concatenate(([0.0], np.cumsum(whole)))
    place = np.asarray(share, dtype=np.float64)
    piece = np.clip(np.searchsorted(shares, place, side="right") - 1, 0, len(shares) - 2)
    in_piece = (place - shares[piece]) * length / _logarithmic_mean(speeds[piece], speed_at(course, place))
    return np.asarray(before[piece] + in_piece, dtype=np.float64)


def yarn_length(content: Numbers, linear_density: float) -> Array:
    """Length of yarn [m] in a content [kg] of a yarn of the linear density [kg/m]."""
    return np.asarray(content, dtype=np.float64) / linear_density


def _logarithmic_mean(one: Array, other: Array) -> Array:
    # (b - a) / ln(b/a), written with x = (b - a)/a so that it stays exact as b comes to a
    rise = (other - one) / one
    safe = np.where(rise == 0, 1.0, rise)
    return one * np.where(rise == 0, 1.0, safe / np.log1p(safe))
