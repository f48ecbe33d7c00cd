"""A second route to the balloon, for tests: stepped along the yarn, in other variables.

Nothing here is shared with the package.  The states are place R and unit tangent t along the arc s; |q| is not
integrated but read off the first integral |q| + r^2/2 + G z = its value at the guide.  Everything is dimensionless:
lengths in ring radii a, forces in m w^2 a^2, masses in m a.  With feed, forces stand for T - u^2.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import pi

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What a position is, dimensionless; each field (n,)."""

    height: Array
    drag: Array
    feed: Array
    gravity: Array
    cop: Array
    ring_friction: Array
    yarn_friction: Array
    ratio: Array
    mass: Array
    control_radius: Array
    control_depth: Array
    control_friction: Array

    def take(self, index):
        return Setting(**{f.name: getattr(self, f.name)[index] for f in fields(self)})

    def repeated(self, times: int) -> Setting:
        return Setting(**{f.name: np.tile(getattr(self, f.name), times) for f in fields(self)})


def setting_of(p) -> tuple[Setting, Array, Array]:
    """Make a setting of SI positions; also gives the length a and the force m w^2 a^2."""
    a, m, w = p.ring_diameter / 2, p.yarn_linear_density, p.traveller_speed
    thickness = np.sqrt(4 * m / (pi * p.yarn_density))
    p0 = 16 * (0.5 * p.air_density * p.drag_coefficient * thickness) * a / m
    setting = Setting(
        height=p.balloon_height / a,
        drag=p0 / 16,
        feed=p.feed_speed / (w * a),
        gravity=p.gravity / (w**2 * a),
        cop=p.winding_diameter / p.ring_diameter,
        ring_friction=p.ring_traveller_friction,
        yarn_friction=p.yarn_traveller_friction,
        ratio=p.fixed_tension_ratio,
        mass=p.traveller_mass / (m * a),
        control_radius=p.control_ring_diameter / p.ring_diameter,
        control_depth=p.control_ring_depth / a,
        control_friction=p.control_ring_friction,
    )
    return setting, a, m * w**2 * a**2


@dataclass(frozen=True, slots=True)
class Fineness:
    """How finely a span is integrated: steps of Gragg's extrapolated midpoint rule, each cut ``cuts`` ways."""

    steps: int
    cuts: tuple[int, ...]


COARSE = Fineness(12, (2, 4, 6))
FINE = Fineness(32, (2, 4, 6, 8, 10))


def _change(k: Setting, state: Array, energy: Array) -> Array:
    """Give d/ds of (x, y, z, t_x, t_y, t_z)."""
    x, y, z, tx, ty, tz = state
    force = energy - 0.5 * (x * x + y * y) - k.gravity * z
    along = x * ty - y * tx
    vx, vy, vz = -y - along * tx, x - along * ty, -along * tz
    push = k.drag * np.sqrt(vx * vx + vy * vy + vz * vz)
    coriolis = 2 * k.feed
    fx = push * vx - x - coriolis * ty
    fy = push * vy - y + coriolis * tx
    fz = push * vz - k.gravity
    rate = fx * tx + fy * ty + fz * tz
    out = np.empty_like(state)
    out[:3] = state[3:]
    out[3], out[4], out[5] = fx - rate * tx, fy - rate * ty, fz - rate * tz
    out[3:] /= force
    return out


def _midpoint(k: Setting, state: Array, energy: Array, length: Array, cuts: int) -> Array:
    h = length / cuts
    before, now = state, state + h * _change(k, state, energy)
    for _ in range(cuts - 1):
        before, now = now, before + 2 * h * _change(k, now, energy)
    return 0.5 * (before + now + h * _change(k, now, energy))


def along_the_yarn(
    k: Setting, state: Array, energy: Array, length: Array, how: Fineness, nodes: list[Array] | None = None
) -> Array:
    """Carry the state (6, n) along ``length`` of yarn; ``energy`` is |q| + r^2/2 + G z."""
    h = length / how.steps
    with np.errstate(all="ignore"):
        for _ in range(how.steps):
            table: list[Array] = []
            for row, cuts in enumerate(how.cuts):
                new = [_midpoint(k, state, energy, h, cuts)]
                for column in range(row):
                    gain = (cuts / how.cuts[row - 1 - column]) ** 2 - 1
                    new.append(new[column] + (new[column] - table[column]) / gain)
                table = new
            state = table[-1]
            if nodes is not None:
                nodes.append(state)
    return state


def at_the_guide(angle: Array) -> Array:
    """Give the state at the eyelet, the yarn leaving in the x-z plane at ``angle`` to the axis."""
    nought = np.zeros_like(angle)
    return np.stack([nought, nought, nought, np.sin(angle), nought, np.cos(angle)])


def force_at(k: Setting, state: Array, energy: Array) -> tuple[Array, Array]:
    """Give the radius and the force (q_r, q_th, q_z)."""
    x, y, z, tx, ty, tz = state
    r = np.hypot(x, y)
    size = energy - 0.5 * r * r - k.gravity * z
    return r, size * np.stack([(x * tx + y * ty) / r, (x * ty - y * tx) / r, tz])


def bent(k: Setting, state: Array, energy: Array, bend: Array) -> tuple[Array, Array]:
    """Pass the control ring, turning by ``bend``; gives state and energy below it."""
    r, q = force_at(k, state, energy)
    meridian = np.hypot(q[0], q[2])
    was = np.arctan2(q[0], q[2])
    new = np.stack(
        [meridian * np.sin(was + bend), q[1] + k.control_friction * meridian * bend, meridian * np.cos(was + bend)]
    )
    size = np.sqrt(np.sum(new**2, axis=0))
    out_x, out_y = state[0] / r, state[1] / r
    t = new / size
    below = np.stack([*state[:3], t[0] * out_x - t[1] * out_y, t[0] * out_y + t[1] * out_x, t[2]])
    return below, size + 0.5 * r * r + k.gravity * state[2]


@dataclass(frozen=True, slots=True)
class Traveller:
    """The balance at the traveller."""

    winding: Array
    wrap: Array
    outward: Array
    """N_r."""
    normal: Array
    residual: Array
    """T_w sin g - q_th - mu N, over the traveller's mass."""


def traveller(k: Setting, q: Array) -> Traveller:
    """Balance a traveller under the balloon's force q = (q_r, q_th, q_z)."""
    g = np.arcsin(k.cop)
    ring = np.sqrt(np.sum(q**2, axis=0))
    with np.errstate(all="ignore"):
        wrap = np.arccos(np.clip((q[1] * np.sin(g) - q[0] * np.cos(g)) / ring, -1, 1))
        winding = ring * np.where(k.ratio > 0, k.ratio, np.exp(k.yarn_friction * wrap))
        outward = k.mass - q[0] - winding * np.cos(g)
        normal = np.hypot(outward, q[2])
        residual = (winding * np.sin(g) - q[1] - k.ring_friction * normal) / k.mass
    return Traveller(winding, wrap, outward, normal, residual)
