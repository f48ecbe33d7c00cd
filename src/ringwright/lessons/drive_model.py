"""The drive's own model as the lessons of wharve and belts ask for it, solved once for each question."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from ringwright.drive.frame_drive import FrameDrive, drive_frame
from ringwright.drive.load import SpindleLoad
from ringwright.drive.runs import run_of
from ringwright.drive.wharves import with_wharve
from ringwright.lessons.ground import Ground, doff_of
from ringwright.physics.belt import belt_law
from ringwright.physics.belt_run import Anchor, run_belt
from ringwright.refusal import Refusal
from ringwright.verbs.driving import load_of

__all__ = ["DRUM_MARGIN", "SharedBelt", "driven", "load", "shared_belt", "with_other_wharve"]

DRUM_MARGIN = 2.0
"""Pull in hand that each belt of the lesson has at its drum: our own choice, to compare like with like."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedBelt:
    """A belt over so many spindles, tight enough for its drum: ``slack`` strand [N], ``stretch`` and ``spread`` [1].

    ``stretch`` is how much longer the belt is at its tight end than at its slack one, ``spread`` how much faster its
    fastest spindle runs than its slowest.
    """

    slack: float
    stretch: float
    spread: float


@lru_cache(maxsize=16)
def load(ground: Ground) -> SpindleLoad | None:
    """Give what one spindle asks of its drive; None without steady balloons."""
    try:
        return load_of(doff_of(ground), ground.mill.power)
    except Refusal:
        return None


@lru_cache(maxsize=16)
def driven(ground: Ground) -> FrameDrive | None:
    """Give the frame's drive as the mill has it; None where nothing can be computed."""
    asked = load(ground)
    if asked is None:
        return None
    try:
        return drive_frame(ground.choice.frame, asked)
    except Refusal:
        return None


@lru_cache(maxsize=64)
def with_other_wharve(ground: Ground, diameter: float) -> FrameDrive | None:
    """Give the drive with another wharve [m] over the same bolsters; None where belt or drum cannot give the pull."""
    as_set = driven(ground)
    if as_set is None:
        return None
    try:
        return drive_frame(with_wharve(as_set.frame, diameter), as_set.load, as_set.bolster)
    except Refusal:
        return None


@lru_cache(maxsize=128)
def shared_belt(ground: Ground, spindles: int) -> SharedBelt:
    """Give a belt over so many spindles, tightened until its drum has DRUM_MARGIN in hand; nan without a load."""
    as_set = driven(ground)
    if as_set is None:
        return SharedBelt(slack=math.nan, stretch=math.nan, spread=math.nan)
    asked, bolster = as_set.load, as_set.bolster
    run = run_of(as_set.frame, spindles, asked.at_spindle(bolster), asked.exponent(bolster), asked.speed)
    gives = float(belt_law(run.drum.friction, run.drum.wrap)) - 1
    slack = DRUM_MARGIN * spindles * float(as_set.pull.mean()) / gives
    for _ in range(4):  # what the belt gives follows a little from how tight it is
        ran = run_belt(replace(run, anchor=Anchor(tension=slack, fixed=False)), as_set.drum_speed)
        slack = DRUM_MARGIN * (ran.on_drum - ran.off_drum) / gives
    return SharedBelt(
        slack=slack,
        stretch=(ran.on_drum - ran.off_drum) / run.strip.stiffness,
        spread=float(ran.spindle_speed.max() / ran.spindle_speed.min()) - 1,
    )
