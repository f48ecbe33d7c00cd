"""Which spindles a belt or tape drives, in the order in which it passes them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ringwright.mill import Frame

__all__ = ["Path", "belts_of", "group_of", "group_word"]

Path = npt.NDArray[np.int64]
"""Spindles of one belt, counted from 0, in the belt's order as it comes slack off its drum."""


def belts_of(frame: Frame) -> tuple[Path, ...]:
    """Give the belts or tapes of a frame; none where each spindle has its motor.

    Spindles are numbered through, side after side, and place p of side 2 stands across from place p of side 1; the drum
    stands before the first place. A single belt goes out along side 1 and home along side 2.
    """
    drive, sides = frame.drive, int(frame.sides)
    places = int(frame.spindles) // sides
    match drive.kind:
        case "single-spindle motors":
            return ()
        case "tangential belt, double":
            step = -1 if drive.belt.first == "far from the drum" else 1
            return tuple(np.arange(side * places, (side + 1) * places)[::step] for side in range(sides))
        case "tangential belt, single":
            chunk = places
        case "group belts":
            chunk = max(1, int(drive.motors.spindles_per_group) // sides)
        case "four-spindle tape":
            chunk = max(1, int(drive.tape.spindles) // sides)
    return tuple(
        _round(np.arange(start, min(start + chunk, places)), places, sides) for start in range(0, places, chunk)
    )


def _round(at: Path, places: int, sides: int) -> Path:
    """Go out along side 1 and home along side 2."""
    return np.concatenate(
        [at + side * places if side % 2 == 0 else (at + side * places)[::-1] for side in range(sides)]
    )


def group_of(frame: Frame) -> Path | None:
    """Give the belt or tape of each spindle (N,), counted from 0; None where each spindle has its motor."""
    belts = belts_of(frame)
    if not belts:
        return None
    groups = np.zeros(int(frame.spindles), np.int64)
    for k, path in enumerate(belts):
        groups[path] = k
    return groups


def group_word(frame: Frame) -> str:
    """Say what spindles share: a tape, or a belt."""
    return "tape" if frame.drive.kind == "four-spindle tape" else "belt"
