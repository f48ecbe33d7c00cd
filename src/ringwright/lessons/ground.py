"""What a lesson stands on: a mill with one frame and yarn, and what has been solved for it already."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from ringwright.judgement.inside import inside_of
from ringwright.mill import Mill
from ringwright.mill.frame_rules import FRAME_RULES
from ringwright.mill.rule import breaches
from ringwright.mill.table import number_at
from ringwright.physics.position import threads
from ringwright.physics.real import Array
from ringwright.refusal import Refusal
from ringwright.report.position_filling import position_figure
from ringwright.report.position_inputs import PositionFigure
from ringwright.setting.choice import AS_SET, Choice, Trial, choose
from ringwright.setting.doff import Doff, solve_doff
from ringwright.setting.places import Counts, Sampling
from ringwright.setting.problem import positions

__all__ = ["AS_IT_IS", "SAMPLING", "Change", "Ground", "doff_of", "drawn_at", "ends_of", "frame_with", "tube_room"]

SAMPLING = Sampling(strokes=16, places=6)
"""A doff as a lesson solves it: coarse, so that the answer keeps up with the hand."""
KEPT = 128


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What a lesson changes: a trial as the commands know it, and measures of the frame by their dotted keys [SI]."""

    trial: Trial = AS_SET
    frame: tuple[tuple[str, float], ...] = ()


AS_IT_IS = Change()
"""Nothing changed."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Ground:
    """A mill with the names of one frame and one yarn; what is solved for it is kept with it."""

    mill: Mill
    frame: str
    yarn: str

    @cached_property
    def choice(self) -> Choice:
        """The setting as the mill has it; Refusal for an unknown frame, yarn or setting."""
        return choose(self.mill, self.frame, self.yarn)


def frame_with(ground: Ground, change: Change) -> Mill:
    """Give the mill with the frame's measures changed; Refusal where they break a rule of every frame."""
    if not change.frame:
        return ground.mill
    frame = ground.mill.frames[ground.frame]
    for key, value in change.frame:
        part, name = key.split(".")
        table = getattr(frame, part)
        frame = frame.model_copy(update={part: table.model_copy(update={name: value})})
    faults = breaches(FRAME_RULES, lambda key: number_at(frame, key))
    if faults:
        raise Refusal(faults)
    return ground.mill.model_copy(update={"frames": ground.mill.frames | {ground.frame: frame}})


def doff_of(ground: Ground, change: Change = AS_IT_IS, sampling: Sampling = SAMPLING) -> Doff:
    """Solve the doff of a ground with a change, once; refuses as ``solve_doff``."""
    return _doff_of(ground, change, sampling)


@lru_cache(maxsize=KEPT)
def _doff_of(ground: Ground, change: Change, sampling: Sampling) -> Doff:
    return solve_doff(frame_with(ground, change), ground.frame, ground.yarn, change.trial, sampling)


@lru_cache(maxsize=KEPT)
def drawn_at(ground: Ground, change: Change, index: int) -> PositionFigure:
    """Fill the drawing of one place of the doff with a change."""
    roving = ground.mill.rovings[ground.choice.setting.roving]
    return position_figure(doff_of(ground, change), roving, index)


def ends_of(doff: Doff) -> Counts:
    """Give the numbers of the places at foot and top of each stroke, in the order of time."""
    row = doff.places_per_stroke
    top = int(np.argmax(doff.places.ring_height[:row]))
    feet = np.arange(0, len(doff.places), row, dtype=np.int_)
    return np.sort(np.concatenate((feet, feet + top)))


@lru_cache(maxsize=KEPT)
def tube_room(ground: Ground, change: Change) -> Array:
    """Room across from balloon to tube [m] at foot and top of each stroke; nan where it is not beside the tube."""
    doff = doff_of(ground, change)
    at = ends_of(doff)
    inside = inside_of(doff, threads(positions(doff.choice, doff.places.take(at)), points=36), at)
    return np.asarray((inside.balloon_at_tube - inside.tube)[at], dtype=np.float64)
