"""The NumPy route: the same integration as balloon.c, on whole arrays."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

__all__ = ["span"]

Array = NDArray[np.float64]

_S = sqrt(21.0)
# Cooper and Verner's eighth-order method with eleven stages (from memory; its order is tested): (from stage, weight).
_STAGES: tuple[tuple[tuple[int, float], ...], ...] = (
    ((0, 0.5),),
    ((0, 0.25), (1, 0.25)),
    ((0, 1 / 7), (1, (-7 - 3 * _S) / 98), (2, (21 + 5 * _S) / 49)),
    ((0, (11 + _S) / 84), (2, (18 + 4 * _S) / 63), (3, (21 - _S) / 252)),
    ((0, (5 + _S) / 48), (2, (9 + _S) / 36), (3, (-231 + 14 * _S) / 360), (4, (63 - 7 * _S) / 80)),
    (
        (0, (10 - _S) / 42),
        (2, (-432 + 92 * _S) / 315),
        (3, (633 - 145 * _S) / 90),
        (4, (-504 + 115 * _S) / 70),
        (5, (63 - 13 * _S) / 35),
    ),
    ((0, 1 / 14), (4, (14 - 3 * _S) / 126), (5, (13 - 3 * _S) / 63), (6, 1 / 9)),
    (
        (0, 1 / 32),
        (4, (91 - 21 * _S) / 576),
        (5, 11 / 72),
        (6, (-385 - 75 * _S) / 1152),
        (7, (63 + 13 * _S) / 128),
    ),
    (
        (0, 1 / 14),
        (4, 1 / 9),
        (5, (-733 - 147 * _S) / 2205),
        (6, (515 + 111 * _S) / 504),
        (7, (-51 - 11 * _S) / 56),
        (8, (132 + 28 * _S) / 245),
    ),
    (
        (4, (-42 + 7 * _S) / 18),
        (5, (-18 + 28 * _S) / 45),
        (6, (-273 - 53 * _S) / 72),
        (7, (301 + 53 * _S) / 72),
        (8, (28 - 28 * _S) / 45),
        (9, (49 - 7 * _S) / 18),
    ),
)
_LAST = ((0, 1 / 20), (7, 49 / 180), (8, 16 / 45), (9, 49 / 180), (10, 1 / 20))
_TINY = 1e-300


def _slope(parameters: Array, state: Array, tangents: int) -> Array:
    """Give d/dz of states and tangents; the equations stand at the head of balloon.c."""
    drag, feed, gravity = parameters[0], parameters[1], parameters[2]
    slope = np.empty_like(state)
    x, y, qx, qy, qz = state[:5]
    q = np.sqrt(qx * qx + qy * qy + qz * qz)
    tx, ty, tz = qx / q, qy / q, qz / q
    w = x * ty - y * tx
    nx, ny, nz = -y - w * tx, x - w * ty, -w * tz
    n = np.sqrt(nx * nx + ny * ny + nz * nz)
    pull = drag * n
    ax, ay, az = -x - 2 * feed * ty + pull * nx, -y + 2 * feed * tx + pull * ny, pull * nz - gravity
    f = q / qz
    slope[0], slope[1], slope[2], slope[3], slope[4], slope[5] = qx / qz, qy / qz, f * ax, f * ay, f * az, f
    for first in range(6, 6 + 5 * tangents, 5):
        dx, dy, dqx, dqy, dqz = state[first : first + 5]
        dq = tx * dqx + ty * dqy + tz * dqz
        dtx, dty, dtz = (dqx - tx * dq) / q, (dqy - ty * dq) / q, (dqz - tz * dq) / q
        dw = dx * ty + x * dty - dy * tx - y * dtx
        dnx, dny, dnz = -dy - dw * tx - w * dtx, dx - dw * ty - w * dty, -dw * tz - w * dtz
        dpull = drag / (n + _TINY) * (nx * dnx + ny * dny + nz * dnz)
        df = (dq - f * dqz) / qz
        slope[first] = (dqx - slope[0] * dqz) / qz
        slope[first + 1] = (dqy - slope[1] * dqz) / qz
        slope[first + 2] = df * ax + f * (-dx - 2 * feed * dty + dpull * nx + pull * dnx)
        slope[first + 3] = df * ay + f * (-dy + 2 * feed * dtx + dpull * ny + pull * dny)
        slope[first + 4] = df * az + f * (dpull * nz + pull * dnz)
    return slope


def _sum(weights: tuple[tuple[int, float], ...], slopes: list[Array]) -> Array:
    total = weights[0][1] * slopes[weights[0][0]]
    for stage, weight in weights[1:]:
        total += weight * slopes[stage]
    return total


def span(
    parameters: Array, state: Array, steps: int, tangents: int, *, keep_nodes: bool = False
) -> tuple[Array, Array | None]:
    """Do what ``kernel.span`` says, with NumPy."""
    carried = np.array(state, dtype=np.float64, copy=True)
    dz = parameters[3] / steps
    nodes = [carried[:6].copy()]
    # A trial far from any balloon may leave the range where q_z > 0; the caller sees the non-number and refuses it.
    with np.errstate(all="ignore"):
        for _ in range(steps):
            slopes = [_slope(parameters, carried, tangents)]
            for weights in _STAGES:
                slopes.append(_slope(parameters, carried + dz * _sum(weights, slopes), tangents))
            carried += dz * _sum(_LAST, slopes)
            nodes.append(carried[:6].copy())
    return carried, np.stack(nodes) if keep_nodes else None
