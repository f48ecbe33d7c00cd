"""How far the spindles' twist spreads about its mean: along the belt, from part to part, from motor to motor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from ringwright.drive.frame_drive import FrameDrive
from ringwright.drive.runs import drum_diameter, strip_of
from ringwright.physics.belt import effective_radius
from ringwright.physics.real import Array

__all__ = ["TwistSpread", "twist_spread"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TwistSpread:
    """Twist against its mean, as shares [1]; the rollers deliver alike, so twist spreads as the spindles' speeds do.

    ``lowest`` and ``highest`` are the model's own spindles (creep along the belt, slip), at places ``lowest_at`` and
    ``highest_at`` (spindle numbers from 1). ``chance`` are standard deviations of what differs from part to part, by
    name; ``beyond`` the spindles expected outside the ``allowance`` either way, with both together.
    """

    lowest: float
    highest: float
    lowest_at: int
    highest_at: int
    along: float
    chance: dict[str, float]
    allowance: float
    beyond: float

    @property
    def by_chance(self) -> float:
        """Standard deviation of all that differs from part to part [1]."""
        return float(np.sqrt(sum(one**2 for one in self.chance.values())))

    @property
    def deviation(self) -> float:
        """Standard deviation of the twist over the frame, along the belt and from part to part [1]."""
        return float(np.hypot(self.along, self.by_chance))


def twist_spread(driven: FrameDrive) -> TwistSpread:
    """Give the spread of twist over a frame's spindles; what differs from part to part is taken as normal."""
    off = driven.speed / driven.speed.mean() - 1
    chance = _chance(driven)
    width = float(np.sqrt(sum(one**2 for one in chance.values())))
    allowance = driven.frame.drive.twist_spread
    return TwistSpread(
        lowest=float(off.min()), highest=float(off.max()), lowest_at=int(off.argmin()) + 1,
        highest_at=int(off.argmax()) + 1, along=float(off.std()), chance=chance, allowance=allowance,
        beyond=_beyond(off, width, allowance),
    )  # fmt: skip


def _beyond(off: Array, width: float, allowance: float) -> float:
    if width == 0:
        return float(np.sum(np.abs(off) > allowance))
    return float(np.sum(stats.norm.sf((allowance - off) / width) + stats.norm.cdf((-allowance - off) / width)))


def _chance(driven: FrameDrive) -> dict[str, float]:
    """Give standard deviations of the speed, as shares; an error "either way" is taken as even over its width."""
    drive = driven.frame.drive
    if drive.kind == "single-spindle motors":
        return {"control of the motors": drive.motors.control_error / np.sqrt(3)}
    band = drive.tape if drive.kind == "four-spindle tape" else drive.belt
    strip, radius = strip_of(band), driven.frame.spindle.wharve_diameter / 2
    curve = float(np.mean([run.curvature.mean() for run in driven.runs]))
    arm = float(effective_radius(strip, curve, radius))
    found = {"diameters of the wharves": drive.wharves.diameter_spread / 2 / arm}
    if drive.kind == "four-spindle tape":
        # A thicker tape has its neutral layer higher; on the small wharve that takes more than on the drum.
        share = strip.neutral_height / drive.tape.thickness
        drum = drum_diameter(driven.frame) / 2 + strip.neutral_height
        found["thickness of the tapes"] = drive.tape.thickness_spread * share * abs(curve - 1 / drum)
    if drive.kind == "group belts":
        found["synchronisation of the motors"] = drive.motors.synchronisation / np.sqrt(3)
    return found
