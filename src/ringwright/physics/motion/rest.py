"""The steady balloon as the state at rest in the traveller's frame, about which everything here moves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.cases import Cases, Index
from ringwright.physics.family import Point
from ringwright.physics.outcome import Outcome
from ringwright.physics.position import Positions, blocks, scaled
from ringwright.physics.real import Array
from ringwright.physics.shoot import BEND, flight
from ringwright.physics.taut import find

__all__ = ["PIECES", "Rest", "Span", "at_rest", "rests"]

PIECES = 128
"""Pieces into which a span is cut; each has a node at both ends and one in the middle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Nodes of one span of n balloons at equal steps of depth, from its upper end to its lower, dimensionless."""

    place: Array
    """(n, k, 3) x, y, z; the traveller lies at azimuth 0."""
    force: Array
    """(n, k, 3) q = (T - u^2) t."""
    length: Array
    """(n, k) yarn from the guide."""
    step: Array
    """(n,) depth between two nodes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """Steady balloons of n cases, all pressed by a control ring (two spans) or all free (one span)."""

    cases: Cases
    spans: tuple[Span, ...]
    bend: Array
    """(n,) angle by which the control ring turns the yarn; nought where the balloon is free."""

    @property
    def pressed(self) -> bool:
        """Whether the control ring presses."""
        return len(self.spans) == 2


def rests(positions: Positions, pieces: int = PIECES) -> list[tuple[Index, Rest]]:
    """Solve the positions; gives the steady ones in groups that are alike, each with the places of its cases."""
    groups = []
    for block in blocks(positions):
        cases = scaled(positions.take(block))
        found = find(cases)
        steady = found.outcome == Outcome.STEADY
        for pressed in (False, True):
            index = np.flatnonzero(steady & (found.point.contact == pressed))
            if index.size:
                groups.append((block[index], at_rest(cases.take(index), found.point.take(index), pieces)))
    return groups


def at_rest(cases: Cases, point: Point, pieces: int = PIECES) -> Rest:
    """Trace solved balloons, all pressed by a control ring or none, turned so that the traveller is at azimuth 0.

    A control ring that the balloon does not touch is left out.
    """
    pressed = bool(point.contact[0])
    if not pressed:
        # The way down is then one span, whatever control ring hangs about it.
        cases = Cases(**{**_fields(cases), "control_radius": np.zeros(len(cases))})
    raw = flight(cases, point.w, point.contact, 2 * pieces)
    end = raw[-1][1][-1]
    turn = np.arctan2(end[1], end[0])
    bend = np.where(point.contact, point.w[2] / BEND, 0.0)
    return Rest(cases=cases, spans=tuple(_span(depth, states, turn) for depth, states in raw), bend=bend)


def _fields(cases: Cases) -> dict[str, Array]:
    return {name: getattr(cases, name) for name in cases.__slots__}


def _span(depth: Array, states: NDArray[np.float64], turn: Array) -> Span:
    cosine, sine = np.cos(turn), np.sin(turn)

    def turned(x: Array, y: Array, z: Array) -> Array:
        return np.stack([cosine * x + sine * y, cosine * y - sine * x, z], axis=-1).swapaxes(0, 1)

    return Span(
        place=turned(states[:, 0], states[:, 1], depth),
        force=turned(states[:, 2], states[:, 3], states[:, 4]),
        length=states[:, 5].T,
        step=(depth[-1] - depth[0]) / (depth.shape[0] - 1),
    )
