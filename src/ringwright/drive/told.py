"""What other parts of the program ask the drive: the slip that it computes, and its line on the card."""

from __future__ import annotations

from ringwright.drive.frame_drive import drive_frame
from ringwright.drive.load import SpindleLoad
from ringwright.drive.twist_spread import twist_spread
from ringwright.mill import Frame

__all__ = ["card_line", "computed_slip"]


def computed_slip(frame: Frame, load: SpindleLoad) -> float:
    """Give the speed lost between the bare diameters of drum and wharve [1], creep, slip and the belt's height in one.

    Negative where the height of the belt's neutral layer makes the spindle faster than it loses. Raises Refusal where
    the belt cannot give the pull.
    """
    return drive_frame(frame, load).slip


def card_line(frame: Frame, load: SpindleLoad) -> str:
    """Say in one line how the drive spreads the twist, and how far its wharves are from slipping."""
    driven = drive_frame(frame, load)
    spread = twist_spread(driven)
    low, high = 100 * spread.lowest, 100 * spread.highest
    twist = f"Drive: twist {low:+.1f} % to {high:+.1f} % along the belt, SD {100 * spread.deviation:.2f} % in all"
    if not driven.runs:
        return f"Drive: twist SD {100 * spread.deviation:.2f} % by the motors' control; no belt to slip"
    return f"{twist}; least pull in hand at a wharve {float(driven.margin.min()):.1f} times".replace("-", "\u2212")
