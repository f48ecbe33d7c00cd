"""The small motion closed at its ends: guide, control ring, traveller, and the yarn that one turn takes in.

Unknowns x (n, m) of a free balloon, m = 5: the force p (3) at the guide, the change of yarn length, the traveller's
angle.  With a control ring that presses, m = 14: the force at the guide (3), r (3) and p (3) below the ring, the places
of the contact along the yarn and round the wire, the bend; then yarn length and traveller's angle as before.
The last two rows are the yarn's conservation, dL = t_w . d(traveller's place), and the balance along the ring.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.physics.motion.contacts import At, slopes, through_control_ring, traveller, wind_on
from ringwright.physics.motion.rest import Rest
from ringwright.physics.motion.waves import Coefficients, Complex, along, force_slope, passage
from ringwright.physics.real import Array

__all__ = ["OFFSETS", "Closed", "Ends", "closed", "ends_of"]

OFFSETS = ("ring", "guide", "control_ring", "spindle")
"""What may stand off centre; all four together are no offset."""
TURNING = np.array([1.0, 1.0j, 0.0])
"""A unit offset along the room's x, seen from the turning frame: (cos, -sin), the real part of this times exp(i t)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ends:
    """What does not depend on the rate: coefficients along the yarn and slopes at its ends, for n cases at rest."""

    rest: Rest
    coefficients: tuple[Coefficients, ...]
    wind: Array
    """(n, 3) direction of the wind-on yarn."""
    balance: Array
    """(n, 3, 8): tangential balance, ring tension and winding tension by q (3), place x and y, angle, turning, flow."""
    contact: Array | None
    """(n, 3, 6): force below the control ring by the force above (3), azimuth, bend and slip."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed:
    """The closed system of n cases: matrix (n, m, m), right sides (n, m, 4) for unit ``OFFSETS``, and what to read.

    ``read`` (n, 3, m) times x, plus ``read_offset`` (n, 3, 4), gives guide, ring and winding tension.
    """

    matrix: Complex
    right: Complex
    read: Complex
    read_offset: Complex


def ends_of(rest: Rest, stretch: float | Array = 0.0) -> Ends:
    """Work out everything that does not depend on the rate; ``stretch`` is the yarn's compliance (m w^2 a^2)^-1."""
    cases = rest.cases
    count = len(cases)
    place = np.tile(np.array([1.0, 0.0, 0.0]), (count, 1))
    at = np.concatenate([rest.spans[-1].force[:, -1], np.tile([1.0, 0.0, 0.0, 0.0, 0.0], (count, 1))], axis=1)
    at[:, 7] = cases.feed

    def balance(x: Complex) -> Complex:
        spot = np.stack([x[:, 3], x[:, 4], np.zeros(count)], axis=-1)
        # q counts the momentum of the flow u; the traveller sees the flow that passes it.
        size = np.sqrt(np.sum(x[:, :3] ** 2, axis=-1))
        pull = x[:, :3] * (1.0 + (cases.feed**2 - x[:, 7] ** 2) / size)[:, None]
        sense = np.ones(count, dtype=complex)
        where = At(force=pull, place=spot, angle=x[:, 5], turning=x[:, 6], flow=x[:, 7], sense=sense)
        return np.stack(traveller(cases, where)[:3], axis=-1)

    contact = None
    if rest.pressed:
        spot = rest.spans[1].place[:, 0]
        above = [rest.spans[0].force[:, -1], np.arctan2(spot[:, 1], spot[:, 0])[:, None], rest.bend[:, None]]
        given = np.concatenate([*above, np.zeros((count, 1))], axis=1)
        contact = slopes(
            lambda x: through_control_ring(cases, x[:, :3], azimuth=x[:, 3], bend=x[:, 4], slip=x[:, 5]), given
        )
    return Ends(
        rest=rest,
        coefficients=tuple(along(cases, span, stretch) for span in rest.spans),
        wind=np.real(wind_on(cases.cop, place)),
        balance=slopes(balance, at),
        contact=contact,
    )


def closed(ends: Ends, rate: Complex) -> Closed:
    """Close the small motion exp(rate t) of n cases; rates (n,) may be complex."""
    rest = ends.rest
    count, size = len(rest.cases), 14 if rest.pressed else 5
    matrix = np.zeros((count, size, size), dtype=complex)
    right = np.zeros((count, size, 4), dtype=complex)
    arrival = np.zeros((count, 6, size), dtype=complex)
    arrival_offset = np.zeros((count, 6, 4), dtype=complex)
    start = np.zeros((count, 6, size), dtype=complex)
    start[:, 3:, :3] = np.eye(3)
    start_offset = np.zeros((count, 6, 4), dtype=complex)
    start_offset[:, :3, 1] = TURNING
    first = passage(ends.coefficients[0], rest.spans[0], rate)
    if rest.pressed:
        _control_ring(ends, rate, (first @ start, first @ start_offset), matrix, right)
        below = passage(ends.coefficients[1], rest.spans[1], rate)
        arrival[:, :, 3:9] = below
    else:
        arrival, arrival_offset = first @ start, first @ start_offset
    return _ring(ends, rate, (arrival, arrival_offset), matrix, right)


def _control_ring(ends: Ends, rate: Complex, above: tuple[Complex, Complex], matrix: Complex, right: Complex) -> None:
    """Fill the nine rows of the control ring: the contact lies on the wire, from above and from below; the forces."""
    cases, (upper, lower) = ends.rest.cases, ends.rest.spans
    assert ends.contact is not None  # noqa: S101 - it presses
    t_above, slope_above = force_slope(cases, upper, -1)
    t_below, slope_below = force_slope(cases, lower, 0)
    spot = lower.place[:, 0]
    round_wire = np.stack([-spot[:, 1], spot[:, 0], np.zeros(len(cases))], axis=-1)  # b times the wire's direction
    arriving, from_offset = above
    matrix[:, 0:3] += arriving[:, :3]
    matrix[:, 0:3, 9] += t_above
    matrix[:, 0:3, 10] -= round_wire
    right[:, 0:3, 2] += TURNING
    right[:, 0:3] -= from_offset[:, :3]
    matrix[:, 3:6, 3:6] = np.eye(3)
    matrix[:, 3:6, 9] = t_below
    matrix[:, 3:6, 10] = -round_wire
    right[:, 3:6, 2] = TURNING
    by_force, by_azimuth, by_bend, by_slip = np.split(ends.contact, [3, 4, 5], axis=2)
    # The contact that wanders along the yarn changes the flow past it, which is u at rest.
    past = (2.0 * cases.feed * rate)[:, None]
    moved_above = slope_above + past * t_above
    slip = (-rate / np.linalg.norm(round_wire, axis=-1))[:, None]
    matrix[:, 6:9] -= by_force @ arriving[:, 3:]
    right[:, 6:9] += by_force @ from_offset[:, 3:]
    matrix[:, 6:9, 6:9] += np.eye(3)
    matrix[:, 6:9, 9] += slope_below + past * t_below - (by_force @ moved_above[..., None])[..., 0]
    matrix[:, 6:9, 9] -= by_slip[..., 0] * slip
    matrix[:, 6:9, 10] -= by_azimuth[..., 0]
    matrix[:, 6:9, 11] -= by_bend[..., 0]


def _ring(ends: Ends, rate: Complex, arriving: tuple[Complex, Complex], matrix: Complex, right: Complex) -> Closed:
    """Fill the last five rows: the yarn ends at the traveller, its length is conserved, the traveller is in balance."""
    cases, size = ends.rest.cases, matrix.shape[1]
    length, angle, rows = size - 2, size - 1, size - 5
    (arrival, from_offset), last = arriving, ends.rest.spans[-1]
    t, slope = force_slope(cases, last, -1)
    matrix[:, rows : rows + 3] += arrival[:, :3]
    matrix[:, rows : rows + 3, length] += t
    matrix[:, rows + 1, angle] -= 1.0
    right[:, rows : rows + 3, 0] += TURNING
    right[:, rows : rows + 3] -= from_offset[:, :3]
    # Where the traveller is from the spindle: ring's offset, less the spindle's, and its own angle.
    moved = np.zeros((2, 4), dtype=complex)
    moved[:, 0], moved[:, 3] = TURNING[:2], -TURNING[:2]
    conserve = size - 2
    matrix[:, conserve, length] = 1.0
    matrix[:, conserve, angle] = -ends.wind[:, 1]
    right[:, conserve] = ends.wind[:, :2] @ moved
    by_force, by_place, by_angle, by_turning, by_flow = np.split(ends.balance, [3, 5, 6, 7], axis=2)
    read = by_force @ arrival[:, 3:]
    read[..., length] += (by_force @ slope[..., None])[..., 0] - rate[:, None] * by_flow[..., 0]
    read[..., angle] += by_place[..., 1] + by_angle[..., 0] + rate[:, None] * by_turning[..., 0]
    read_offset = by_force @ from_offset[:, 3:] + by_place @ moved
    matrix[:, size - 1] = read[:, 0]
    matrix[:, size - 1, angle] += cases.mass * rate**2
    right[:, size - 1] = -read_offset[:, 0]
    # At the guide the flow is the feed, so the tension moves as |q|.
    t_guide, _ = force_slope(cases, ends.rest.spans[0], 0)
    read[:, 0], read_offset[:, 0] = 0.0, 0.0
    read[:, 0, :3] = t_guide
    return Closed(matrix=matrix, right=right, read=read, read_offset=read_offset)
