"""Single spindles to correct: what is moved at each, and by which vector."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ringwright.centring.naming import beyond
from ringwright.centring.offsets import Offsets
from ringwright.centring.readings import PARTS
from ringwright.mill import Frame
from ringwright.physics.real import Array

__all__ = ["Gauge", "Move", "moves_of", "named_in", "tolerance_of"]

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """What decides whether an offset is named: the standard deviation of one reading on one axis [m], and the tests."""

    deviation: float
    tests: int

    def deviation_of(self, offsets: Offsets) -> Array:
        """Give the standard deviation of each vector on one axis [m], nan where the part was not read."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray(self.deviation / np.sqrt(np.where(offsets.weight > 0, offsets.weight, np.nan)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """What is moved, and by which vector [m]: along the frame towards higher numbers, and out to the front."""

    what: str
    along: float
    out: float

    @property
    def amount(self) -> float:
        """Length of the vector [m]."""
        return float(np.hypot(self.along, self.out))


def tolerance_of(frame: Frame, part: str) -> float:
    """Give the tolerance of a part [m]."""
    stated = frame.centring
    return {
        "ring": stated.ring_tolerance, "guide": stated.guide_tolerance, "control ring": stated.control_ring_tolerance,
    }[part]  # fmt: skip


def named_in(vectors: Array, deviation: Array, part: str, frame: Frame, gauge: Gauge) -> Mask:
    """Say which vectors (n, 2) of a part are beyond its tolerance for certain."""
    return beyond(vectors, deviation, tolerance_of(frame, part), gauge.tests) > 1


def moves_of(offsets: Mapping[str, Offsets], frame: Frame, gauge: Gauge) -> dict[int, tuple[Move, ...]]:
    """Give the moves of each spindle to correct, by its number.

    Where the spindle is what is moved, it goes to the ring's centre first; guide and control ring are then judged
    against the spindle's new place, with the error of both readings.
    """
    count = len(next(iter(offsets.values())).along) if offsets else 0
    step, step_deviation = np.zeros((count, 2)), np.zeros(count)
    moves: dict[int, list[Move]] = {}
    for part in PARTS:
        if part not in offsets:
            continue
        of_part = gauge.deviation_of(offsets[part])
        vectors, deviation = offsets[part].vectors - step, np.hypot(of_part, step_deviation)
        named = named_in(vectors, deviation, part, frame, gauge)
        by_spindle = part == "ring" and frame.centring.moved == "spindle"
        for at in np.flatnonzero(named).tolist():
            along, out = vectors[at] if by_spindle else -vectors[at]
            move = Move(what="spindle" if by_spindle else part, along=float(along), out=float(out))
            moves.setdefault(at + 1, []).append(move)
        if by_spindle:
            step = np.where(named[:, None], vectors, 0.0)
            step_deviation = np.where(named, of_part, 0.0)
    return {spindle: tuple(moves[spindle]) for spindle in sorted(moves)}
