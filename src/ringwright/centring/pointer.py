"""Where the eyelet's inner edge must stand against a pointer on the spindle's axis, so that the yarn runs on the axis.

The yarn does not run through the middle of the eyelet. From the nip it leans by the angle l, and bears on the inner
edge on the front rollers' side; the balloon's first tangent, which leans by the guide angle and goes round once in
each turn, draws it along the edge. The push of the yarn on the eyelet, level, is

    (T_above sin l + T_below sin g cos f, T_below sin g sin f),   f the place of the balloon round the axis,

and the yarn lies where the push points, (bore - yarn) / 2 from the eyelet's middle. Its mean place over a turn is to be
on the axis. With k = T_below sin g / (T_above sin l) the mean of the cosine of the push is

    c(k) = mean of (1 + k cos f) / sqrt(1 + 2 k cos f + k^2):   1 at k = 0, 2 / pi at k = 1, towards 0 for large k.

Derived here; left out are the friction round the edge, the wire's thickness and the yarn's stiffness.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal
from ringwright.units import show

__all__ = ["mean_bearing", "pointer_inside"]

_STEPS: Final = 720


def mean_bearing(lean: Array, guide_angle: Array, tension_ratio: Array) -> Array:
    """Return c(k), the mean of the yarn's place in the eyelet towards the front rollers, as a share of its play [1].

    ``lean`` of the yarn above and ``guide_angle`` of the balloon's tangent below, both to the vertical [rad];
    ``tension_ratio`` is the tension above over that below [1]. Shapes broadcast.
    """
    above = np.asarray(tension_ratio) * np.sin(lean)
    below = np.asarray(np.sin(guide_angle))
    place = (np.arange(_STEPS) + 0.5) * 2 * np.pi / _STEPS  # midpoints: at k = 1 the push vanishes at half a turn
    along = above[..., None] + below[..., None] * np.cos(place)
    push = np.hypot(along, below[..., None] * np.sin(place))
    return np.asarray(np.mean(along / np.maximum(push, 1e-300), axis=-1), dtype=np.float64)


def pointer_inside(bore: float, yarn_diameter: float, bearing: Array) -> Array:
    """Return how far inside the eyelet's inner edge, on the front rollers' side, the pointer is to stand [m].

    Half the yarn's diameter where it bears on one place, half the bore where it runs all round. Refusal if the yarn
    does not pass through the eyelet; lengths in m.
    """
    if not 0 < yarn_diameter < bore:
        got, wants = show(bore, "length", "mm"), f"wider than the yarn, {show(yarn_diameter, 'length', 'mm')}"
        raise Refusal(Fault(where="the eyelet's bore", got=got, wants=wants, mend="Look at centring.eyelet_bore."))
    return np.asarray(bore / 2 - (bore - yarn_diameter) / 2 * bearing, dtype=np.float64)
