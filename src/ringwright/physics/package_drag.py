"""The air's drag on the spinning package: skin friction of a rotating cylinder, slice by slice up the spindle.

The law is for a smooth cylinder that turns in air at rest; hairs make the drag of a yarn package larger by a factor.
Left out: the flat ends, the wind of the balloon and of neighbouring spindles, and the spindle below the tube.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

import numpy as np

from ringwright.physics.real import Array
from ringwright.sources import Cited

__all__ = ["AIR_VISCOSITY", "HAIRINESS", "package_drag_power", "skin_friction"]

_OFFSET: Final = Cited(-0.6, "1", source="Theodorsen-Regier-1944", where="1/root C = -0.6 + 4.07 lg(Re root C)")
_SLOPE: Final = Cited(4.07, "1", source="Theodorsen-Regier-1944", where="1/root C = -0.6 + 4.07 lg(Re root C)")

AIR_VISCOSITY: Final = Cited(1.82e-5, "Pa s", source="air-from-memory", where="dry air at 20 degrees")
HAIRINESS: Final[Mapping[str, Cited]] = MappingProxyType(
    {
        "cotton": Cited(1.25, "1", source="Tang-2006", where="abstract: cotton package about a quarter more"),
        "wool": Cited(4 / 3, "1", source="Tang-2006", where="abstract: wool package about a third more"),
        "smooth": Cited(1.0, "1", source="our-estimate", where="no hairs"),
    }
)
Hairs = Literal["cotton", "wool", "smooth"]


def skin_friction(reynolds: Array) -> Array:
    """Return the friction coefficient C [1] of a rotating cylinder at Reynolds numbers w r^2/nu, any shape.

    Turbulent: 1/root C = -0.6 + 4.07 lg(Re root C); laminar: C = 4/Re, exact for a long cylinder in air at rest; the
    larger of the two holds. C = wall stress over rho (w r)^2 / 2. Range: Re up to 5 million in the source's trials.
    Source: Theodorsen and Regier 1944, from memory.
    """
    number = np.asarray(reynolds, dtype=np.float64)
    # With y = 1/root C the law reads y + 4.07 lg y = -0.6 + 4.07 lg Re; the left side rises, so Newton is safe.
    wanted = _OFFSET + _SLOPE * np.log10(np.maximum(number, 10.0))
    root = np.maximum(wanted, 1.0)
    for _ in range(20):
        step = (root + _SLOPE * np.log10(root) - wanted) / (1 + _SLOPE / np.log(10) / root)
        root = np.maximum(root - step, 1e-3)
        if np.all(np.abs(step) <= 1e-12 * root):
            break
    return np.asarray(np.maximum(root**-2, 4 / number), dtype=np.float64)


def package_drag_power(
    diameters: Array, heights: Array, spindle_speed: Array, air_density: float, hairiness: Array | float = 1.0
) -> Array:
    """Return the power [W] that turns packages in air, (n,), from their outlines.

    ``diameters`` (n, k) [m] at the heights (k,) [m], ``spindle_speed`` (n,) [rad/s], ``hairiness`` the factor on the
    smooth cylinder's drag, a number or (n, k). Each slice takes rho/2 C (w r)^3 2 pi r dz; the trapezoid rule adds
    them. Source: ``skin_friction``; hairiness from Tang, Wang, Wang and Fraser 2006 (abstract).
    """
    radius, speed = np.asarray(diameters) / 2, np.asarray(spindle_speed)[:, None]
    coefficient = skin_friction(air_density * speed * radius**2 / AIR_VISCOSITY)
    slices = air_density / 2 * coefficient * (speed * radius) ** 3 * 2 * np.pi * radius * hairiness
    return np.asarray(np.trapezoid(slices, heights, axis=1), dtype=np.float64)
