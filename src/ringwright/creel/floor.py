"""The floor as a simulation of discrete events: frames that doff, people who creel, carts that bring bobbins.

Each frame spins, waits for a doffing crew, is doffed, and then asks for the renewals that its plan has for that doff.
A job is the renewal of one group; it waits for a creeler, who takes it bobbin by bobbin from the floor store.
Carts fill the store. A bobbin that runs empty before its turn lets its spindles stand; that is reckoned, not guessed.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

import numpy as np
import simpy
from numpy.random import Generator as Chance

from ringwright.physics.real import Array

__all__ = ["Crew", "Draw", "FloorLog", "FrameRun", "Job", "run_floor"]

Draw: TypeAlias = Callable[[Chance], float]
"""Gives a time [s] at random."""
ROUNDING: Final = 1e-6
"""Seconds that count as none."""
Steps: TypeAlias = Generator[simpy.Event, Any, None]


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameRun:
    """A frame as the floor sees it.

    ``spin`` and ``doff`` [s] give the times of a doff; ``first`` is the share of the first doff still to spin.
    ``plan`` has, for each doff of the cycle, the numbers of bobbins in the groups renewed in it. ``per_spin`` [kg] is
    what a bobbin loses in one doff, whatever its time; a full one holds ``content`` [kg] with a spread ``deviation``.
    """

    name: str
    spin: Draw
    doff: Draw
    plan: tuple[tuple[int, ...], ...]
    per_spin: float
    content: float
    deviation: float = 0.0
    first: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """People and carts: ``per_bobbin`` and ``trip`` [s] give times at random; the store is full at the start."""

    creelers: int
    doffing_crews: int
    carts: int
    cart_size: int
    store: int
    per_bobbin: Draw
    trip: Draw


@dataclass(slots=True, kw_only=True)
class Job:
    """Renewals of one group: when due, begun and done [s], bobbins changed, and what came of waiting.

    ``empty`` bobbins had run out before their turn, ``short`` of them before they were due, as they held less than
    reckoned; their spindles stood for ``stood`` [s] together. ``stripped`` [kg]
    was left on the others. ``for_bobbins`` [s] was spent waiting for the store.
    """

    frame: str
    due: float
    bobbins: int
    begun: float = np.nan
    done: float = np.nan
    changed: int = 0
    empty: int = 0
    short: int = 0
    first_empty: float = np.nan
    stood: float = 0.0
    stripped: float = 0.0
    for_bobbins: float = 0.0


@dataclass(slots=True, kw_only=True)
class FloorLog:
    """What happened up to ``horizon`` [s].

    Jobs in the order in which they fell due; doffs as (frame, asked, begun, done), trips as (begun, unloaded), ``work``
    as (begun, done) of each bobbin changed [s]; ``left_empty`` are groups with empty bobbins when the time was over.
    ``lowest_store`` is the fewest full bobbins that ever stood in the store.
    """

    horizon: float
    jobs: list[Job]
    doffs: list[tuple[str, float, float, float]]
    trips: list[tuple[float, float]]
    work: list[tuple[float, float]]
    left_empty: list[Job]
    lowest_store: int


class _Frame:
    """A frame on the floor: how much each bobbin has given, and the groups that hang in it."""

    def __init__(self, run: FrameRun, seed: np.random.SeedSequence) -> None:
        self.run = run
        # Contents have chances of their own, so that when bobbins are changed does not move when the frame doffs.
        self.chance, self.of_contents = (np.random.default_rng(one) for one in seed.spawn(2))
        self.pace = 0.0
        self.fed = 0.0
        self.since = self.rate = 0.0
        self.hung: dict[tuple[int, int], Array] = {}
        self.holds: dict[tuple[int, int], Array] = {}
        self.waiting: set[tuple[int, int]] = set()
        for place, sizes in enumerate(run.plan):
            for k, size in enumerate(sizes):
                # The group is due at the end of its doff, after a whole cycle since it was hung.
                self.hung[place, k] = np.full(size, -(len(run.plan) - place - 1) * run.per_spin)
                self.holds[place, k] = self.full(size)

    def full(self, size: int) -> Array:
        """Draw the content of full bobbins [kg]."""
        run = self.run
        return run.content + run.deviation * self.of_contents.standard_normal(size)

    def given(self, now: float) -> float:
        """Tell how much every strand has given since the start [kg]."""
        return self.fed + self.rate * (now - self.since)


class _Floor:
    """The processes and what they share."""

    def __init__(self, runs: tuple[FrameRun, ...], crew: Crew, horizon: float, seed: int) -> None:
        self.env = simpy.Environment()
        self.crew = crew
        # Each frame, the people and the carts draw from chances of their own, so that one more hand moves nothing else.
        own = np.random.SeedSequence(seed).spawn(len(runs) + 2)
        self.frames = [_Frame(run, one) for run, one in zip(runs, own, strict=False)]
        self.of_people, self.of_carts = (np.random.default_rng(one) for one in own[-2:])
        self.creelers = simpy.Resource(self.env, crew.creelers)
        self.doffers = simpy.Resource(self.env, crew.doffing_crews)
        self.store = simpy.Container(self.env, crew.store, crew.store)
        self.log = FloorLog(
            horizon=horizon, jobs=[], doffs=[], trips=[], work=[], left_empty=[], lowest_store=crew.store
        )
        for frame in self.frames:
            self.env.process(self.spinning(frame))
        for _ in range(crew.carts):
            self.env.process(self.carting())

    def spinning(self, frame: _Frame) -> Steps:
        """Spin, wait for a crew, be doffed, ask for renewals; without end."""
        env, run = self.env, frame.run
        doff, share = 0, run.first
        while True:
            frame.pace = run.spin(frame.chance)
            time = frame.pace * share
            frame.since, frame.rate = env.now, run.per_spin / frame.pace if frame.pace else 0.0
            yield env.timeout(time)
            frame.fed, frame.rate, frame.since = frame.fed + run.per_spin * share, 0.0, env.now
            asked = env.now
            with self.doffers.request() as crew:
                yield crew
                begun = env.now
                yield env.timeout(run.doff(frame.chance))
            self.log.doffs.append((run.name, asked, begun, env.now))
            share = 1.0
            self.ask(frame, doff % len(run.plan))
            doff += 1

    def ask(self, frame: _Frame, place: int) -> None:
        """Make a job of each group of this doff; a group whose last job still waits is not asked for twice."""
        for k, size in enumerate(frame.run.plan[place]):
            if size and (place, k) not in frame.waiting:
                job = Job(frame=frame.run.name, due=self.env.now, bobbins=size)
                self.log.jobs.append(job)
                frame.waiting.add((place, k))
                self.env.process(self.creeling(frame, (place, k), job))

    def creeling(self, frame: _Frame, group: tuple[int, int], job: Job) -> Steps:
        """Wait for a creeler, then change bobbin by bobbin."""
        env = self.env
        with self.creelers.request() as hand:
            yield hand
            job.begun = env.now
            for k in range(job.bobbins):
                before = env.now
                yield self.store.get(1)
                job.for_bobbins += env.now - before
                self.log.lowest_store = min(self.log.lowest_store, int(self.store.level))
                begun = env.now
                yield env.timeout(self.crew.per_bobbin(self.of_people))
                self.log.work.append((begun, env.now))
                self.change(frame, group, k, job)
        frame.waiting.discard(group)
        job.done = env.now

    def change(self, frame: _Frame, group: tuple[int, int], k: int, job: Job) -> None:
        """Book the old bobbin and hang the full one."""
        given = frame.given(self.env.now)
        self.book(frame, float(frame.holds[group][k] - (given - frame.hung[group][k])), job)
        job.changed += 1
        frame.hung[group][k] = given
        frame.holds[group][k] = frame.full(1)[0]

    def book(self, frame: _Frame, left: float, job: Job) -> None:
        """Book what was left on a bobbin [kg]; below nought it had run out, and its spindle stood since."""
        if left >= 0:
            job.stripped += left
            return
        # A standing spindle's strand is counted as given, at the pace of the frame.
        stood = -left / frame.run.per_spin * frame.pace
        job.empty += 1
        job.short += stood > self.env.now - job.due + ROUNDING
        job.stood += stood
        job.first_empty = float(np.fmin(job.first_empty, self.env.now - stood))

    def close(self) -> None:
        """Book the bobbins that have run out and still hang when the time is over, each group as a job never begun."""
        for frame in self.frames:
            given = frame.given(self.env.now)
            for group, hung in frame.hung.items():
                left = frame.holds[group] - (given - hung)
                if (left < 0).any():
                    job = Job(frame=frame.run.name, due=self.env.now, bobbins=len(left))
                    for one in left[left < 0]:
                        self.book(frame, float(one), job)
                    self.log.left_empty.append(job)

    def carting(self) -> Steps:
        """Bring a cart of full bobbins and wait until the store has room for them; without end."""
        env = self.env
        while True:
            begun = env.now
            yield env.timeout(self.crew.trip(self.of_carts))
            yield self.store.put(self.crew.cart_size)
            self.log.trips.append((begun, env.now))


def run_floor(runs: tuple[FrameRun, ...], crew: Crew, horizon: float, seed: int) -> FloorLog:
    """Run the floor for a time [s]; the same seed gives the same log."""
    floor = _Floor(runs, crew, horizon, seed)
    floor.env.run(until=horizon)
    floor.close()
    return floor.log
