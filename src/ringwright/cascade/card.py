"""The separators in one line, for the setting card."""

from __future__ import annotations

from ringwright.cascade.clearance import clearance_of
from ringwright.mill import Mill
from ringwright.units import show

__all__ = ["card_line"]


def card_line(mill: Mill, frame: str, yarn: str) -> str:
    """Say in one line how much room the plates leave the balloon, or half the gauge where none are fitted."""
    left = show(clearance_of(mill, frame, yarn).plate_room, "length", "mm", 1)
    if mill.frames[frame].separators.fitted:
        return f"Every separator straight and in place: {left} beside the balloon"
    return f"No separators: {left} from the balloon to half the gauge"
