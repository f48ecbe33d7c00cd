"""What a rotor does: critical speeds, whirl with its damping, and its answer to unbalance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from ringwright.physics.real import Array
from ringwright.physics.rotor import Support, System
from ringwright.sources import Cited

__all__ = ["Whirl", "critical_speeds", "support_forces", "unbalance_response", "whirl"]

_REDUCE_ABOVE: Final = Cited(30, "1", source="our-estimate", where="unknowns above which a rotor is reduced")
_KEPT: Final = Cited(12, "1", source="our-estimate", where="slowest shapes kept")
_SWINGS: Final = Cited(0.1, "1", source="our-estimate", where="least frequency as a share of the root's size")

Complex = npt.NDArray[np.complex128]


@dataclass(frozen=True, slots=True, kw_only=True)
class Whirl:
    """The slowest natural whirls at one spin, slowest first.

    ``frequency`` (m,) [rad/s]: above 0 forward, below 0 backward. ``decrement`` (m,): natural logarithm of the ratio
    of two amplitudes one whirl apart, above 0 where the whirl dies away. ``shape`` (m, N): the unknowns, largest 1.
    """

    frequency: Array
    decrement: Array
    shape: Complex


def critical_speeds(of: System, many: int) -> Array:
    """Return the lowest forward critical speeds without damping, (..., many) [rad/s]; nan where there are fewer.

    At a critical speed the whirl is as fast as the spin: K w = S^2 (M - J) w. With K = L L' the numbers 1/S^2 are the
    eigenvalues of L^-1 (M - J) L^-T; the polar inertia makes some of them negative, which no speed answers to.
    """
    half = np.linalg.inv(np.linalg.cholesky(of.stiffness))
    values = np.linalg.eigvalsh(half @ (of.mass - of.polar) @ half.T)[..., ::-1][..., :many]
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(values > 0, values**-0.5, np.nan), dtype=np.float64)


def whirl(of: System, spin: float, many: int) -> Whirl:
    """Return the slowest whirls that still swing, at a spin [rad/s]; one rotor only, its matrices (N, N).

    A large rotor is first reduced to its slowest shapes at rest and its bent shapes under a push at each damper, which
    moves a frequency by less than 1 in 1 million.
    """
    basis = _slow_shapes(of) if of.mass.shape[-1] > _REDUCE_ABOVE else np.eye(of.mass.shape[-1])
    mass, polar, damping, stiffness = (basis.T @ one @ basis for one in (of.mass, of.polar, of.damping, of.stiffness))
    size = mass.shape[-1]
    pushed = -np.linalg.solve(mass, stiffness)
    dragged = -np.linalg.solve(mass, damping - 1j * spin * polar)
    state = np.block([[np.zeros((size, size)), np.eye(size)], [pushed, dragged]])
    roots, vectors = np.linalg.eig(state)
    # A whirl so strongly damped that it does not swing once has no frequency to tell.
    swings = np.flatnonzero(np.abs(roots.imag) > _SWINGS * np.abs(roots))
    order = swings[np.argsort(np.abs(roots[swings]))][:many]
    shape = (basis @ vectors[:size, order]).T
    largest = shape[np.arange(len(order)), np.argmax(np.abs(shape[:, ::2]), axis=1) * 2]
    return Whirl(
        frequency=roots[order].imag,
        decrement=-2 * np.pi * roots[order].real / np.abs(roots[order].imag),
        shape=shape / largest[:, None],
    )


def _slow_shapes(of: System) -> Array:
    """Give an orthonormal basis (N, k) of the slowest shapes and of the bent shapes under a push at each damper."""
    half = np.linalg.inv(np.linalg.cholesky(of.stiffness))
    _, turned = np.linalg.eigh(half @ of.mass @ half.T)
    slow = half.T @ turned[:, ::-1][:, : int(_KEPT)]
    dampers = np.flatnonzero(np.diag(of.damping))
    bent = np.linalg.solve(of.stiffness, np.eye(of.mass.shape[-1])[:, dampers])
    shapes = np.hstack([slow, bent])
    basis, _ = np.linalg.qr(shapes / np.abs(shapes).max(axis=0))
    return np.asarray(basis, dtype=np.float64)


def unbalance_response(of: System, unbalance: Array, spins: Array) -> Complex:
    """Return the unknowns (..., s, N) at spins (s,) [rad/s] under unbalances (..., N) [kg m] that turn with the rotor.

    One rotor only, its matrices (N, N).
    """
    spin = np.asarray(spins, dtype=np.float64)[:, None, None]
    matrix = of.stiffness + 1j * spin * of.damping - spin**2 * (of.mass - of.polar)
    columns = unbalance.reshape(-1, unbalance.shape[-1]).T
    found = np.linalg.solve(matrix, spin**2 * columns)
    return np.asarray(np.moveaxis(found, -1, 0).reshape(*unbalance.shape[:-1], len(spins), -1), dtype=np.complex128)


def support_forces(support: Support, moved: Complex, spins: Array) -> Array:
    """Return the size of the turning force on a support (..., s) [N] from the unknowns (..., s, N) at spins (s,)."""
    size = np.abs(support.stiffness + 1j * np.asarray(spins) * support.damping)
    return np.asarray(size * np.abs(moved[..., 2 * support.node]), dtype=np.float64)
