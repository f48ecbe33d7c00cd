"""What the equations of the moving yarn lack at a moment: nought when the motion is the true one.

Unknowns z (m,): the inner places of each span (3 each), the traveller's angle, and where a control ring presses the
contact's azimuth and its place along the yarn; then, without rates, the tensions of each span and the bend at the
control ring.  The equations are those of docs/explanation/off-centre.md, on a grid whose nodes slide along the yarn.
kernel/motion.c does the same in C; a test holds the two together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.physics.motion.contacts import At, through_control_ring, traveller
from ringwright.physics.motion.nodes import nodes
from ringwright.physics.motion.strand import (
    AXIS,
    CONTROL_RING,
    GUIDE,
    RING,
    Moving,
    Strand,
    offset,
    on_circle,
    sizes,
    yarn_length,
)
from ringwright.physics.motion.waves import ACROSS_AXIS, QUARTER_TURN, TINY, Complex
from ringwright.physics.real import Array

__all__ = ["SEEN", "lacking"]

SEEN = ("guide_tension", "ring_tension", "winding_tension", "flow", "length", "content", "angle", "normal", "bend")
"""What a moment shows beside what it lacks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Span:
    """One span at a moment."""

    momentum: Complex
    constraint: Complex
    upper: Complex
    """(T - flow^2) t at the upper end, the flow being that past the end."""
    lower: Complex
    upper_tension: Complex
    content: Complex
    """Unstretched yarn by the length of the shape itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ends:
    """Where the spans begin and end in space (guide, control ring, traveller) and along the yarn."""

    points: list[Moving]
    extents: list[tuple[Moving, Moving]]
    """Of each span: where it starts along the yarn, and how long it is."""


def _unit(vector: Complex) -> Complex:
    unit: Complex = vector / np.sqrt(np.sum(vector**2, axis=-1, keepdims=True))
    return unit


def _body(strand: Strand, at: Moving, past: tuple[Complex, Complex], extent: Moving) -> tuple[Complex, Complex]:
    """Give inertia, air and weight at each place (..., N + 1, 3), and the yarn's direction there."""
    grid, cases = nodes(strand.pieces), strand.cases
    by_length = (1.0 / extent[0])[..., None, None]
    slope = (grid.slope @ at[0]) * by_length
    swing = (grid.slope @ at[1]) * by_length
    curve = (grid.slope @ slope) * by_length
    by, rate = past[0][..., None], past[1][..., None]
    moved = at[1] + by * slope
    change = at[2] + 2.0 * by * swing + by**2 * curve + rate * slope
    direction = _unit(slope)
    wind = at[1] + at[0] @ QUARTER_TURN.T
    wind = wind - np.sum(wind * direction, axis=-1, keepdims=True) * direction
    drag = cases.drag * np.sqrt(np.sum(wind**2, axis=-1, keepdims=True) + TINY) * wind
    body = change + 2.0 * (moved @ QUARTER_TURN.T) - at[0] @ ACROSS_AXIS + drag - cases.gravity * AXIS
    return body, direction


def _span(strand: Strand, at: Moving, extent: tuple[Moving, Moving], tension: Complex, rest: Array) -> _Span:
    """Write the equations of one span whose places move as ``at``, with its tensions now and at rest."""
    grid = nodes(strand.pieces)
    start, length = extent
    # The nodes slide along the yarn; the yarn passes them at the rate ``past``.
    past = strand.cases.feed - start[1][..., None] - grid.places * length[1][..., None]
    past_rate = -start[2][..., None] - grid.places * length[2][..., None]
    past_rate = past_rate - 2.0 * past * (length[1] / length[0])[..., None]
    body, direction = _body(strand, at, (past, past_rate), length)
    between = (grid.slope_between @ at[0]) / length[0][..., None, None]
    size = np.sqrt(np.sum(between**2, axis=-1))
    share = grid.place_weights[:, None] * length[0][..., None, None]
    balance = share * body + grid.gather @ (tension[..., None] * between)
    natural = 1.0 + strand.stretch * (tension - rest)
    carried = (past**2)[..., None] * direction
    return _Span(
        momentum=(balance / share)[..., 1:-1, :],
        constraint=size - natural,
        upper=-balance[..., 0, :] - carried[..., 0, :],
        lower=balance[..., -1, :] - carried[..., -1, :],
        upper_tension=tension @ grid.ends[0],
        content=length[0] * np.sum(grid.weights * size / natural, axis=-1),
    )


def _ends(strand: Strand, states: Moving, time: float) -> _Ends:
    """Find the ends from the traveller's angle and the contact's azimuth and place along the yarn."""
    at = 3 * (strand.pieces - 1) * (2 if strand.pressed else 1)
    angle = _pick(states, at)
    guide = offset(strand, GUIDE, time)
    place = on_circle(offset(strand, RING, time), np.ones(()), strand.cases.height, angle)
    length = yarn_length(strand, place, angle[0])
    zero = np.zeros_like(angle[0])
    if not strand.pressed:
        return _Ends(points=[guide, place], extents=[((zero, zero, zero), length)])
    centre = offset(strand, CONTROL_RING, time)
    touch = on_circle(centre, strand.cases.control_radius, strand.cases.control_depth, _pick(states, at + 1))
    along = _pick(states, at + 2)
    left = (length[0] - along[0], length[1] - along[1], length[2] - along[2])
    return _Ends(points=[guide, touch, place], extents=[((zero, zero, zero), along), (along, left)])


def _pick(states: Moving, at: int) -> Moving:
    return states[0][..., at], states[1][..., at], states[2][..., at]


def _spread(strand: Strand, states: Moving, span: int, ends: _Ends) -> Moving:
    """Put the inner places of a span between its ends."""
    inner = strand.pieces - 1
    there = slice(3 * inner * span, 3 * inner * (span + 1))
    spread = []
    for order, state in enumerate(states):
        lead = state.shape[:-1]
        places = state[..., there].reshape((*lead, inner, 3))
        first, last = (np.broadcast_to(end[order], (*lead, 3))[..., None, :] for end in ends.points[span : span + 2])
        spread.append(np.concatenate([first, places, last], axis=-2))
    return spread[0], spread[1], spread[2]


def lacking(strand: Strand, z: Complex, rates: tuple[Complex, Complex], time: float) -> tuple[Complex, Complex]:
    """Give what the equations lack (..., m), and what is seen (..., 9) in the order of ``SEEN``."""
    cases, moving = strand.cases, sizes(strand)[0]
    inner = 3 * (strand.pieces - 1) * (2 if strand.pressed else 1)
    states = (z, *rates)
    ends = _ends(strand, states, time)
    spans = []
    for at, extent in enumerate(ends.extents):
        there = slice(at * strand.pieces, (at + 1) * strand.pieces)
        tension = z[..., moving:][..., there]
        spans.append(_span(strand, _spread(strand, states, at, ends), extent, tension, strand.rest_tension[there]))
    angle, length = _pick(states, inner), yarn_length(strand, ends.points[-1], z[..., inner])
    flow = cases.feed - length[1]
    sense = np.tanh(flow / strand.soft) if strand.soft > 0.0 else np.ones_like(flow)
    there_now = At(
        force=spans[-1].lower, place=ends.points[-1][0], angle=angle[0], turning=angle[1], flow=flow, sense=sense
    )
    missing, ring, winding, normal = traveller(cases, there_now)
    rows = [span.momentum.reshape(*z.shape[:-1], -1) for span in spans]
    rows.append((missing + cases.mass * angle[2])[..., None])
    if strand.pressed:
        rows.append(spans[1].upper - _past_control_ring(strand, states, spans[0].lower))
    rows += [span.constraint for span in spans]
    content = spans[0].content + (spans[1].content if strand.pressed else 0.0)
    bend = z[..., -1] if strand.pressed else np.zeros_like(flow)
    seen = (spans[0].upper_tension, ring, winding, flow, length[0], content, angle[0], normal, bend)
    return np.concatenate(rows, axis=-1), np.stack(seen, axis=-1)


def _past_control_ring(strand: Strand, states: Moving, arriving: Complex) -> Complex:
    at = 3 * (strand.pieces - 1) * 2 + 1
    contact, along = _pick(states, at), _pick(states, at + 1)
    slip = -along[1] / (strand.cases.control_radius * (1.0 + contact[1]))
    return through_control_ring(strand.cases, arriving, azimuth=contact[0], bend=states[0][..., -1], slip=slip)
