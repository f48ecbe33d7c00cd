"""One place of a doff, solved for what is tried: the quick answer to a slider."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from ringwright.physics.outcome import Outcome
from ringwright.physics.position import Positions, Solutions
from ringwright.refusal import Fault
from ringwright.setting.choice import Choice
from ringwright.setting.doff import Forces, forces_of
from ringwright.setting.places import DoffProblem, Places, place_at
from ringwright.setting.problem import doff_problem, positions
from ringwright.units import parse, show
from ringwright.workbench.solving import Line

__all__ = ["Moment", "Place", "State", "asked_positions", "moment_of", "place_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """When in the doff: share 0 to 1 of the yarn wound, and height 0 to 1 in the slow rise of the stroke then made."""

    share: float = 0.5
    up: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """One solved place of one choice; every array has one value."""

    choice: Choice
    problem: DoffProblem
    places: Places
    solutions: Solutions
    forces: Forces

    @property
    def steady(self) -> bool:
        """Whether there is a steady balloon."""
        return int(self.solutions.outcome[0]) == Outcome.STEADY

    @property
    def sentence(self) -> str:
        """How the solution ended, with the mass at which the limit lies where it is known."""
        words = Outcome(int(self.solutions.outcome[0])).sentence
        limit = float(self.solutions.stopped_at_mass[0])
        if not np.isfinite(limit):
            return words
        return f"{words} The limit here lies at {show(limit, 'mass', 'mg', 1)}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """The answer: the state at the frame's own ring friction, at the ends of its band, and the traced yarn."""

    here: State
    band: tuple[State, ...]
    line: Line | None


def _one(choice: Choice, moment: Moment) -> tuple[DoffProblem, Places]:
    problem = doff_problem(choice)
    return problem, _placed(problem, moment)


@lru_cache(maxsize=256)
def _placed(problem: DoffProblem, moment: Moment) -> Places:
    """Lay the place out once for all trials that wind the same cop in the same time, as those of a traveller do."""
    return place_at(problem, moment.share, moment.up)


def _frictions(choice: Choice, *, banded: bool) -> list[float]:
    ring = choice.frame.ring
    ends = sorted({ring.friction_low, ring.friction_high} - {ring.friction}) if banded else []
    return [ring.friction, *ends]


def asked_positions(choice: Choice, moment: Moment, *, banded: bool) -> Positions:
    """Give the positions to solve for a choice at a moment: its own, and with ``banded`` the ends of ring friction."""
    _, places = _one(choice, moment)
    own, frictions = positions(choice, places), _frictions(choice, banded=banded)
    many = own.take(np.zeros(len(frictions), dtype=np.intp))
    return replace(many, ring_traveller_friction=np.array(frictions))


def place_of(
    choice: Choice, moment: Moment, solutions: Solutions, traced: Sequence[Line | None], *, banded: bool
) -> Place:
    """Make the answer from what the solver gave for ``asked_positions`` with the same arguments."""
    problem, places = _one(choice, moment)
    states = []
    for k, friction in enumerate(_frictions(choice, banded=banded)):
        ring = choice.frame.ring.model_copy(update={"friction": friction})
        with_friction = replace(choice, frame=choice.frame.model_copy(update={"ring": ring})) if k else choice
        one = solutions.take(np.array([k]))
        forces = forces_of(with_friction, places, one)
        states.append(State(choice=with_friction, problem=problem, places=places, solutions=one, forces=forces))
    return Place(here=states[0], band=tuple(states[1:]), line=traced[0])


def moment_of(words: dict[str, str]) -> tuple[Moment, dict[str, Fault]]:
    """Read the moment from "doff" (share of the yarn wound) and "chase" (height in the stroke), both as "40 %".

    What cannot be read is told by its key, and stands at the start.
    """
    faults: dict[str, Fault] = {}
    share = _share(words.get("doff", ""), "Stage of the doff", "doff", faults, start=Moment().share)
    up = _share(words.get("chase", ""), "Place in the stroke", "chase", faults, start=Moment().up)
    return Moment(share=share, up=up), faults


def _share(word: str, name: str, key: str, faults: dict[str, Fault], *, start: float) -> float:
    if not word.strip():
        return start
    try:
        value = parse(word, "share", name)
    except ValueError as refusal:
        found: Any = getattr(refusal, "faults", None)
        faults[key] = found[0]
        return start
    if 0.0 <= value <= 1.0:
        return round(value, 9)  # 35 % and 0.35 are one moment
    faults[key] = Fault(where=name, got=show(value, "share", "%"), wants="between 0 % and 100 %")
    return start
