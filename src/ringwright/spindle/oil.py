"""The oil of a spindle and what its film damps."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.mill.rotor import Rotor
from ringwright.physics.oil_damper import FREEZING, film_damping, squeeze_reynolds, viscosity_at, viscosity_hot

__all__ = ["Oil", "oil_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Oil:
    """Oil at work: kinematic [m2/s] and dynamic viscosity [Pa s], damping of the foot's film [N s/m]."""

    kinematic: float
    dynamic: float
    damping: float

    def reynolds(self, rotor: Rotor, spin: float) -> float:
        """Give the squeeze Reynolds number [1] at a spin [rad/s]: how much the oil's inertia counts."""
        return squeeze_reynolds(rotor.oil_density, self.dynamic, rotor.film_gap, spin)


def oil_of(rotor: Rotor, of_mill: Rotor) -> Oil:
    """Give the oil at its temperature; one that is tried thins with warmth as the mill's own oil does.

    (Assumed; see ``viscosity_hot``.)
    """
    hot = rotor.oil_viscosity_hot
    if rotor.oil_viscosity != of_mill.oil_viscosity:
        hot = viscosity_hot(rotor.oil_viscosity, (of_mill.oil_viscosity, of_mill.oil_viscosity_hot))
    kinematic = viscosity_at(rotor.oil_celsius + FREEZING, rotor.oil_viscosity, hot)
    dynamic = kinematic * rotor.oil_density
    return Oil(
        kinematic=kinematic,
        dynamic=dynamic,
        damping=film_damping(dynamic, rotor.film_radius, rotor.film_length, rotor.film_gap),
    )
