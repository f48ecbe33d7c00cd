"""All that is told of a frame's drive in one answer: the run, its spread, other wharves, readings, another frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.drive.frame_drive import FrameDrive, drive_frame
from ringwright.drive.load import SpindleLoad
from ringwright.drive.readings import SpeedRound
from ringwright.drive.slow import SlowStudy
from ringwright.drive.twist_spread import TwistSpread, twist_spread
from ringwright.drive.wharves import WharveChoice, saving_per_mm, try_wharves, wharve_at
from ringwright.mill import Frame, Yarn
from ringwright.physics.twist import twist

__all__ = ["DriveTold", "ReadRound", "told_drive"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadRound:
    """A round of speeds and what it says.

    ``source`` names the file, ``text`` is it as given, ``planted`` tells of a demonstration's faults.
    """

    source: str
    round: SpeedRound
    study: SlowStudy
    text: str
    planted: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveTold:
    """A frame's drive as told.

    ``twist`` [turns/m] is the yarn's, over all spindles; ``by_wheels`` what they get where the wheels were reckoned
    with the slip that the mill states (nan without a drum). ``saving`` [J/kg] by a wharve 1 mm smaller;
    ``margin_at`` and ``slips_at`` the wharves [m] at which the least margin, and the slip, are met (None if nowhere).
    ``tried`` says whether the wharve is another than the mill's.
    """

    yarn: Yarn
    driven: FrameDrive
    spread: TwistSpread
    wharves: tuple[WharveChoice, ...]
    saving: float
    margin_at: float | None
    slips_at: float | None
    twist: float
    by_wheels: float
    tried: bool = False
    read: ReadRound | None = None

    @property
    def frame(self) -> Frame:
        """The frame, with the wharve tried."""
        return self.driven.frame

    @property
    def least_margin(self) -> float:
        """Least of the most pull over the pull wanted at any wharve [1]; inf without a belt."""
        return float(self.driven.margin.min())


def told_drive(frame: Frame, yarn: Yarn, load: SpindleLoad, *, bolster: float | None = None) -> DriveTold:
    """Drive a frame and gather what is told of it; raises Refusal where belt or drum cannot give the pull."""
    driven = drive_frame(frame, load, bolster)
    turns = float(twist(yarn.twist_multiplier, yarn.count))
    drum = frame.drive.drum_diameter is not None and bool(driven.runs)
    return DriveTold(
        yarn=yarn, driven=driven, spread=twist_spread(driven), wharves=try_wharves(driven),
        saving=saving_per_mm(driven) if driven.runs else float("nan"),
        margin_at=wharve_at(driven, frame.drive.wharves.slip_margin), slips_at=wharve_at(driven, 1.0), twist=turns,
        by_wheels=turns * (1 - driven.slip) / (1 - frame.drive.slip) if drum else float(np.nan),
        tried=bolster is not None,
    )  # fmt: skip
