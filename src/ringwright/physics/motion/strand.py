"""The moving yarn as numbers: what it runs over, where its ends are at a moment, and how much of it the balloon holds.

All numbers are dimensionless, in the traveller's frame; arguments may be complex and carry leading axes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.cases import Cases
from ringwright.physics.motion.contacts import wind_on
from ringwright.physics.motion.waves import Complex
from ringwright.physics.real import Array

__all__ = ["AXIS", "CONTROL_RING", "GUIDE", "RING", "Moving", "Strand", "offset", "on_circle", "sizes", "yarn_length"]

AXIS = np.array([0.0, 0.0, 1.0])
RING, GUIDE, CONTROL_RING = 0, 1, 2

Moving = tuple[Complex, Complex, Complex]
"""Something with its first and second rate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strand:
    """One yarn in a grid, and what it runs over."""

    cases: Cases
    """Each field one number."""
    pressed: bool
    """Whether the control ring presses: then the yarn has two spans and stays on the ring."""
    pieces: int
    """Pieces N of each span's grid."""
    stretch: float
    """C, strain for a unit of tension."""
    rest_tension: Array
    """(spans N,) at the tensions' nodes at rest: stretch is counted from there."""
    rest_length: float
    soft: float
    """Flow over which the yarn's friction on the traveller turns, as tanh(flow/soft); nought: it never does."""
    offsets: NDArray[np.complex128]
    """(3,) of ring, guide, control ring: x + iy in the room."""
    ramp: float
    """Time over which the offsets grow smoothly from nought."""


def sizes(strand: Strand) -> tuple[int, int]:
    """Give the number of unknowns that have rates, and of all unknowns."""
    spans = 2 if strand.pressed else 1
    moving = 3 * spans * (strand.pieces - 1) + (3 if strand.pressed else 1)
    return moving, moving + spans * strand.pieces + (1 if strand.pressed else 0)


def offset(strand: Strand, part: int, time: float) -> Moving:
    """Give place, velocity and acceleration (3,) of a part off centre, as the turning frame sees it."""
    share, rate, change = 1.0, 0.0, 0.0
    if time < strand.ramp:
        x = time / strand.ramp
        share = x**3 * (10.0 - 15.0 * x + 6.0 * x * x)
        rate = 30.0 * x**2 * (1.0 - x) ** 2 / strand.ramp
        change = 60.0 * x * (1.0 - x) * (1.0 - 2.0 * x) / strand.ramp**2
    seen = strand.offsets[part] * np.exp(-1j * time)
    moved = seen * np.array([share, rate - 1j * share, change - 2j * rate - share])
    place, velocity, acceleration = np.stack([moved.real, moved.imag, np.zeros(3)], axis=-1)
    return place, velocity, acceleration


def on_circle(centre: Moving, radius: Array, depth: Array, angle: Moving) -> Moving:
    """Place a point on a level circle that may itself move."""
    cosine, sine, zero = np.cos(angle[0]), np.sin(angle[0]), np.zeros_like(angle[0])
    outward = np.stack([cosine, sine, zero], axis=-1)
    forward = np.stack([-sine, cosine, zero], axis=-1)
    place = centre[0] + depth * AXIS + radius * outward
    velocity = centre[1] + radius * angle[1][..., None] * forward
    acceleration = centre[2] + radius * (angle[2][..., None] * forward - (angle[1] ** 2)[..., None] * outward)
    return place, velocity, acceleration


def yarn_length(strand: Strand, place: Moving, angle: Complex) -> Moving:
    """Give the yarn between guide and traveller with its rates, from what cop and wind-on yarn hold.

    At rest as much is fed as is wound; so L + straight yarn - c (azimuth where it meets the cop) stays as it was.
    """
    cop = strand.cases.cop
    x, y = place[0][..., 0], place[0][..., 1]
    vx, vy = place[1][..., 0], place[1][..., 1]
    square = x * x + y * y
    radius = np.sqrt(square)
    straight = np.sqrt(square - cop * cop)
    cosine, sine = np.cos(angle), np.sin(angle)
    azimuth = angle + np.arctan((cosine * y - sine * x) / (cosine * x + sine * y)) + np.arccos(cop / radius)
    length = strand.rest_length + cop * (azimuth - np.arccos(cop)) - (straight - np.sqrt(1.0 - cop * cop))
    wind = wind_on(cop, place[0])
    turned = np.stack([-wind[..., 1], wind[..., 0], np.zeros_like(x)], axis=-1)
    turning = (x * vy - y * vx) / square + cop * (x * vx + y * vy) / (square * straight)
    rate = np.sum(wind * place[1], axis=-1)
    change = np.sum(wind * place[2], axis=-1) + turning * np.sum(turned * place[1], axis=-1)
    return length, rate, change
