"""The same frame with other wharves: drum speed, slip margin, losses and energy for each diameter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from scipy.optimize import brentq

from ringwright.drive.frame_drive import FrameDrive, drive_frame, least_margin
from ringwright.mill import Frame
from ringwright.refusal import Refusal

__all__ = ["USUAL", "WharveChoice", "best_wharve", "saving_per_mm", "try_wharves", "wharve_at", "with_wharve"]

USUAL: Final = tuple(1e-3 * mm for mm in (18, 19, 20, 21, 22, 23, 24))
"""Diameters tried [m]; 19 mm to 22 mm are usual, common practice, no source."""
_SMALLEST, _LARGEST = 6e-3, 60e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class WharveChoice:
    """One wharve diameter [m] and how the frame runs with it; ``driven`` is None where belt or drum cannot give it.

    ``margin`` is the least at any spindle [1], ``why_not`` the sentence of what fails.
    """

    diameter: float
    driven: FrameDrive | None
    margin: float
    why_not: str = ""

    @property
    def slips(self) -> bool:
        """Whether a wharve slips, or nothing runs at all."""
        return self.driven is None or self.margin < 1


def with_wharve(frame: Frame, diameter: float) -> Frame:
    """Give the frame with another wharve [m]."""
    return frame.model_copy(update={"spindle": frame.spindle.model_copy(update={"wharve_diameter": diameter})})


def try_wharves(driven: FrameDrive, diameters: Sequence[float] = USUAL) -> tuple[WharveChoice, ...]:
    """Drive the same spindles at the same speed over other wharves, the bolster's own power unchanged.

    Nothing for single-spindle motors, which have no wharve.
    """
    if driven.frame.drive.kind == "single-spindle motors":
        return ()
    all_of = sorted({*(round(d, 6) for d in diameters), round(driven.frame.spindle.wharve_diameter, 6)})
    return tuple(_tried(driven, diameter) for diameter in all_of)


def _tried(driven: FrameDrive, diameter: float) -> WharveChoice:
    try:
        one = drive_frame(with_wharve(driven.frame, diameter), driven.load, driven.bolster)
    except Refusal as refusal:
        return WharveChoice(diameter=diameter, driven=None, margin=float("nan"), why_not=str(refusal))
    return WharveChoice(diameter=diameter, driven=one, margin=float(one.margin.min()))


def best_wharve(tried: Sequence[WharveChoice], least_margin: float) -> WharveChoice | None:
    """Give the wharve with the least energy among those that keep the margin; None if none does."""
    held = [one for one in tried if one.driven is not None and one.margin >= least_margin]
    return min(held, key=lambda one: one.driven.energy if one.driven else 0.0, default=None)


def wharve_at(driven: FrameDrive, margin: float) -> float | None:
    """Give the wharve [m] at which the least pull in hand falls to a margin [1]; None if none of 6 mm to 60 mm does."""

    def over(diameter: float) -> float:
        return least_margin(with_wharve(driven.frame, diameter), driven.load, driven.bolster) - margin

    if driven.frame.drive.kind == "single-spindle motors" or over(_SMALLEST) > 0 or over(_LARGEST) < 0:
        return None
    return float(brentq(over, _SMALLEST, _LARGEST, xtol=5e-6))


def saving_per_mm(driven: FrameDrive) -> float:
    """Give the energy [J/kg] that a wharve smaller by 1 mm saves; negative where it costs. Nan where it cannot run."""
    size = driven.frame.spindle.wharve_diameter
    ends = [_tried(driven, size + step).driven for step in (-0.5e-3, 0.5e-3)]
    if ends[0] is None or ends[1] is None:
        return float("nan")
    return ends[1].energy - ends[0].energy
