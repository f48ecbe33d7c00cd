"""What tape or belt must give one spindle: power, speed and pull at the wharve."""

from __future__ import annotations

import math

from ringwright.lessons.drive_model import driven, load
from ringwright.lessons.ground import Ground
from ringwright.lessons.words import told
from ringwright.mill import origin_of

__all__ = [
    "belt_pull",
    "belt_speed",
    "drum_speed",
    "motors",
    "no_belt",
    "power_source",
    "spindle_power",
    "taped",
]


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


def spindle_power(ground: Ground) -> float:
    """Return the mean power that one wharve takes in [W] at the main speed; nan without steady balloons.

    What belt or tape itself is found to lose is taken out of the mill's figure for the bare spindle.
    """
    asked, found = load(ground), driven(ground)
    if asked is None:
        return math.nan
    return asked.at_spindle(asked.bare if found is None else found.bolster)


def power_source(ground: Ground) -> str:
    """Say where the power at a wharve comes from, with the origin of the part that no drawing gives."""
    power, found = ground.mill.power, driven(ground)
    origin = origin_of(ground.mill, "power.bare_spindle")[0]
    bare, speed = told(power.bare_spindle, "W"), told(power.bare_spindle_speed, "rpm")
    lost = "" if found is None or not found.losses else (
        f", less {told(sum(found.losses.values()), 'W')} that the drive is found to lose"
    )  # fmt: skip
    return (
        f"Power at a wharve: this program's balloon and package models, and {bare} at {speed} for the bare spindle "
        f"with its share of the drive ({origin}){lost}."
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
