"""The sides of a frame as centring sees them: which spindles stand on each, in which order one walks past them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ringwright.mill import Frame

__all__ = ["Ints", "Sides", "sides_of"]

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sides:
    """How many spindles and sides, and the hand to which numbers rise before side 1 (1 right, -1 left).

    Spindles are numbered through, and place p of side 2 stands across from place p of side 1.
    """

    spindles: int
    sides: int
    first_hand: int

    @property
    def of_side(self) -> int:
        """Number of spindles on a side."""
        return self.spindles // self.sides

    def side(self, spindle: int) -> int:
        """Give the side of a spindle, 1 or 2."""
        return (spindle - 1) // self.of_side + 1

    def hand(self, spindle: int) -> int:
        """Give 1 where numbers rise to the right of a person who stands before the spindle, else -1."""
        return self.first_hand if self.side(spindle) == 1 else -self.first_hand

    def numbers(self, side: int) -> Ints:
        """List the spindles of a side."""
        return np.arange(self.of_side, dtype=np.int64) + (side - 1) * self.of_side + 1

    def walk(self, spindle: int) -> int:
        """Give a spindle's turn on a walk up side 1 and back down side 2."""
        side, place = divmod(spindle - 1, self.of_side)
        return side * self.of_side + (place if side % 2 == 0 else self.of_side - 1 - place)


def sides_of(frame: Frame) -> Sides:
    """Give the sides of a frame."""
    hand = 1 if frame.centring.numbers_rise == "to the right" else -1
    return Sides(spindles=int(frame.spindles), sides=int(frame.sides), first_hand=hand)
