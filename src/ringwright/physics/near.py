"""Solve many variations of a few solved positions quickly, each from the solution it is a variation of.

Every variation is kept only if it surely lies on the same branch as its model, by the tests of an ordered sweep; any
other is solved from scratch, by walking its own branch. So the answers are those of ``position.solve``, sooner.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.cases import Index
from ringwright.physics.family import polish
from ringwright.physics.outcome import Outcome
from ringwright.physics.position import Positions, Solutions, blocks, results, scaled, solve_doubtful
from ringwright.physics.sweep import surely_alike
from ringwright.physics.taut import TOLERANCE, Found, empty, find, refine

__all__ = ["Model", "model", "solve_near"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """Solved positions that variations start from."""

    found: Found
    ringed: NDArray[np.bool_]
    """Whether a control ring is fitted there."""


def model(positions: Positions) -> Model:
    """Solve the positions that variations will start from."""
    found = empty(len(positions))
    for group in blocks(positions):
        found.put(group, find(scaled(positions.take(group))))
    return Model(found=found, ringed=positions.control_ring_diameter > 0.0)


def solve_near(positions: Positions, start: Model, which: Index) -> Solutions:
    """Solve variations (n,), each starting at the model position that ``which`` (n,) names."""
    columns = {field.name: np.full(len(positions), np.nan) for field in fields(Solutions)}
    columns["outcome"] = np.full(len(positions), Outcome.NOT_CONVERGED, dtype=np.int_)
    for group in blocks(positions):
        part = positions.take(group)
        found, sure = _from_model(part, start, which[group])
        rest = np.flatnonzero(~sure)
        if rest.size:
            found.put(rest, find(scaled(part.take(rest))))
        for name, values in results(part, scaled(part), found).items():
            columns[name][group] = values
    solve_doubtful(columns, positions)
    return Solutions(**columns)


def _from_model(part: Positions, start: Model, which: Index) -> tuple[Found, NDArray[np.bool_]]:
    """Solve a group from its models; gives what was found, and which surely lie on the model's branch."""
    found, sure = empty(len(part)), np.zeros(len(part), dtype=bool)
    alike = start.ringed[which] == (part.control_ring_diameter > 0.0)
    index = np.flatnonzero(alike & (start.found.outcome[which] == Outcome.STEADY))
    if not index.size:
        return found, sure
    here, begin = scaled(part.take(index)), start.found.point.take(which[index])
    point, rows = polish(here, begin.w, begin.ahead, begin.contact, begin.steps)
    kept = surely_alike(here, point, begin, begin.w)
    solved = empty(index.size)
    solved.point, solved.rows = point, rows
    solved.outcome[:] = Outcome.STEADY
    refine(here, solved, np.flatnonzero(kept & (10.0 * point.drift > TOLERANCE)))
    found.put(index, solved)
    sure[index] = kept & (solved.outcome == Outcome.STEADY)
    return found, sure
