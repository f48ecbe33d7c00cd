"""The yarn's way from the front roller over the guide eyelet into the balloon.

The eyelet stands on the spindle axis. Above it the yarn leads to the front-roller nip, leaning to one side; below it
the balloon's first tangent, leaning by the guide angle, turns round the axis once a revolution. The yarn slides over
the eyelet towards the balloon, so the tension above is lower by exp(-friction * wrap) (Euler's rope friction).
Left out: the eyelet's own width and the stiffness of the yarn, both small against a turn of tens of degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

__all__ = ["TriangleTension", "angle_to_vertical", "triangle_tension", "wrap_angle"]

Array: TypeAlias = npt.NDArray[np.float64]
Numbers: TypeAlias = Array | float


@dataclass(frozen=True, slots=True, kw_only=True)
class TriangleTension:
    """Tension at the spinning triangle [N] over one revolution of the balloon: its mean, least and most."""

    mean: Array
    least: Array
    most: Array


def angle_to_vertical(nip_offset: Numbers, nip_rise: Numbers) -> Array:
    """Angle [rad] of the yarn between eyelet and nip to the spindle axis; shapes broadcast.

    ``nip_offset`` is the horizontal distance [m] from the axis to the nip, ``nip_rise`` the nip's height above the
    eyelet [m].
    """
    return np.asarray(np.arctan2(nip_offset, nip_rise), dtype=np.float64)


def wrap_angle(lean: Numbers, guide_angle: Numbers, azimuth: Numbers) -> Array:
    """Angle [rad] by which the yarn turns at the eyelet; shapes broadcast.

    ``lean`` is the angle to the vertical above the eyelet, ``guide_angle`` that of the balloon's tangent below it,
    ``azimuth`` the tangent's place round the axis, 0 on the nip's side; all in rad. The directions above and below are
    (-sin l, 0, -cos l) and (sin a cos f, sin a sin f, -cos a); half their difference is the sine of half the turn,
    a form that stays exact where the turn is small.
    """
    half_squared = (
        np.sin((np.asarray(lean) - guide_angle) / 2) ** 2
        + np.sin(lean) * np.sin(guide_angle) * np.cos(np.asarray(azimuth) / 2) ** 2
    )
    return np.asarray(2 * np.arcsin(np.sqrt(np.clip(half_squared, 0.0, 1.0))), dtype=np.float64)


def triangle_tension(guide_tension: Numbers, guide_angle: Numbers, lean: Numbers, friction: Numbers) -> TriangleTension:
    """Tension at the spinning triangle [N] from the tension below the eyelet [N]; shapes broadcast.

    ``guide_angle`` and ``lean`` in rad, ``friction`` of yarn on eyelet [1]. The mean is over one revolution at constant
    speed; the balloon's two halves mirror each other, so half a turn is integrated, by 16 Gauss-Legendre points.
    """
    tension, angle, slope, mu = (
        np.asarray(value, dtype=np.float64) for value in (guide_tension, guide_angle, lean, friction)
    )
    azimuths, weights = _half_turn()
    along = wrap_angle(slope[..., None], angle[..., None], azimuths)
    mean = np.sum(weights * np.exp(-mu[..., None] * along), axis=-1)
    return TriangleTension(
        mean=tension * mean,
        least=tension * np.exp(-mu * wrap_angle(slope, angle, 0.0)),
        most=tension * np.exp(-mu * wrap_angle(slope, angle, np.pi)),
    )


@cache
def _half_turn() -> tuple[Array, Array]:
    nodes, weights = np.polynomial.legendre.leggauss(16)
    return np.pi * (nodes + 1) / 2, weights / 2
