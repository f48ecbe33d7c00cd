"""A rotor of Timoshenko beam elements with gyroscopic terms on supports that are alike in all directions.

Alike in all directions, so x + iy is one complex unknown at each height: displacement w and slope p, with p = dw/dz
less the shear. Turning with the shaft's sense is a positive frequency, against it a negative one.

    M w'' + (C - i S J) w' + K w = S^2 U e^(iSt)

with S the spin, J the polar inertia, U the unbalance. Left out: damping inside the turning parts (it drives whirl
above a critical speed where the supports damp too little), axial load, gravity, and supports that differ by direction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ringwright.physics.real import Array

__all__ = [
    "POINTS",
    "Lump",
    "Shaft",
    "Spread",
    "Support",
    "System",
    "gauss_heights",
    "shape_at",
    "spread_force",
    "system",
]

Complex = npt.NDArray[np.complex128]

_GAUSS = np.polynomial.legendre.leggauss(4)
POINTS = tuple(float(x) for x in (_GAUSS[0] + 1) / 2)
"""Where in each element, 0 to 1, its mass is taken: exact for cubic shapes under a mass that changes linearly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shaft:
    """What bends: node heights (n + 1,) [m] rising, bending stiffness EI (n,) [N m2], shear stiffness kGA (n,) [N]."""

    heights: Array
    bending: Array
    shear: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Mass along the shaft at the four points of each element, (..., n, 4).

    ``mass`` [kg/m]; ``diametral`` and ``polar`` inertia of the section [kg m].
    """

    mass: Array
    diametral: Array
    polar: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Lump:
    """A rigid body carried by a node: mass [kg] and inertias about its own centre [kg m2], numbers or (...,).

    Its centre stands ``above`` the node [m], carried stiffly.
    """

    node: int
    mass: Array | float
    diametral: Array | float
    polar: Array | float
    above: Array | float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Support:
    """A support at a node: stiffness [N/m] and damping [N s/m], the same in all directions."""

    node: int
    stiffness: float
    damping: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """The matrices, size N = 2 (n + 1), unknowns w0, p0, w1, p1, ...: mass and polar (..., N, N), the rest (N, N)."""

    mass: Array
    polar: Array
    damping: Array
    stiffness: Array


def gauss_heights(heights: Array) -> Array:
    """Return the heights (n, 4) [m] at which the mass of each element is taken, from node heights (n + 1,)."""
    return np.asarray(heights[:-1, None] + np.diff(heights)[:, None] * np.array(POINTS), dtype=np.float64)


def system(shaft: Shaft, spread: Spread, lumps: Sequence[Lump] = (), supports: Sequence[Support] = ()) -> System:
    """Build the matrices of a rotor.

    The elements are Timoshenko's with shapes that solve the beam's own equation under end loads, mass consistent with
    them (Friswell, Penny, Garvey and Lees 2010, chapter 5, from memory; shapes derived here).
    """
    nodes = len(shaft.heights)
    across, turned = _shapes(shaft, np.array(POINTS))
    weights = _GAUSS[1] / 2 * np.diff(shaft.heights)[:, None]

    def summed(density: Array, shape: Array) -> Array:
        return np.asarray(np.einsum("...eg,eg,egi,egj->...eij", density, weights, shape, shape))

    mass = _assembled(summed(spread.mass, across) + summed(spread.diametral, turned), nodes)
    polar = _assembled(summed(spread.polar, turned), nodes)
    for lump in lumps:
        k, arm = 2 * lump.node, np.asarray(lump.above, dtype=np.float64)
        mass[..., k, k] += lump.mass
        mass[..., k, k + 1] += lump.mass * arm
        mass[..., k + 1, k] += lump.mass * arm
        mass[..., k + 1, k + 1] += lump.diametral + lump.mass * arm**2
        polar[..., k + 1, k + 1] += lump.polar
    stiffness, damping = _assembled(_bending(shaft), nodes), np.zeros((2 * nodes, 2 * nodes))
    for one in supports:
        stiffness[2 * one.node, 2 * one.node] += one.stiffness
        damping[2 * one.node, 2 * one.node] += one.damping
    return System(mass=mass, polar=polar, damping=damping, stiffness=stiffness)


def spread_force(shaft: Shaft, density: Array) -> Array:
    """Return the nodal forces (..., N) of a load per length at the four points of each element (..., n, 4)."""
    across, _ = _shapes(shaft, np.array(POINTS))
    weights = _GAUSS[1] / 2 * np.diff(shaft.heights)[:, None]
    loads = np.einsum("...eg,eg,egi->...ei", density, weights, across)
    total = np.zeros((*loads.shape[:-2], 2 * len(shaft.heights)), dtype=loads.dtype)
    for k in range(loads.shape[-2]):
        total[..., 2 * k : 2 * k + 4] += loads[..., k, :]
    return total


def shape_at(shaft: Shaft, moved: Complex, height: float) -> Complex:
    """Return the displacement at a height [m] from the unknowns (..., N); above the top it goes on straight."""
    if height >= shaft.heights[-1]:
        return np.asarray(moved[..., -2] + moved[..., -1] * (height - shaft.heights[-1]), dtype=np.complex128)
    k = int(np.clip(np.searchsorted(shaft.heights, height, side="right") - 1, 0, len(shaft.bending) - 1))
    share = (height - shaft.heights[k]) / (shaft.heights[k + 1] - shaft.heights[k])
    across, _ = _shapes(shaft, np.array([share]))
    return np.asarray(moved[..., 2 * k : 2 * k + 4] @ across[k, 0], dtype=np.complex128)


def _shapes(shaft: Shaft, x: Array) -> tuple[Array, Array]:
    """Give the shapes of displacement and of slope (n, points, 4) at shares x of each element."""
    length = np.diff(shaft.heights)[:, None]
    soft = (12 * shaft.bending / (shaft.shear * np.diff(shaft.heights) ** 2))[:, None]
    x = x[None, :]
    across = np.stack(
        [
            1 - 3 * x**2 + 2 * x**3 + soft * (1 - x),
            length * (x - 2 * x**2 + x**3 + soft * (x - x**2) / 2),
            3 * x**2 - 2 * x**3 + soft * x,
            length * (x**3 - x**2 - soft * (x - x**2) / 2),
        ],
        axis=-1,
    )
    turned = np.stack(
        [
            6 * (x**2 - x) / length,
            1 - 4 * x + 3 * x**2 + soft * (1 - x),
            6 * (x - x**2) / length,
            3 * x**2 - 2 * x + soft * x,
        ],
        axis=-1,
    )
    scale = 1 / (1 + soft)[..., None]
    return np.asarray(across * scale), np.asarray(turned * scale)


def _bending(shaft: Shaft) -> Array:
    """Give the stiffness of each element (n, 4, 4): closed form."""
    length = np.diff(shaft.heights)
    soft = 12 * shaft.bending / (shaft.shear * length**2)
    push, side = np.full_like(length, 12.0), 6 * length
    near, far = (4 + soft) * length**2, (2 - soft) * length**2
    rows = [
        [push, side, -push, side],
        [side, near, -side, far],
        [-push, -side, push, -side],
        [side, far, -side, near],
    ]
    scale = shaft.bending / (length**3 * (1 + soft))
    return np.asarray(np.array(rows).transpose(2, 0, 1) * scale[:, None, None])


def _assembled(elements: Array, nodes: int) -> Array:
    total = np.zeros((*elements.shape[:-3], 2 * nodes, 2 * nodes))
    for k in range(elements.shape[-3]):
        total[..., 2 * k : 2 * k + 4, 2 * k : 2 * k + 4] += elements[..., k, :, :]
    return total
