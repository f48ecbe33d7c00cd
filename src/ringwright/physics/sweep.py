"""Solve an ordered sweep of cases quickly: every 32nd from scratch, the others from their solved neighbours."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.cases import Array, Cases, Index
from ringwright.physics.family import Point, polish
from ringwright.physics.outcome import Outcome
from ringwright.physics.taut import MASS_AGREES, TOLERANCE, Found, empty, find, refine
from ringwright.physics.triples import dot

__all__ = ["follow", "surely_alike"]

APART = 32
NEAR = 0.2
"""Farthest that a solution may lie from its neighbours' mean, in scaled unknowns, to be taken without a walk."""


def follow(cases: Cases) -> Found:
    """Solve cases of which each is much like the one before (all with a control ring, or none).

    A case near steady neighbours starts from them and is kept only if it surely lies on the same branch; any other
    case is solved from scratch, by walking its own branch.
    """
    count = len(cases)
    found = empty(count)
    anchors = np.unique(np.append(np.arange(0, count, APART), count - 1))
    found.put(anchors, find(cases.take(anchors)))
    unsure: list[Index] = []
    apart = APART
    while apart > 1:
        half = apart // 2
        middles = np.arange(half, count - 1, apart)
        unsure.append(_between(cases, found, middles, middles - half, np.minimum(middles + half, count - 1)))
        apart = half
    rest = np.concatenate(unsure) if unsure else np.zeros(0, dtype=np.intp)
    if rest.size:
        found.put(rest, find(cases.take(rest)))
    return found


def _between(cases: Cases, found: Found, index: Index, left: Index, right: Index) -> Index:
    """Solve the cases at ``index`` from their steady neighbours; gives those of which it is not sure."""
    steady = found.outcome == Outcome.STEADY
    tried = steady[left] | steady[right]
    unsure: list[Index] = [index[~tried]]
    index, left, right = index[tried], left[tried], right[tried]
    if not index.size:
        return unsure[0]
    left, right = np.where(steady[left], left, right), np.where(steady[right], right, left)
    alike = found.point.contact[left] == found.point.contact[right]
    right = np.where(alike, right, left)
    before, after = found.point.take(left), found.point.take(right)
    here, guess = cases.take(index), 0.5 * (before.w + after.w)
    steps = np.maximum(before.steps, after.steps)
    point, rows = polish(here, guess, before.ahead, before.contact, steps)
    sure = surely_alike(here, point, before, guess) & surely_alike(here, point, after, guess)
    part = empty(index.size)
    part.point, part.rows = point, rows
    part.outcome[:] = Outcome.STEADY
    refine(here, part, np.flatnonzero(sure & (10.0 * point.drift > TOLERANCE)))
    found.put(index[sure], part.take(sure))
    unsure.append(index[~sure])
    return np.concatenate(unsure)


def surely_alike(cases: Cases, point: Point, neighbour: Point, guess: Array) -> NDArray[np.bool_]:
    """Say whether a polished point surely lies on the branch of a neighbour that differs little from it."""
    steepness, its = point.slope / point.mass, neighbour.slope / neighbour.mass
    sure: NDArray[np.bool_] = (
        point.good
        & (np.abs(point.mass - cases.mass) < MASS_AGREES * cases.mass)
        & (np.max(np.abs(point.w - guess), axis=0) < NEAR)
        & (point.side == neighbour.side)
        & (dot(point.ahead, neighbour.ahead) > 0.95)
        & (steepness < 0.6 * its)
        & (steepness > 1.7 * its)
        & (point.lift > 0.0)
        & np.where(point.contact, point.w[2] >= 0.0, ~(point.gap > 0.0))
    )
    return sure
