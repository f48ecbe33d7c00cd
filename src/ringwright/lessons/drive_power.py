"""What tape or belt must give one spindle: power, speed and pull at the wharve."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from ringwright.economy.energy import energy_by_part
from ringwright.lessons.ground import Ground, doff_of
from ringwright.lessons.words import told
from ringwright.mill import origin_of
from ringwright.refusal import Refusal

__all__ = [
    "AT_WHARVE",
    "belt_pull",
    "belt_speed",
    "drum_speed",
    "motors",
    "no_belt",
    "power_source",
    "spindle_power",
    "taped",
]

AT_WHARVE = (
    "traveller on ring", "balloon in the air", "yarn on control ring", "drawing the yarn in", "cop in the air",
    "bare spindle and its drive",
)  # fmt: skip
"""The parts of a spindle's power that come through its wharve; the last holds its share of the belt too."""


def belt_speed(wharve_diameter: float, spindle_speed: float, slip: float) -> float:
    """Return the speed of tape or belt [m/s] that turns a wharve [m] at a speed [rad/s]: d w / 2 over 1 - slip.

    Range: a thin belt; its thickness is left out. Geometry.
    """
    return wharve_diameter / 2 * spindle_speed / (1 - slip)


def drum_speed(belt: float, drum_diameter: float) -> float:
    """Return the speed of the drum [rad/s] that moves a belt at a speed [m/s]: 2 v / D. Geometry."""
    return 2 * belt / drum_diameter


def belt_pull(power: float, wharve_diameter: float, spindle_speed: float) -> float:
    """Return the pull along the belt [N] that gives a wharve [m] a power [W] at a speed [rad/s]: P over d w / 2."""
    return power / (wharve_diameter / 2 * spindle_speed)


@lru_cache(maxsize=16)
def spindle_power(ground: Ground) -> float:
    """Return the mean power at one wharve [W] while the spindle runs at its main speed; nan without steady balloons."""
    doff, main = doff_of(ground), ground.choice.setting.main_speed
    try:
        parts = energy_by_part(doff, ground.mill.power).parts
    except Refusal:
        return math.nan
    # At one speed places of equal yarn take equal times.
    at_main = np.isclose(doff.places.spindle_speed, main, rtol=1e-6)
    return float(np.sum([parts[name][at_main] for name in AT_WHARVE], axis=0).mean())


def power_source(ground: Ground) -> str:
    """Say where the power at a wharve comes from, with the origin of the part that no drawing gives."""
    power = ground.mill.power
    origin = origin_of(ground.mill, "power.bare_spindle")[0]
    bare, speed = told(power.bare_spindle, "W"), told(power.bare_spindle_speed, "rpm")
    return (
        f"Power at a wharve: this program's balloon and package models, and {bare} at {speed} for the bare spindle "
        f"with its share of the drive ({origin})."
    )


def motors(ground: Ground) -> str:
    """Say that a frame has neither tape nor belt, or nothing."""
    kind = ground.choice.frame.drive.kind
    return "Each spindle of the frame has its own motor: there is no belt." if kind == "single-spindle motors" else ""


def no_belt(ground: Ground) -> str:
    """Say why a frame has no belts, or nothing."""
    return "The frame is driven by tapes, not by belts." if taped(ground) else motors(ground)


def taped(ground: Ground) -> bool:
    """Say whether tapes drive the frame's spindles."""
    return ground.choice.frame.drive.kind == "four-spindle tape"
