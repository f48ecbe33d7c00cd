"""One spindle run through time: what its offsets do where the linear answer is not held."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ringwright.centring.effect import Answering, turned
from ringwright.centring.offsets import Offsets
from ringwright.centring.side import Sides
from ringwright.physics.motion import Manner, motion_in_time
from ringwright.physics.motion import Offsets as Turned
from ringwright.setting.problem import positions

__all__ = ["STANDS", "InTime", "Turned", "in_time", "offsets_at"]

STANDS = 0.1
"""Share of the delivery below which the yarn is said to stand on the traveller."""
MANNER = Manner(pieces=8, steps_per_turn=128, ramp_turns=5.0)
"""Half the pieces of the usual grid: the peak moves by less than 0.1 % and the run takes a twentieth of the time."""
TURNS, KEPT = 16.0, 2.0
"""Turns that are run, and the last ones that are looked at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InTime:
    """What the last turns of a run showed of the tension at the guide [N], and the share in which the yarn stands.

    ``stopped`` says why the run ended early, and is empty if it did not; ``peak`` is then the highest of the whole run.
    """

    peak: float
    trough: float
    mean: float
    stands: float
    turns: float
    stopped: str


def in_time(answering: Answering, place: int, apart: Turned) -> InTime:
    """Run the place of a doff through time with its parts off centre; refuses as ``motion_in_time``."""
    speed = float(answering.doff.places.yarn_speed[place])
    position = positions(answering.choice, answering.doff.places.take(np.array([place])))
    run = motion_in_time(position, speed, TURNS, offsets=apart, manner=MANNER)
    last = run if run.stopped else run.last(KEPT)
    return InTime(
        peak=float(last.guide_tension.max()), trough=float(last.guide_tension.min()),
        mean=float(last.guide_tension.mean()), stands=float(np.mean(last.yarn_flow < STANDS * speed)),
        turns=float(run.turns[-1]), stopped=run.stopped,
    )  # fmt: skip


def offsets_at(answering: Answering, offsets: Mapping[str, Offsets], sides: Sides, spindle: int) -> Turned:
    """Give the vectors of one spindle as the motion in time counts them; a part that was not read is centred."""
    hand = np.array([sides.hand(spindle)])
    found = {}
    for part, one in offsets.items():
        vector = turned(one.along[spindle - 1 : spindle], one.out[spindle - 1 : spindle], hand, answering)
        found[part.replace(" ", "_")] = complex(np.nan_to_num(vector)[0])
    return Turned(**found)
