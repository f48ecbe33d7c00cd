"""Integrate spans of many balloons at once: compiled C where the install could build it, NumPy otherwise.

Both routes compute the same thing; a test compares them.  ``ROUTE`` says in words which one is at work.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.kernel import arrays, library

__all__ = ["ROUTE", "compiled", "shoot", "span"]

compiled = library.available
shoot = library.shoot
ROUTE = "compiled C" if library.available() else "NumPy (no compiled library was found; some fifty times slower)"


def span(
    parameters: NDArray[np.float64],
    state: NDArray[np.float64],
    steps: int,
    tangents: int,
    *,
    keep_nodes: bool = False,
) -> tuple[NDArray[np.float64], NDArray[np.float64] | None]:
    """Carry ``state`` down one span of the balloon in ``steps`` equal steps of depth.

    ``parameters`` (4, n): p0/16, u, G, depth of the span.  ``state`` (6 + 5 tangents, n): x, y, q_x, q_y, q_z, yarn
    length, then five rows for each tangent; all dimensionless (ring radii, m w^2 a^2).  Returns the state at the end,
    and with ``keep_nodes`` the first six rows at every step, (steps + 1, 6, n).
    """
    route = library.span if library.available() else arrays.span
    return route(parameters, state, steps, tangents, keep_nodes=keep_nodes)
