"""Shoot a balloon from the guide and see how it arrives at the control ring and at the traveller.

Unknowns w (3, n), scaled so that a unit step means about as much in each: ln T0 (tension at the guide),
ANGLE times the guide angle alpha, BEND times the bend at the control ring.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ringwright.physics import kernel
from ringwright.physics.cases import Array, Cases
from ringwright.physics.traveller import balance
from ringwright.physics.triples import length, through

__all__ = ["ANGLE", "BEND", "ROWS", "Shot", "flight", "shoot"]

ANGLE = 3.0
BEND = 1.5
ROWS = 26
"""Rows of a shot; balloon.c writes the same."""


@dataclass(frozen=True, slots=True)
class Shot:
    """How the balloons of unknowns w arrive: one row a quantity, (26, n); every slope is by w."""

    rows: Array

    def _of(self, where: int | slice) -> Array:
        part: Array = self.rows[where]
        return part

    @property
    def meet(self) -> Array:
        """(2, n): r - 1 at the ring; and r - b at the control ring in contact, else the (scaled) bend."""
        return self._of(slice(0, 2))

    @property
    def meet_slope(self) -> Array:
        """(2, 3, n)."""
        return self._of(slice(2, 8)).reshape(2, 3, -1)

    @property
    def pull(self) -> Array:
        """(3, n): q_r, q_t, q_z at the traveller."""
        return self._of(slice(8, 11))

    @property
    def ring_tension(self) -> Array:
        """T_L."""
        return self._of(11)

    @property
    def winding_tension(self) -> Array:
        """T_w."""
        return self._of(12)

    @property
    def wrap(self) -> Array:
        """Angle of wrap on the traveller, radians."""
        return self._of(13)

    @property
    def normal(self) -> Array:
        """N."""
        return self._of(14)

    @property
    def lift(self) -> Array:
        """N - q_z: falls to nought where the traveller no longer presses on the ring's inside."""
        lift: Array = self.rows[14] - self.rows[10]
        return lift

    @property
    def mass(self) -> Array:
        """M0 that the balloon asks for; past lift-off, that of a traveller which just no longer presses."""
        return self._of(15)

    @property
    def mass_slope(self) -> Array:
        """(3, n)."""
        return self._of(slice(16, 19))

    @property
    def residual(self) -> Array:
        """Friction balance for the case's own traveller mass, over that mass; nought at a solution."""
        return self._of(19)

    @property
    def residual_slope(self) -> Array:
        """(3, n)."""
        return self._of(slice(20, 23))

    @property
    def meridian(self) -> Array:
        """Force in the meridian plane at the control ring, which times the bend is the ring's force."""
        return self._of(23)

    @property
    def control_gap(self) -> Array:
        """Radius less b at the control ring's height (minus infinity without one)."""
        return self._of(24)

    @property
    def drift(self) -> Array:
        """How far |q| + r^2/2 + G z wandered, over T0: the integration's own error, seen."""
        return self._of(25)


def _guide_state(w: Array, tangents: int) -> Array:
    tension, angle = np.exp(w[0]), w[1] / ANGLE
    state = np.zeros((6 + 5 * tangents, w.shape[1]))
    sine, cosine = np.sin(angle), np.cos(angle)
    state[2], state[4] = tension * sine, tension * cosine
    if tangents:
        state[8], state[10] = state[2], state[4]
        state[13], state[15] = tension * cosine / ANGLE, -tension * sine / ANGLE
    return state


def _parameters(cases: Cases, depth: Array) -> Array:
    return np.stack([cases.drag, cases.feed, cases.gravity, depth])


def _polar(v: Array, x: Array, y: Array, r: Array) -> tuple[Array, Array]:
    return (x * v[0] + y * v[1]) / r, (x * v[1] - y * v[0]) / r


def _polar_slope(state: Array, d: Array, r: Array) -> tuple[Array, Array, Array]:
    """Differentiate r, q_r and q_t for one tangent d of the state."""
    x, y, qx, qy = state[0], state[1], state[2], state[3]
    q_r, q_t = _polar(state[2:4], x, y, r)
    dr = (x * d[0] + y * d[1]) / r
    dq_r = (d[0] * qx + d[1] * qy + x * d[2] + y * d[3] - q_r * dr) / r
    dq_t = (d[0] * qy - d[1] * qx + x * d[3] - y * d[2] - q_t * dr) / r
    return dr, dq_r, dq_t


def _bend(cases: Cases, state: Array, bend: Array, tangents: int) -> Array:
    """Pass the control ring: turn (q_r, q_z) outwards by ``bend``, with the ring's friction along the circle.

    With ``tangents`` the two tangents behind the state are carried over and a third, by the bend, is added.
    """
    x, y = state[0], state[1]
    r = np.hypot(x, y)
    q_r, q_t = _polar(state[2:4], x, y, r)
    q_z, meridian = state[4], np.hypot(q_r, state[4])
    sine, cosine = np.sin(bend), np.cos(bend)
    friction = cases.control_friction
    out = np.zeros((6 + 5 * tangents, state.shape[1]))
    out[:2], out[5] = state[:2], state[5]
    new_r, new_t, new_z = q_r * cosine + q_z * sine, q_t + friction * meridian * bend, q_z * cosine - q_r * sine
    out[2], out[3], out[4] = (x * new_r - y * new_t) / r, (y * new_r + x * new_t) / r, new_z
    if not tangents:
        return out
    for j in (0, 1):
        d = state[6 + 5 * j : 11 + 5 * j]
        dr, dq_r, dq_t = _polar_slope(state, d, r)
        d_meridian = (q_r * dq_r + q_z * d[4]) / meridian
        dn_r, dn_z = dq_r * cosine + d[4] * sine, d[4] * cosine - dq_r * sine
        dn_t = dq_t + friction * d_meridian * bend
        o = out[6 + 5 * j : 11 + 5 * j]
        o[:2] = d[:2]
        o[2] = (d[0] * new_r + x * dn_r - d[1] * new_t - y * dn_t - out[2] * dr) / r
        o[3] = (d[1] * new_r + y * dn_r + d[0] * new_t + x * dn_t - out[3] * dr) / r
        o[4] = dn_z
    o = out[16:21]
    dn_r, dn_t, dn_z = new_z / BEND, friction * meridian / BEND, -new_r / BEND
    o[2], o[3], o[4] = (x * dn_r - y * dn_t) / r, (y * dn_r + x * dn_t) / r, dn_z
    return out


def _drift(cases: Cases, start: Array, end: Array, depth: Array) -> Array:
    """Give the change of |q| + r^2/2 + G z over a span, relative to |q| at its start."""
    before, after = length(start[2:5]), length(end[2:5])
    gain = 0.5 * (end[0] ** 2 + end[1] ** 2 - start[0] ** 2 - start[1] ** 2) + cases.gravity * depth
    drift: Array = np.abs(after + gain - before) / before
    return drift


def shoot(cases: Cases, w: Array, contact: NDArray[np.bool_], steps: NDArray[np.int_]) -> Shot:
    """Shoot every case once.  All cases have a control ring, or none has; ``contact`` says where it presses."""
    counts = np.unique(steps)
    route = _shoot_compiled if kernel.compiled() else _shoot_arrays
    if counts.size == 1:
        return Shot(route(cases, w, contact, int(counts[0])))
    rows = np.empty((ROWS, len(cases)))
    for count in counts:
        group = np.flatnonzero(steps == count)
        rows[:, group] = route(cases.take(group), w[:, group], contact[group], int(count))
    return Shot(rows)


def _ringed(cases: Cases) -> bool:
    return bool(len(cases)) and bool(cases.control_radius[0] > 0.0)


def _shoot_compiled(cases: Cases, w: Array, contact: NDArray[np.bool_], steps: int) -> Array:
    return kernel.shoot(cases.rows, w, contact, steps, ringed=_ringed(cases))


def _shoot_arrays(cases: Cases, w: Array, contact: NDArray[np.bool_], steps: int) -> Array:
    """Do what the compiled route does, with NumPy."""
    with np.errstate(all="ignore"):  # a wild trial gives non-numbers, which the caller sees and steps back from
        start = _guide_state(w, 2)
        if not _ringed(cases):
            end = kernel.span(_parameters(cases, cases.height), start, steps, 2)[0]
            gap = np.full(len(cases), -np.inf)
            drift = _drift(cases, start, end, cases.height)
            return _arrive(cases, w, end, contact, _Passage(np.zeros(len(cases)), gap, None, drift))
        middle = kernel.span(_parameters(cases, cases.control_depth), start, steps, 2)[0]
        r = np.hypot(middle[0], middle[1])
        gap = r - cases.control_radius
        gap_slope = np.stack([_polar_slope(middle, middle[6 + 5 * j : 11 + 5 * j], r)[0] for j in (0, 1)])
        bent = _bend(cases, middle, np.where(contact, w[2] / BEND, 0.0), 3)
        below = cases.height - cases.control_depth
        end = kernel.span(_parameters(cases, below), bent, steps, 3)[0]
        drift = _drift(cases, start, middle, cases.control_depth) + _drift(cases, bent, end, below)
        meridian = np.hypot(_polar(middle[2:4], middle[0], middle[1], r)[0], middle[4])
        return _arrive(cases, w, end, contact, _Passage(meridian, gap, gap_slope, drift))


@dataclass(frozen=True, slots=True)
class _Passage:
    """What was seen on the way down."""

    meridian: Array
    gap: Array
    gap_slope: Array | None
    drift: Array


def _arrive(cases: Cases, w: Array, end: Array, contact: NDArray[np.bool_], seen: _Passage) -> Array:
    count = len(cases)
    r = np.hypot(end[0], end[1])
    q_r, q_t = _polar(end[2:4], end[0], end[1], r)
    rows = np.zeros((ROWS, count))
    meet, meet_slope, pull_slope = rows[0:2], rows[2:8].reshape(2, 3, count), np.zeros((3, 3, count))
    meet[0], meet[1] = r - 1.0, w[2]
    meet_slope[1, 2] = 1.0
    for j in range(2 if seen.gap_slope is None else 3):
        d = end[6 + 5 * j : 11 + 5 * j]
        meet_slope[0, j], pull_slope[0, j], pull_slope[1, j] = _polar_slope(end, d, r)
        pull_slope[2, j] = d[4]
    if seen.gap_slope is not None:
        meet[1] = np.where(contact, seen.gap, w[2])
        meet_slope[1, 2] = np.where(contact, 0.0, 1.0)
        meet_slope[1, :2] = np.where(contact, seen.gap_slope, 0.0)
        # Where the ring does not press, the bend acts on nothing.
        pull_slope[:, 2] = np.where(contact, pull_slope[:, 2], 0.0)
        meet_slope[0, 2] = np.where(contact, meet_slope[0, 2], 0.0)
    rows[8:11] = q_r, q_t, end[4]
    at = balance(cases, rows[8:11])
    rows[11:16] = at.ring_tension, at.winding_tension, at.wrap, at.normal, at.mass
    rows[16:19] = through(at.mass_slope, pull_slope)
    rows[19] = at.residual
    rows[20:23] = through(at.residual_slope, pull_slope)
    rows[23:26] = seen.meridian, seen.gap, seen.drift
    return rows


def flight(cases: Cases, w: Array, contact: NDArray[np.bool_], steps: int) -> list[tuple[Array, Array]]:
    """Trace each balloon once more and keep its nodes: [(depth (k, n), states (k, 6, n))] for each span."""
    ringed = _ringed(cases)
    fractions = np.linspace(0.0, 1.0, steps + 1)[:, None]
    start = _guide_state(w, 0)
    first = cases.control_depth if ringed else cases.height
    end, nodes = kernel.span(_parameters(cases, first), start, steps, 0, keep_nodes=True)
    assert nodes is not None  # noqa: S101 - asked for above
    spans = [(fractions * first, nodes)]
    if ringed:
        bent = _bend(cases, end, np.where(contact, w[2] / BEND, 0.0), 0)
        below = cases.height - cases.control_depth
        _, nodes = kernel.span(_parameters(cases, below), bent, steps, 0, keep_nodes=True)
        assert nodes is not None  # noqa: S101 - asked for above
        spans.append((cases.control_depth + fractions * below, nodes))
    return spans
