"""Solve a little ahead: where a slider moves, its next places are solved once the one asked for has been answered.

The solver takes little longer for forty positions than for one, so the neighbours of what is asked come almost free;
the next step of the slider then finds its answer ready. Each answer is solved for exactly its own inputs.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, fields

import numpy as np

from ringwright.physics.position import Positions, Solutions
from ringwright.workbench.solving import Line, Solver

__all__ = ["Ahead", "Asked", "Found"]

KEPT = 2000
Found = tuple[Solutions, list[Line | None]]


@dataclass(frozen=True, slots=True)
class Asked:
    """What tells positions to solve apart from all others, and how to lay them out if they are not yet known."""

    key: Hashable
    positions: Callable[[], Positions]


@dataclass(frozen=True, slots=True)
class _Share:
    """Part of a batch that is being solved."""

    batch: Future[Found]
    start: int
    count: int

    def found(self) -> Found:
        solutions, traced = self.batch.result()
        index = np.arange(self.start, self.start + self.count)
        return solutions.take(index), [traced[k] for k in index]


class Ahead:
    """Remembers what was solved; asked from one thread, the server's own, while the solver's takes out what failed."""

    def __init__(self, solver: Solver | None = None) -> None:
        self._solver = solver or Solver()
        self._known: OrderedDict[Hashable, _Share] = OrderedDict()
        self._lock = threading.RLock()  # a batch that has failed already is taken out within ``ask``

    def ask(self, wanted: Sequence[Asked]) -> list[_Share]:
        """Ask for what is wanted; what is known or on its way is not solved again."""
        with self._lock:
            shares = {one.key: self._known[one.key] for one in wanted if one.key in self._known}
            for key in shares:
                self._known.move_to_end(key)
            shares |= self._solve([one for one in wanted if one.key not in shares])
            while len(self._known) > KEPT:
                self._known.popitem(last=False)
            return [shares[one.key] for one in wanted]

    def knows(self, key: Hashable) -> bool:
        """Say whether the answer to a key is known or on its way."""
        return key in self._known

    def _solve(self, asked: Sequence[Asked]) -> dict[Hashable, _Share]:
        """Have the solver answer what is not known; an answer that fails is not kept."""
        if not asked:
            return {}
        laid = [one.positions() for one in asked]
        together = Positions(
            **{f.name: np.concatenate([getattr(one, f.name) for one in laid]) for f in fields(Positions)}
        )
        batch = self._solver.ask(together)
        shares, start = {}, 0
        for one, positions in zip(asked, laid, strict=True):
            shares[one.key] = _Share(batch, start, len(positions))
            start += len(positions)
        self._known |= shares
        batch.add_done_callback(
            lambda done: self._forget(list(shares)) if done.cancelled() or done.exception() else None
        )
        return shares

    def _forget(self, keys: Iterable[Hashable]) -> None:
        """Do not keep what went wrong."""
        with self._lock:
            for key in keys:
                self._known.pop(key, None)
