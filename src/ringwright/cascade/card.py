"""The separators in one line, for the setting card."""

from __future__ import annotations

from ringwright.cascade.clearance import clearance_of
from ringwright.cascade.expected import extra_breaks
from ringwright.mill import Mill
from ringwright.units import show

__all__ = ["card_line"]


def card_line(mill: Mill, frame: str, yarn: str) -> str:
    """Say in one line how much room the plates leave the balloon and what a missing one costs."""
    room = clearance_of(mill, frame, yarn)
    strikes, fitted = mill.frames[frame].strikes, mill.frames[frame].separators.fitted
    rate = mill.money.breaks_per_1000_spindle_hours
    week = 168 * extra_breaks(rate / 1000, strikes.missing_share)
    share = show(strikes.missing_share, "share", "%", 0)
    what = "Separators" if fitted else "No separators; room to half the gauge"
    left = show(room.plate_room, "length", "mm", 1)
    return (
        f"{what}: {left} beside the widest balloon; a missing plate costs about {week:.1f} breaks a week at its two "
        f"spindles ({share} of breaks strike, assumed until your records tell)."
    )
