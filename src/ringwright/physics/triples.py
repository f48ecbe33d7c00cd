"""Algebra of triples: vectors of three components for n cases at once, (3, n); much quicker than general sums."""

from __future__ import annotations

import numpy as np

from ringwright.physics.cases import Array

__all__ = ["cross", "dot", "length", "solve", "through"]


def dot(a: Array, b: Array) -> Array:
    """Give the scalar product of each pair."""
    product: Array = a[0] * b[0]
    product += a[1] * b[1]
    product += a[2] * b[2]
    return product


def length(a: Array) -> Array:
    """Give the length of each."""
    root: Array = np.sqrt(dot(a, a))
    return root


def cross(a: Array, b: Array) -> Array:
    """Give the vector product of each pair."""
    product: Array = np.empty_like(a)
    product[0] = a[1] * b[2] - a[2] * b[1]
    product[1] = a[2] * b[0] - a[0] * b[2]
    product[2] = a[0] * b[1] - a[1] * b[0]
    return product


def solve(first: Array, second: Array, third: Array, right: tuple[Array, Array, Array]) -> Array:
    """Solve the 3 by 3 systems with rows ``first``, ``second``, ``third`` for three right sides (n,)."""
    c1, c2, c3 = cross(second, third), cross(third, first), cross(first, second)
    with np.errstate(all="ignore"):
        solution: Array = (right[0] * c1 + right[1] * c2 + right[2] * c3) / dot(first, c1)
    return solution


def through(outer: Array, inner: Array) -> Array:
    """Chain slopes: ``outer`` (3, n) by three middle quantities, ``inner`` (3, 3, n) of these by three unknowns."""
    chained: Array = outer[0] * inner[0]
    chained += outer[1] * inner[1]
    chained += outer[2] * inner[2]
    return chained
