"""One thread that solves for everyone: what waits together is solved together, so many viewers cost little more."""

from __future__ import annotations

import queue
import threading
from collections.abc import Sequence
from concurrent.futures import Future
from dataclasses import dataclass, fields

import numpy as np

# Both are asked for together, from one walk along the branch; position.py keeps its own scaling to itself so far.
from ringwright.physics.position import Positions, Solutions, scaled, solve, units_of
from ringwright.physics.real import Array
from ringwright.physics.shoot import ANGLE, BEND, flight

__all__ = ["Line", "Solver", "lines"]

STEPS = 36
MOST = 400
"""Positions solved in one go; more would let the first in the queue wait."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """The yarn of one solved balloon, guide to traveller: depth [m], radius [m], azimuth [rad], tension [N]."""

    depth: Array
    radius: Array
    azimuth: Array
    tension: Array


def lines(positions: Positions, solutions: Solutions) -> list[Line | None]:
    """Trace the yarn of each solved position without solving it again; None where there is no steady balloon."""
    traced: list[Line | None] = [None] * len(positions)
    steady = np.isfinite(solutions.guide_tension)
    for ringed in (False, True):
        index = np.flatnonzero(steady & ((positions.control_ring_diameter > 0.0) == ringed))
        if index.size:
            for place, line in zip(index, _traced(positions.take(index), solutions.take(index)), strict=True):
                traced[place] = line
    return traced


def _traced(positions: Positions, solutions: Solutions) -> list[Line]:
    """Fly from the guide with the solved unknowns; all have a control ring, or none has."""
    cases, (radius, force) = scaled(positions), units_of(positions)
    flow = cases.feed**2
    bend = solutions.control_ring_bend
    start = np.stack([np.log(solutions.guide_tension / force - flow), solutions.guide_angle * ANGLE, bend * BEND])
    spans = flight(cases, start, bend > 0.0, STEPS)
    depth = np.concatenate([part for part, _ in spans])
    states = np.concatenate([part for _, part in spans])
    azimuth = np.unwrap(np.arctan2(states[:, 1], states[:, 0]), axis=0)
    pull = np.sqrt(np.sum(states[:, 2:5] ** 2, axis=1)) + flow
    across = np.hypot(states[:, 0], states[:, 1])
    return [
        Line(
            depth=depth[:, k] * radius[k],
            radius=across[:, k] * radius[k],
            azimuth=azimuth[:, k] - azimuth[-1, k],
            tension=pull[:, k] * force[k],
        )
        for k in range(len(positions))
    ]


@dataclass(slots=True)
class _Asked:
    positions: Positions
    answer: Future[tuple[Solutions, list[Line | None]]]


class Solver:
    """Solves positions in a thread of its own; ``ask`` gives a future of the solutions and the traced yarns."""

    def __init__(self) -> None:
        self._waiting: queue.SimpleQueue[_Asked] = queue.SimpleQueue()
        threading.Thread(target=self._work, name="solver", daemon=True).start()

    def ask(self, positions: Positions) -> Future[tuple[Solutions, list[Line | None]]]:
        """Put positions in the queue."""
        asked = _Asked(positions, Future())
        self._waiting.put(asked)
        return asked.answer

    def _work(self) -> None:
        while True:
            batch = [self._waiting.get()]
            while sum(len(one.positions) for one in batch) < MOST:
                try:
                    batch.append(self._waiting.get_nowait())
                except queue.Empty:
                    break
            wanted = [one for one in batch if one.answer.set_running_or_notify_cancel()]  # no one can cancel now
            if wanted:
                self._tell(wanted)

    def _tell(self, batch: Sequence[_Asked]) -> None:
        """Answer a batch; where one of it cannot be solved, the others must not suffer for it."""
        try:
            answers = self._answers(batch)
        except Exception as error:  # noqa: BLE001 - whatever it is, those who wait must hear of it
            if len(batch) == 1:
                batch[0].answer.set_exception(error)
                return
            for one in batch:
                self._tell([one])
            return
        for one, answer in zip(batch, answers, strict=True):
            one.answer.set_result(answer)

    @staticmethod
    def _answers(batch: Sequence[_Asked]) -> list[tuple[Solutions, list[Line | None]]]:
        together = Positions(
            **{f.name: np.concatenate([getattr(one.positions, f.name) for one in batch]) for f in fields(Positions)}
        )
        solutions = solve(together)
        traced = lines(together, solutions)
        answers, start = [], 0
        for one in batch:
            index = np.arange(start, start + len(one.positions))
            start += len(one.positions)
            answers.append((solutions.take(index), [traced[k] for k in index]))
        return answers
