"""What a spindle off the ring's centre does by geometry alone: first order, without inertia, balloon or stretch.

It is a limit case and a second route, never the answer: the balloon's and the traveller's own motion make the swing
several times larger.
"""

from __future__ import annotations

import math

__all__ = ["angle_swing", "tension_swing"]


def angle_swing(offset: float, ring_diameter: float, angle: float) -> float:
    """Return by how much the winding angle swings to either side [rad]: 2 e / D over the cosine of the angle [rad].

    Range: offsets [m] small against the ring [m], a traveller that runs at one speed. Derived here, first order.
    """
    return 2 * offset / ring_diameter / math.cos(angle)


def tension_swing(offset: float, ring_diameter: float, angle: float, friction: float) -> float:
    """Return by what share the winding tension swings to either side, once in each turn of the traveller.

    (2 e / D) (1 - mu tan a) / (sin a + mu cos a), from the angle's swing and Krause's relation. Range: as angle_swing;
    without the traveller's inertia, the balloon's answer and the yarn's stretch. Derived here, first order.
    """
    share = (1 - friction * math.tan(angle)) / (math.sin(angle) + friction * math.cos(angle))
    return 2 * offset / ring_diameter * share
