"""Find each case's balloon on the taut branch: the first one met as the traveller is lightened."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.branch import TAUT, Event, advance, finer_where_rough, hides_a_turn, taut_start
from ringwright.physics.cases import Array, Cases, Index
from ringwright.physics.family import Point, empty_point, locate, miss, polish
from ringwright.physics.outcome import Outcome
from ringwright.physics.shoot import ANGLE, ROWS, Shot
from ringwright.physics.triples import dot, length

__all__ = ["MASS_AGREES", "TOLERANCE", "Found", "empty", "find", "refine"]

STRIDE = 0.35
READY = 0.6
STEPS = 8
FINEST = 64
HALVED = 256
"""Most steps for balloons whose error is judged by halving the steps."""
STRIDES_MOST = 200
TOLERANCE = 1e-10
MASS_AGREES = 1e-6
SHORTEST = 1e-4
STEEP = 0.9
"""Guide angle, rad."""
TOUCH = 1e-9
"""How far, in ring radii, a free balloon may seem to pass a control ring for rounding."""
_FINER = np.array([12, 16, 20, 24, 32, 48, FINEST])


@dataclass(slots=True)
class Found:
    """Where each case ended: its point, its outcome, and how well it was solved."""

    point: Point
    outcome: NDArray[np.int_]
    rows: Array
    """(26, n) rows of the last shot of each case that is solved, else nan."""
    end_mass: Array
    """M0 at the fold or lift-off that stopped the case, else nan."""

    def take(self, index: Index | NDArray[np.bool_]) -> Found:
        """Pick some of the cases."""
        return Found(self.point.take(index), *(getattr(self, name)[..., index] for name in self.__slots__[1:]))

    def put(self, index: Index, other: Found) -> None:
        """Replace some of the cases."""
        self.point.put(index, other.point)
        for name in self.__slots__[1:]:
            getattr(self, name)[..., index] = getattr(other, name)

    def keep(self, index: Index, point: Point, rows: Array) -> None:
        """Put solved points with the rows of their shots."""
        self.point.put(index, point)
        self.rows[:, index] = rows

    @property
    def residual(self) -> Array:
        """Largest residual of the solved equations (dimensionless)."""
        return miss(Shot(self.rows))

    @property
    def drift(self) -> Array:
        """Relative drift of the conserved T + r^2/2 + G z in the last integration."""
        return Shot(self.rows).drift


def empty(count: int) -> Found:
    """Make room for ``count`` cases, none of them solved."""
    return Found(
        empty_point(count),
        np.full(count, Outcome.NOT_CONVERGED, dtype=np.int_),
        np.full((ROWS, count), np.nan),
        np.full(count, np.nan),
    )


def find(cases: Cases) -> Found:
    """Solve all cases (all with a control ring, or none)."""
    count = len(cases)
    steps = np.full(count, STEPS)
    point = taut_start(cases, steps)
    found = empty(count)
    found.point = point
    found.outcome[point.good] = -1
    at_once = point.good & ~(point.lift > 0.0)
    found.outcome[at_once] = Outcome.LIFT_OFF
    active: Index = np.flatnonzero(found.outcome < 0)
    for _ in range(STRIDES_MOST):
        if not active.size:
            break
        newton = _newton_stride(cases.take(active), point.take(active))
        ready = newton < READY
        _try_polish(cases, found, active[ready], newton[ready])
        left = found.outcome[active] < 0
        active, newton = active[left], newton[left]
        if active.size:
            _walk(cases, found, active, np.minimum(newton, STRIDE))
            active = active[found.outcome[active] < 0]
    found.outcome[found.outcome < 0] = Outcome.NOT_CONVERGED
    refine(cases, found, np.flatnonzero(found.outcome == Outcome.STEADY))
    return found


def _newton_stride(cases: Cases, point: Point) -> Array:
    """How far along the tangent the case's mass lies; by logarithms, in which taut balloons are straight."""
    with np.errstate(all="ignore"):
        stride = np.log(point.mass / cases.mass) * point.mass / -point.slope
    return np.where(np.isfinite(stride) & (stride > 1e-6), stride, 1e-6)


def _try_polish(cases: Cases, found: Found, index: Index, newton: Array) -> None:
    """Jump to the solution where it is near, and keep it only if it is surely the first one on the branch."""
    if not index.size:
        return
    here, start = cases.take(index), found.point.take(index)
    guess = start.w + newton * start.ahead + 0.5 * newton**2 * start.curve
    point, rows = polish(here, guess, start.ahead, start.contact, start.steps)
    moved = point.w - start.w
    along = dot(moved, start.ahead)
    far = length(moved)
    sure = (
        point.good
        & (point.slope < 0.0)
        & (point.lift > 0.0)
        & (point.side == start.side)
        # A fold and the branch beyond it may lie within one jump: the way must stay straight and the slope alike.
        & (dot(point.ahead, start.ahead) > 0.95)
        & (point.slope / point.mass < 0.5 * start.slope / start.mass)
        & (along > -1e-7)
        & (far < 1.3 * newton + 0.003)
        & (np.abs(point.mass - here.mass) < MASS_AGREES * here.mass)
        & ~hides_a_turn(start, point, far)
        & np.where(point.contact, point.w[2] >= 0.0, ~(point.gap > 0.0))
    )
    done = index[sure]
    found.keep(done, point.take(sure), rows[:, sure])
    found.outcome[done] = Outcome.STEADY


def _walk(cases: Cases, found: Found, index: Index, stride: Array) -> None:
    """Take one stride; where the mass falls past the case's own on the way, close in on it."""
    here = cases.take(index)
    start = finer_where_rough(here, found.point.take(index))
    point, taken, events = advance(here, start, stride)
    stuck = events == Event.STUCK
    found.outcome[index[stuck]] = Outcome.NOT_CONVERGED
    passed = np.flatnonzero(~stuck & (point.mass <= here.mass) & (start.mass > here.mass))
    crossing = np.zeros(len(here), dtype=bool)
    crossing[passed] = True
    for event, outcome in ((Event.FOLD, Outcome.FOLD), (Event.LIFT_OFF, Outcome.LIFT_OFF)):
        ended = (events == event) & ~crossing
        found.outcome[index[ended]] = outcome
        found.end_mass[index[ended]] = point.mass[ended]
    on = np.flatnonzero(~stuck & ~crossing)
    found.point.put(index[on], point.take(on))
    if passed.size:
        settled = _close_in(cases, found, index[passed], start.take(passed), taken[passed])
        again = passed[~settled]
        short = taken[again] < SHORTEST
        found.outcome[index[again[short]]] = Outcome.NOT_CONVERGED
        again = again[~short]
        if again.size:  # the search strayed to another curve: come nearer first
            found.point.put(index[again], start.take(again))
            _walk(cases, found, index[again], 0.5 * taken[again])


def _close_in(cases: Cases, found: Found, index: Index, start: Point, taken: Array) -> NDArray[np.bool_]:
    """Find the case's own mass within a stride that passes it, and polish; says where that surely succeeded."""
    here = cases.take(index)
    near, _ = locate(here, start, taken, lambda c, p: p.mass - c.mass, rounds=6)
    point, rows = polish(here, near.w, start.ahead, start.contact, start.steps)
    good: NDArray[np.bool_] = (
        point.good
        & (length(point.w - near.w) < 0.1)
        & (length(point.w - start.w) < 1.3 * taken + 0.003)
        & (point.side == start.side)
        & (point.slope < 0.0)
        & (point.lift > 0.0)
        & (np.abs(point.mass - here.mass) < MASS_AGREES * here.mass)
        & np.where(point.contact, point.w[2] >= -TOUCH, ~(point.gap > TOUCH))
    )
    found.keep(index[good], point.take(good), rows[:, good])
    found.outcome[index[good]] = Outcome.STEADY
    return good


def refine(cases: Cases, found: Found, index: Index) -> None:
    """Solve again with as many steps as each case needs for the tolerance, judged by the drift of its invariant.

    Where the yarn passes near the axis (necks) or hangs steep, the drift says too little; there the steps are halved
    until that changes nothing.
    """
    _by_drift(cases, found, index)
    point = found.point
    taut = np.exp(point.w[0]) > TAUT * cases.height**2
    doubtful = (found.outcome == Outcome.STEADY) & (((point.turn > 0.0) & ~taut) | (point.w[1] > ANGLE * STEEP))
    _by_halving(cases, found, np.intersect1d(index, np.flatnonzero(doubtful)))


def _by_halving(cases: Cases, found: Found, index: Index) -> None:
    while index.size:
        here, start = cases.take(index), found.point.take(index)
        steps = 2 * start.steps
        point, rows = polish(here, start.w, start.ahead, start.contact, steps)
        moved = length(point.w - start.w)
        ok = point.good & (moved < 0.05)
        found.outcome[index[~ok]] = Outcome.NOT_CONVERGED
        found.keep(index[ok], point.take(ok), rows[:, ok])
        index = index[ok & (moved > TOLERANCE) & (steps < HALVED)]


def _by_drift(cases: Cases, found: Found, index: Index) -> None:
    for _ in range(3):
        if not index.size:
            return
        start = found.point.take(index)
        # The arrival errs about ten times more than the invariant drifts; the method is of eighth order.
        wanted = start.steps * np.maximum(10.0 * start.drift / TOLERANCE, 1e-9) ** 0.125
        finer = _FINER[np.minimum(np.searchsorted(_FINER, wanted), len(_FINER) - 1)]
        poor = (10.0 * start.drift > TOLERANCE) & (finer > start.steps)
        index, finer = index[poor], finer[poor]
        if not index.size:
            return
        start = start.take(poor)
        start.steps = finer
        point, rows = polish(cases.take(index), start.w, start.ahead, start.contact, finer)
        lost = ~point.good
        found.outcome[index[lost]] = Outcome.NOT_CONVERGED
        found.keep(index, point, rows)
        index = index[~lost]
