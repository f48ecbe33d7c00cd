"""Growth rates of the spinning balloon's own small motions: which die away, and how near the slowest is to growing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.linalg

from ringwright.physics.cases import Cases
from ringwright.physics.motion.rest import Rest, Span, rests
from ringwright.physics.motion.running import start_of
from ringwright.physics.motion.stepping import State, jacobian
from ringwright.physics.motion.strand import Strand
from ringwright.physics.motion.system import Ends, closed, ends_of
from ringwright.physics.motion.waves import Complex
from ringwright.physics.position import Positions, units_of
from ringwright.physics.real import Array

__all__ = ["Modes", "modes", "modes_at_rest", "polished"]

PIECES = 16
SECANTS = 20
CLOSE = 1e-11
FAR = 1e-2
"""How far, over its size and 1, an eigenvalue of the grid may move when it is polished and still count as the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Modes:
    """Complex growth rates of n positions, (n, k) in 1/s, the k slowest; nan where there is no steady balloon.

    A motion goes as exp(rate t): the real part is its growth, the imaginary part its speed as the traveller's frame
    sees it.  Of each pair only the one with imaginary part >= 0 is given.
    """

    rates: Complex
    per_turn: Complex
    """The same over the traveller's speed: growth in a radian of its turning."""

    @property
    def growth(self) -> Array:
        """Give the largest growth of each position among these [1/s], (n,): below nought all of them die away."""
        growth: Array = np.max(self.rates.real, axis=1)
        return growth


def modes(positions: Positions, count: int = 6, *, axial_stiffness: Array | float = np.inf) -> Modes:
    """Give the ``count`` slowest motions of n positions, each about 0.1 s; with the positions' own feed speed.

    The yarn's friction on the traveller keeps its sense.  Found on the grid of the motion in time, then polished by the
    passage along the yarn, which shares nothing with that grid; what does not agree is left out (nan).
    """
    rates = np.full((len(positions), count), np.nan, dtype=complex)
    _, force = units_of(positions)
    stretch = force / np.broadcast_to(np.asarray(axial_stiffness, dtype=float), len(positions))
    for index, rest in rests(positions):
        for place, at in enumerate(index):
            rates[at] = modes_at_rest(_one(rest, place), count, float(stretch[at]))
    return Modes(rates=rates * positions.traveller_speed[:, None], per_turn=rates)


def modes_at_rest(rest: Rest, count: int, stretch: float = 0.0) -> Complex:
    """Give the slowest rates (count,) of one balloon at rest, dimensionless; nan for those that do not agree."""
    ends = ends_of(rest, stretch)
    guesses = _on_grid(*start_of(rest, pieces=PIECES, stretch=stretch))
    found = np.full(count, np.nan, dtype=complex)
    for at, guess in enumerate(guesses[:count]):
        rate = polished(ends, guess)
        if abs(rate - guess) < FAR * max(1.0, abs(guess)):
            found[at] = rate
    return found


def polished(ends: Ends, guess: complex) -> complex:
    """Find the rate near ``guess`` at which the closed system of one case is singular (secants on its determinant)."""
    sign, size = np.linalg.slogdet(closed(ends, np.array([guess], dtype=complex)).matrix[0])

    def value(rate: complex) -> complex:
        here, log = np.linalg.slogdet(closed(ends, np.array([rate], dtype=complex)).matrix[0])
        return complex(here / sign * np.exp(log - size))

    before, now = complex(guess), complex(guess) + 1e-5 * (1.0 + abs(guess))
    at_before, at_now = 1.0 + 0j, value(now)
    for _ in range(SECANTS):
        if at_now == at_before or abs(now - before) < CLOSE * (1.0 + abs(now)):
            break
        after = now - at_now * (now - before) / (at_now - at_before)
        before, at_before, now = now, at_now, after
        at_now = value(now)
    return now


def _on_grid(strand: Strand, state: State) -> Complex:
    """Give the eigenvalues of the equations on the grid, slowest first, of each pair one."""
    still, by_rate, by_change = (jacobian(strand, state, by) for by in ((1.0, 0, 0), (0, 1.0, 0), (0, 0, 1.0)))
    size = len(state.z)
    one, nought = np.eye(size), np.zeros((size, size))
    left = np.block([[nought, one], [-still, -by_rate]])
    right = np.block([[one, nought], [nought, by_change]])
    rates = scipy.linalg.eigvals(left, right)
    rates = rates[np.isfinite(rates) & (rates.imag > -1e-9)]
    slowest: Complex = rates[np.argsort(np.abs(rates))]
    return slowest


def _one(rest: Rest, place: int) -> Rest:
    """Pick one balloon."""
    only = slice(place, place + 1)
    spans = tuple(
        Span(place=span.place[only], force=span.force[only], length=span.length[only], step=span.step[only])
        for span in rest.spans
    )
    cases = Cases(**{name: getattr(rest.cases, name)[only] for name in Cases.__slots__})
    return Rest(cases=cases, spans=spans, bend=rest.bend[only])
