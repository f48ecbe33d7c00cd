"""The limits at the key places of a doff: how light the traveller might be there before each limit is met."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.physics.position import LimitMasses, limit_masses
from ringwright.setting.doff import Doff
from ringwright.setting.places import Counts, Places
from ringwright.setting.problem import positions

__all__ = ["KeyLimits", "key_limits"]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyLimits:
    """Eight places of a doff, foot and top of four strokes, with the traveller mass [kg] at each limit, fields (8,)."""

    names: tuple[str, ...]
    places: Places
    masses: LimitMasses


def key_limits(doff: Doff) -> KeyLimits:
    """Trace the limits at foot and top of four strokes: the first, the end of the base, half-way and the last."""
    names, index = _key_places(doff)
    places = doff.places.take(index)
    return KeyLimits(names=names, places=places, masses=limit_masses(positions(doff.choice, places)))


def _key_places(doff: Doff) -> tuple[tuple[str, ...], Counts]:
    row = doff.places_per_stroke
    feet, shares = doff.places.foot_height[::row], doff.places.share[::row]
    strokes = {
        "first stroke": 0,
        "end of the base": int(np.argmin(np.abs(feet - doff.problem.shape.base_height))),
        "half-way": int(np.argmin(np.abs(shares - 0.5))),
        "last stroke": len(feet) - 1,
    }
    top = int(np.argmax(doff.places.ring_height[:row]))
    names = tuple(f"{name}, {end}" for name in strokes for end in ("foot", "top"))
    return names, np.array([stroke * row + place for stroke in strokes.values() for place in (0, top)])
