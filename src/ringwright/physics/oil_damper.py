"""The oil of the foot step: how thick it is at a temperature, and how much a film of it damps.

Left out: the inertia of the oil (see ``squeeze_reynolds``), air drawn into the film, and a film that tears when the
foot moves over a large part of its gap; each makes the damping less or adds mass.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from ringwright.sources import Cited

__all__ = ["FREEZING", "film_damping", "squeeze_reynolds", "viscosity_at", "viscosity_hot"]

FREEZING: Final = Cited(273.15, "K", source="SI-brochure", where="0 degrees Celsius")
_SHIFT: Final = Cited(0.7, "mm2/s", source="ASTM-D341", where="lg lg (v + 0.7) = A - B lg T")
_COOL: Final = Cited(313.15, "K", source="ISO-3448", where="viscosity is graded at 40 degrees")
_HOT: Final = Cited(373.15, "K", source="ASTM-D341", where="second point usually stated, 100 degrees")


def viscosity_at(kelvin: float, at_40: float, at_100: float) -> float:
    """Return the kinematic viscosity [m2/s] of an oil at a temperature [K] from those at 40 and 100 degrees [m2/s].

    Walther's equation, lg lg (v + 0.7) = A - B lg T with v in mm2/s. Range: 2 mm2/s and more, some -20 to 150 degrees.
    Source: ASTM D341, from memory.
    """
    slope = (_walther(at_40) - _walther(at_100)) / np.log10(_HOT / _COOL)
    return _from_walther(float(_walther(at_40) - slope * np.log10(kelvin / _COOL)))


def viscosity_hot(at_40: float, like: tuple[float, float]) -> float:
    """Return the viscosity at 100 degrees [m2/s] of an oil from that at 40, if it thins as another oil does.

    ``like`` are the other oil's viscosities at 40 and at 100 degrees [m2/s]. On Walther's scale both fall alike, which
    is our assumption for oils of one family.
    """
    return _from_walther(_walther(at_40) - _walther(like[0]) + _walther(like[1]))


def _walther(viscosity: float) -> float:
    return float(np.log10(np.log10(1e6 * viscosity + _SHIFT)))


def _from_walther(scale: float) -> float:
    return float(1e-6 * (10 ** (10**scale) - _SHIFT))


def film_damping(viscosity: float, radius: float, length: float, gap: float) -> float:
    """Return the damping [N s/m] of a full, centred squeeze film with open ends.

    ``viscosity`` dynamic [Pa s]; ``radius``, ``length`` and radial ``gap`` of the film [m].
    12 pi (viscosity) (R/c)^3 L (1 - tanh(L/D) / (L/D)); short films give pi (viscosity) R L^3 / c^3. A film that
    tears over half its round damps half as much. Source: Reynolds's equation; the form after San Andres, from memory.
    """
    slender = length / (2 * radius)
    open_ends = 1 - np.tanh(slender) / slender
    return float(12 * np.pi * viscosity * (radius / gap) ** 3 * length * open_ends)


def squeeze_reynolds(density: float, viscosity: float, gap: float, spin: float) -> float:
    """Return density x spin x gap^2 / viscosity [1], SI; above about 10 the oil's inertia counts beside its drag."""
    return density * spin * gap**2 / viscosity
