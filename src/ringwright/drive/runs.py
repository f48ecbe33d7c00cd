"""The belt runs of a frame, made from what the mill says of belt, tapes and wharves."""

from __future__ import annotations

import numpy as np

from ringwright.mill import Frame
from ringwright.mill.belt import Belt, Tape
from ringwright.physics.belt import Strip, bending_pull
from ringwright.physics.belt_run import Anchor, BeltRun, Drum, Wharves

__all__ = ["DRUM", "drum_diameter", "run_of", "strip_of"]

DRUM = 0.2
"""Diameter [m] taken for a drum that the mill does not write: it only sets the drum's own speed."""
IDLE = 1.0
"""Length [m] of belt round each end of the frame where no spindle stands: assumed, it moves the tension little."""


def strip_of(band: Belt | Tape) -> Strip:
    """Give the strip of a belt or tape; bending as a solid strip of the same stretch, E A t2 / 12."""
    stiffness = 100 * band.pull_at_one_percent
    neutral = band.thickness / 2 if band.neutral_height is None else band.neutral_height
    return Strip(
        stiffness=stiffness,
        mass=band.width * band.thickness * band.density,
        bending_stiffness=stiffness * band.thickness**2 / 12,
        neutral_height=neutral,
        bending_loss=band.bending_loss,
    )


def drum_diameter(frame: Frame) -> float:
    """Give the drum's diameter [m], or the one taken where none is written."""
    return DRUM if frame.drive.drum_diameter is None else frame.drive.drum_diameter


def run_of(frame: Frame, spindles: int, power: float, exponent: float, speed: float) -> BeltRun:
    """Make the run of one belt or tape over so many spindles, each taking a power [W] at a speed [rad/s]."""
    taped = frame.drive.kind == "four-spindle tape"
    band = frame.drive.tape if taped else frame.drive.belt
    strip, diameter = strip_of(band), drum_diameter(frame)
    one = np.ones(spindles)
    press, drag = (0.0, 0.0) if isinstance(band, Tape) else _rollers(band)
    drags = drag * one
    if isinstance(band, Tape):
        drags[min(max(int(band.jockey_after) - 1, 0), spindles - 1)] += band.jockey_drag
    wharves = Wharves(
        diameter=frame.spindle.wharve_diameter * one, laid=band.wrap * one, press=press * one,
        friction=band.friction * one, drag=drags, power=power * one, speed=speed, exponent=exponent,
        bearing_arm=frame.drive.wharves.bearing_friction * frame.drive.wharves.bearing_diameter / 2,
    )  # fmt: skip
    # The belt bends round its drum and round one pulley more, taken as large.
    ends = 2 * float(bending_pull(strip, 1 / (diameter / 2 + strip.neutral_height)))
    return BeltRun(
        strip=strip,
        drum=Drum(diameter=diameter, wrap=band.drum_wrap, friction=band.drum_friction),
        wharves=wharves,
        anchor=_anchor(frame, band, spindles),
        end_drag=ends,
    )


def _rollers(belt: Belt) -> tuple[float, float]:
    """Give the force [N] of the rollers on each wharve, and the pull [N] that they take for each."""
    force = belt.roller_force / belt.spindles_per_roller
    return force, belt.roller_drag * force


def _anchor(frame: Frame, band: Belt | Tape, spindles: int) -> Anchor:
    if isinstance(band, Tape):
        return Anchor(tension=band.tension, fixed=False, place=min(int(band.jockey_after), spindles))
    if band.held != "fixed":
        return Anchor(tension=band.tension, fixed=False)
    back = spindles * frame.gauge if frame.drive.kind == "tangential belt, double" or frame.sides == 1 else 0.0
    near = band.first == "near the drum"
    return Anchor(
        tension=band.tension, fixed=True, pitch=frame.gauge,
        slack_idle=IDLE + (0.0 if near else back), tight_idle=IDLE + (back if near else 0.0),
    )  # fmt: skip
