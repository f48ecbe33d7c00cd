"""What a frame's drive can follow, and a course of speeds through the doff."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.mill.setting import Setting
from ringwright.physics.delivery import Course, time_at
from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal
from ringwright.units import show

__all__ = ["Drive", "SpeedCourse", "constant", "course_as_set"]

MOST_CORNERS = 10
RPM = 2 * np.pi / 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """What the drive can do, SI: its fastest change of speed [rad/s2] and its least and most speed [rad/s].

    ``start_most`` and ``tip_most`` hold the speeds at the two ends of the doff down, as a mill may wish for reasons
    that no limit counts. ``corners`` 0 means a course of start, base, main and tip, as a setting has it; else so many
    corners, 2 to 10, free in speed and place. Raises Refusal for what cannot be.
    """

    ramp: float = 10 * RPM
    least: float = 1000 * RPM
    most: float = 30000 * RPM
    start_most: float = np.inf
    tip_most: float = np.inf
    corners: int = 0

    def __post_init__(self) -> None:
        faults = []
        if not self.ramp > 0:
            faults.append(Fault(where="the ramp", got=f"{self.ramp / RPM:g} rpm in a second", wants="more than 0"))
        if not 0 < self.least < self.most:
            got = f"{show(self.least, 'rotation', 'rpm')} with a most of {show(self.most, 'rotation', 'rpm')}"
            faults.append(Fault(where="the drive's least speed", got=got, wants="more than 0 and less than the most"))
        for where, most in (("the start", self.start_most), ("the tip", self.tip_most)):
            if most < self.least:
                wants = f"at least the drive's least, {show(self.least, 'rotation', 'rpm')}"
                got = show(most, "rotation", "rpm")
                faults.append(Fault(where=f"the most speed at {where}", got=got, wants=wants))
        if self.corners != 0 and not 2 <= self.corners <= MOST_CORNERS:
            wants = f"between 2 and {MOST_CORNERS}, or left out for start, base, main and tip"
            faults.append(Fault(where="the number of corners", got=str(self.corners), wants=wants))
        if faults:
            raise Refusal(faults)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedCourse:
    """Spindle speeds [rad/s] at shares of the doff's yarn, 0 to 1, straight lines between."""

    shares: tuple[float, ...]
    speeds: tuple[float, ...]

    def at(self, share: Array) -> Array:
        """Speed at the shares of the doff, any shape."""
        return np.interp(share, self.shares, self.speeds)

    def time(self, share: Array | float, turns: float) -> Array:
        """Time since the start [s] at the shares, for a doff of so many spindle turns."""
        return time_at(Course(self.shares, tuple(speed / (2 * np.pi) for speed in self.speeds)), share, turns)

    def doff_time(self, turns: float) -> float:
        """Time of the whole doff [s]."""
        return float(self.time(1.0, turns))

    def mean_speed(self, turns: float) -> float:
        """Mean speed of the spindle over the doff's time [rad/s]."""
        return 2 * np.pi * turns / self.doff_time(turns)


def constant(speed: float) -> SpeedCourse:
    """Give the course that never changes its speed [rad/s]."""
    return SpeedCourse(shares=(0.0, 1.0), speeds=(speed, speed))


def course_as_set(setting: Setting) -> SpeedCourse:
    """Give the course of a setting: start, base half-way through the base, main from its end to the tip, tip."""
    return SpeedCourse(
        shares=(0.0, setting.base_until / 2, setting.base_until, setting.tip_from, 1.0),
        speeds=(setting.start_speed, setting.base_speed, setting.main_speed, setting.main_speed, setting.tip_speed),
    )
