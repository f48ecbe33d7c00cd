"""Many spinning positions in dimensionless form, as the balloon's equations want them."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

__all__ = ["Array", "Cases", "Index"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cases:
    """Dimensionless positions, each field (n,): lengths in ring radii a, forces in m w^2 a^2, masses in m a.

    ``drag`` is p0/16, ``feed`` V/(w a), ``gravity`` g/(w^2 a), ``cop`` the winding radius, ``fixed_ratio`` the ratio of
    winding to ring tension where it is given (0 = by wrap), ``control_radius`` 0 where no control ring is fitted,
    ``wall`` the radius at which the balloon touches the separator (nan = not given).
    """

    height: Array
    drag: Array
    feed: Array
    gravity: Array
    cop: Array
    ring_friction: Array
    yarn_friction: Array
    fixed_ratio: Array
    mass: Array
    control_radius: Array
    control_depth: Array
    control_friction: Array
    wall: Array

    def __len__(self) -> int:
        """Count the cases."""
        return int(self.height.shape[0])

    @property
    def rows(self) -> Array:
        """Stack all fields but ``wall``, (12, n), in the order that balloon.c names them."""
        return np.stack([getattr(self, field.name) for field in fields(self)[:-1]])

    def take(self, index: Index | NDArray[np.bool_]) -> Cases:
        """Pick some of the cases."""
        return Cases(**{field.name: getattr(self, field.name)[index] for field in fields(self)})
