"""Where the yarn's share of the spindle's power goes: traveller, balloon, control ring, and drawing the yarn in.

The wound yarn pulls at the cop's radius c with the winding tension. Seen from the turning traveller the torque T_w c
holds against the traveller's friction, the balloon's drag and the control ring; the spindle turns faster than the
traveller by the winding, and that part, T_w V, draws the yarn in over traveller, control ring and guide.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.physics.position import Positions, Solutions
from ringwright.physics.real import Array

__all__ = ["YarnPower", "yarn_power"]


@dataclass(frozen=True, slots=True, kw_only=True)
class YarnPower:
    """Power of the yarn's parts at n positions [W], each (n,); nan where there is no steady balloon."""

    supplied: Array
    """Winding torque times the traveller's speed: what traveller, balloon and control ring must add up to."""
    traveller: Array
    """Friction of traveller on ring."""
    balloon: Array
    """Drag of the air on the balloon, from the solved shape."""
    control_ring: Array
    """Friction of the yarn round the control ring."""
    feed: Array
    """Turning the yarn that passes through the balloon up to speed; nought where the feed is left out."""

    @property
    def imbalance(self) -> Array:
        """What the parts leave of the supply, as a share of it: the error of the solution."""
        return 1 - (self.traveller + self.balloon + self.control_ring + self.feed) / self.supplied


def yarn_power(positions: Positions, solutions: Solutions) -> YarnPower:
    """Return the powers of solved positions.

    The balloon's drag torque is that of the pull q on the traveller, a q_t, less the control ring's friction. q comes
    from the shape's tension at the ring and its parts along the axis and the radius, so that the sum of the parts
    against the supply is a check of the solution, not an identity: N_r = M w^2 a - q_r - T_w cos g gives q_r, then
    q_t^2 = |q|^2 - q_r^2 - q_z^2. Source: docs/explanation/balloon.md.
    """
    p, s = positions, solutions
    ring, speed = p.ring_diameter / 2, p.traveller_speed
    flow = p.yarn_linear_density * p.feed_speed**2
    sine = p.winding_diameter / p.ring_diameter
    winding, pull = s.winding_tension - flow, s.ring_tension - flow
    pressed = p.traveller_mass * speed**2 * ring
    q_r = pressed - s.ring_force_radial - winding * np.sqrt(1 - sine**2)
    q_t = np.sqrt(np.maximum(pull**2 - q_r**2 - s.ring_force_axial**2, 0.0))
    control = p.control_ring_friction * s.control_ring_force * p.control_ring_diameter / 2
    feed = p.yarn_linear_density * p.feed_speed * speed * ring**2
    return YarnPower(
        supplied=winding * sine * ring * speed,
        traveller=p.ring_traveller_friction * s.ring_force * ring * speed,
        balloon=(ring * q_t - control - feed) * speed,
        control_ring=control * speed,
        feed=feed * speed,
    )
