"""Step the moving yarn through time: the generalised-alpha method on the equations as they stand, tensions and all.

Implicit, of second order, with the linear system of each step factorised once at rest and used again until the steps
no longer settle; then it is formed anew at that moment (complex steps).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.physics.kernel import motion as kernel
from ringwright.physics.motion.moment import SEEN, lacking
from ringwright.physics.motion.nodes import nodes
from ringwright.physics.motion.strand import Strand, sizes
from ringwright.physics.real import Array

__all__ = ["Method", "State", "inverse", "jacobian", "march"]

TINY_STEP = 1e-30
SETTLED = 1e-10
"""Largest change of a place in a round at which a step counts as solved."""
FORCE = 0.01
"""A tension or a bend counts as settled at a hundredfold of that."""
ROUNDS, AGAIN = 8, 3
"""Rounds with the old factors, and rounds after which new ones are formed then."""
MOST = 24
LOST = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """Weights of the generalised-alpha method for a step.

    After Chung and Hulbert (1993), in the form of Arnold and Bruels (2007) for constrained motion; from memory, its
    order is tested.
    """

    step: float
    alpha_m: float
    alpha_f: float
    beta: float
    gamma: float

    @classmethod
    def of(cls, step: float, damping: float = 0.8) -> Method:
        """Make the weights for the spectral radius ``damping`` (0 to 1) of the quickest motions."""
        alpha_m, alpha_f = (2.0 * damping - 1.0) / (damping + 1.0), damping / (damping + 1.0)
        gamma = 0.5 - alpha_m + alpha_f
        return cls(step=step, alpha_m=alpha_m, alpha_f=alpha_f, beta=0.25 * (gamma + 0.5) ** 2, gamma=gamma)

    @property
    def by_rate(self) -> float:
        """Change of the rate for a unit change of the unknown."""
        return self.gamma / (self.beta * self.step)

    @property
    def by_change(self) -> float:
        """Change of the second rate for a unit change of the unknown."""
        return (1.0 - self.alpha_m) / (self.beta * self.step**2 * (1.0 - self.alpha_f))


@dataclass(slots=True, kw_only=True)
class State:
    """A moment: unknowns z, z' and z'' (m,), the method's own second rate, and the time; changed by ``march``."""

    z: Array
    rate: Array
    change: Array
    smoothed: Array
    time: float
    factors: Array | None = None
    """Inverse of a step's matrix, kept from earlier steps of the same method."""


def jacobian(strand: Strand, state: State, by: tuple[float, float, float]) -> Array:
    """Give d(lacking)/dz where z, z' and z'' move by the three factors ``by`` together, (m, m)."""
    moving, count = sizes(strand)
    probe = 1j * TINY_STEP * np.eye(count)
    with_rates = probe.copy()
    with_rates[moving:] = 0.0
    rates = (state.rate + by[1] * with_rates, state.change + by[2] * with_rates)
    matrix: Array = np.imag(lacking(strand, state.z + by[0] * probe, rates, state.time)[0]).T / TINY_STEP
    return matrix


def inverse(strand: Strand, method: Method, state: State) -> Array:
    """Give the inverse of the matrix of one step."""
    step = jacobian(strand, state, (1.0, method.by_rate, method.by_change))
    return np.asarray(np.linalg.inv(step), dtype=np.float64)


def _predict(strand: Strand, method: Method, state: State) -> State:
    moving, _ = sizes(strand)
    inert = np.zeros(state.z.size)
    inert[:moving] = 1.0
    h = method.step
    smoothed: Array = inert * (method.alpha_f * state.change - method.alpha_m * state.smoothed) / (1.0 - method.alpha_m)
    z = state.z + h * state.rate + h * h * ((0.5 - method.beta) * state.smoothed + method.beta * smoothed)
    rate = state.rate + h * ((1.0 - method.gamma) * state.smoothed + method.gamma * smoothed)
    return State(z=z, rate=rate, change=np.zeros_like(z), smoothed=smoothed, time=state.time + h)


def _settle(strand: Strand, method: Method, state: State, factors: Array) -> tuple[State | None, Array, Array]:
    """Take one step with NumPy; gives the new state (None if it does not settle), what was seen, and the factors."""
    moving, _ = sizes(strand)
    new = _predict(strand, method, state)
    seen = np.full(len(SEEN), np.nan)
    moved = np.inf
    for done in range(MOST + 1):
        lack, seen = lacking(strand, new.z, (new.rate, new.change), new.time)
        if moved < SETTLED:
            new.smoothed[:moving] += (1.0 - method.alpha_f) / (1.0 - method.alpha_m) * new.change[:moving]
            return new, seen, factors
        if done and not moved < LOST:
            break
        if done >= ROUNDS and (done - ROUNDS) % AGAIN == 0:
            factors = inverse(strand, method, new)
        move = -factors @ lack
        moved = max(float(np.max(np.abs(move[:moving]))), FORCE * float(np.max(np.abs(move[moving:]))))
        new.z = new.z + move
        new.rate[:moving] += method.by_rate * move[:moving]
        new.change[:moving] += method.by_change * move[:moving]
    return None, seen, factors


def _numbers(strand: Strand) -> tuple[Array, Array]:
    """Lay out the strand's numbers and the grid's matrices as motion.c reads them."""
    c, grid = strand.cases, nodes(strand.pieces)
    contact = [c.ring_friction, c.yarn_friction, c.fixed_ratio, c.mass]
    control = [c.control_radius, c.control_depth, c.control_friction]
    course = [strand.stretch, strand.rest_length, strand.soft, strand.ramp]
    own = np.array([c.feed, c.drag, c.gravity, c.height, c.cop, *contact, *control, *course], dtype=np.float64)
    offsets = np.stack([strand.offsets.real, strand.offsets.imag], axis=-1).ravel()
    matrices = [grid.slope.T, grid.slope_between.T, grid.gather.T, grid.ends[0]]
    parts = [grid.places, grid.weights, grid.place_weights, *(matrix.ravel() for matrix in matrices)]
    return np.concatenate([own, offsets]), np.concatenate(parts)


def march(strand: Strand, method: Method, state: State, steps: int, *, compiled: bool | None = None) -> Array:
    """Step ``state`` on by ``steps``, or by as many as settle; gives what was seen at each, (done, 9).

    ``compiled`` asks for one route; None takes C where it is there, and NumPy's steps where C's do not settle.
    """
    quick = kernel.available() if compiled is None else compiled
    factors = inverse(strand, method, state) if state.factors is None else state.factors
    given = _numbers(strand) if quick else None
    seen = np.empty((steps, len(SEEN)))
    state.factors = factors
    at = 0
    while at < steps:
        if given is not None:
            at += _quickly(strand, method, state, (*given, factors), seen[at:])
            if at == steps:
                break
        new, seen[at], factors = _settle(strand, method, state, factors)
        state.factors = factors
        if new is None:
            return seen[:at]
        state.z, state.rate, state.change, state.smoothed = new.z, new.rate, new.change, new.smoothed
        state.time = new.time
        at += 1
    return seen


def _quickly(strand: Strand, method: Method, state: State, given: tuple[Array, Array, Array], seen: Array) -> int:
    """Step in C until the end of ``seen`` or until a step does not settle with these factors."""
    moving, count = sizes(strand)
    own, grid, factors = given
    packed = np.stack([state.z, state.rate, state.change, state.smoothed])
    by = [method.step, method.alpha_m, method.alpha_f, method.beta, method.gamma, SETTLED, state.time]
    spans = 2 if strand.pressed else 1
    done, rows = kernel.march(
        [strand.pieces, spans, moving, count, seen.shape[0], ROUNDS],
        (own, grid, strand.rest_tension, factors.T, np.array(by)),
        packed,
    )
    seen[:done] = rows[:done]
    state.z, state.rate, state.change, state.smoothed = packed
    state.time += done * method.step
    return done
