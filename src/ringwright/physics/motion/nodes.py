"""Nodes along a span and the matrices between them: places at Lobatto's nodes, tensions at Gauss's between.

The yarn's places are a polynomial through the N + 1 Legendre-Gauss-Lobatto nodes of [0, 1], its tension one through the
N Legendre-Gauss nodes, so that there is one tension for each statement that the yarn does not stretch.  The motion is
balanced over each place's share of the yarn (Galerkin's form with Lobatto's quadrature), so that tensions pull on the
places just as these stretch the yarn, and no energy comes from the grid.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.polynomial import legendre

from ringwright.physics.real import Array

__all__ = ["Nodes", "nodes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Nodes:
    """N pieces: places at N + 1 nodes, tensions at N."""

    places: Array
    """(N + 1,) from 0 to 1."""
    tensions: Array
    """(N,)"""
    weights: Array
    """(N,) of Gauss's quadrature over [0, 1]."""
    place_weights: Array
    """(N + 1,) of Lobatto's quadrature: each node's share of the span."""
    slope: Array
    """(N + 1, N + 1): slope at the places of what is given there."""
    slope_between: Array
    """(N, N + 1): slope at the tensions' nodes of what is given at the places."""
    gather: Array
    """(N + 1, N): pull on each place of forces at the tensions' nodes, the weighted transpose of ``slope_between``."""
    ends: Array
    """(2, N): values at 0 and 1 of what is given at the tensions' nodes."""


def _weights(at: Array) -> Array:
    difference = 4.0 * (at[:, None] - at[None, :])
    np.fill_diagonal(difference, 1.0)
    weights: Array = 1.0 / np.prod(difference, axis=1)
    return weights


def _values(at: Array, wanted: Array) -> Array:
    """Interpolate from ``at`` to other places ``wanted`` (barycentric)."""
    terms = _weights(at) / (wanted[:, None] - at[None, :])
    matrix: Array = terms / terms.sum(axis=1, keepdims=True)
    return matrix


def _slopes(at: Array) -> Array:
    """Differentiate at the nodes themselves."""
    weights = _weights(at)
    difference = at[:, None] - at[None, :]
    np.fill_diagonal(difference, 1.0)
    matrix: Array = weights[None, :] / weights[:, None] / difference
    np.fill_diagonal(matrix, 0.0)
    np.fill_diagonal(matrix, -matrix.sum(axis=1))
    return matrix


@cache
def nodes(pieces: int) -> Nodes:
    """Make the nodes and matrices of a span cut into ``pieces`` (even, so that no two nodes of the two kinds meet)."""
    polynomial = np.zeros(pieces + 1)
    polynomial[pieces] = 1.0
    inner = np.sort(np.real(legendre.legroots(legendre.legder(polynomial))))
    places = 0.5 * (1.0 + np.concatenate([[-1.0], inner, [1.0]]))
    roots, weights = legendre.leggauss(pieces)
    tensions = 0.5 * (1.0 + roots)
    slope = _slopes(places)
    slope_between = _values(places, tensions) @ slope
    height = np.asarray(legendre.legval(2.0 * places - 1.0, polynomial), dtype=np.float64)
    return Nodes(
        places=places,
        tensions=tensions,
        weights=0.5 * weights,
        place_weights=1.0 / (pieces * (pieces + 1) * height**2),
        slope=slope,
        slope_between=slope_between,
        gather=(0.5 * weights[:, None] * slope_between).T,
        ends=_values(tensions, np.array([0.0, 1.0])),
    )
