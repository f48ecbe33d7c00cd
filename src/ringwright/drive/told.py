"""What other parts of the program ask the drive: the slip that it computes, and its line on the card."""

from __future__ import annotations

from ringwright.drive.frame_drive import drive_frame
from ringwright.drive.load import SpindleLoad
from ringwright.drive.twist_spread import twist_spread
from ringwright.mill import Frame

__all__ = ["card_line", "computed_slip"]

LEAST = 0.0005
"""Difference along the frame [1] that a reading of speed can hardly show."""


def computed_slip(frame: Frame, load: SpindleLoad) -> float:
    """Give the speed lost between the bare diameters of drum and wharve [1], creep, slip and the belt's height in one.

    Negative where the height of the belt's neutral layer makes the spindle faster than it loses. Raises Refusal where
    the belt cannot give the pull.
    """
    return drive_frame(frame, load).slip


def card_line(frame: Frame, load: SpindleLoad) -> str:
    """Say in one line what reading the speed along the frame should show, by the model of the drive."""
    driven = drive_frame(frame, load)
    spread = twist_spread(driven)
    where = "Speed read at both ends and the middle, both sides"
    if max(abs(spread.lowest), abs(spread.highest)) < LEAST:
        return f"{where}: SD {100 * spread.deviation:.2f} %"
    return f"{where}: {100 * spread.lowest:+.1f} to {100 * spread.highest:+.1f} %".replace("-", "\u2212")
