"""The plates of a frame as they stand: fitted, bent or missing, and the chance of a strike over each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from ringwright.mill.frame import Frame
from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal

__all__ = ["BENT", "FITTED", "MISSING", "Plates", "plates_of"]

FITTED: Final = "fitted"
BENT: Final = "bent"
MISSING: Final = "missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plates:
    """Chance that a break strikes over each boundary, side by side (sides of (spindles of a side - 1,)).

    ``faults`` are the boundaries that do not hold: (spindle before it, its state).
    """

    of_side: int
    chances: tuple[Array, ...]
    faults: tuple[tuple[int, str], ...]

    def where(self, spindle: int) -> tuple[int, int]:
        """Give side (from 0) and boundary (from 0) of the plate between a spindle and the next."""
        side, place = divmod(spindle - 1, self.of_side)
        return side, place


def plates_of(frame: Frame, missing: Sequence[int] = (), bent: Sequence[int] = ()) -> Plates:
    """Give the plates of a frame; ``missing`` and ``bent`` name the spindle before each plate that does not hold.

    Raises Refusal for a spindle that is not there, one at the end of its side, and a plate named twice.
    """
    of_side = frame.spindles // frame.sides
    faults = [*((n, MISSING) for n in missing), *((n, BENT) for n in bent)]
    _require(frame, faults, of_side)
    strikes, fitted = frame.strikes, frame.separators.fitted
    usual = strikes.plate_share if fitted else strikes.missing_share
    chances = tuple(np.full(of_side - 1, usual) for _ in range(frame.sides))
    plates = Plates(of_side=of_side, chances=chances, faults=tuple(sorted(faults)))
    for spindle, state in faults:
        side, place = plates.where(spindle)
        chances[side][place] = {MISSING: strikes.missing_share, BENT: strikes.bent_share}[state]
    return plates


def _require(frame: Frame, faults: Sequence[tuple[int, str]], of_side: int) -> None:
    wrong = []
    named = [n for n, _ in faults]
    for spindle, state in faults:
        where = f"the {state} plate after spindle {spindle}"
        if not 1 <= spindle <= frame.spindles:
            wrong.append(
                Fault(where=where, got="after no spindle of the frame", wants=f"after one of 1 to {frame.spindles}")
            )
        elif spindle % of_side == 0:
            wants = f"after another spindle: {spindle} is the last of its side and has no plate after it"
            wrong.append(Fault(where=where, got="past the end of a side", wants=wants))
        elif named.count(spindle) > 1:
            wrong.append(Fault(where=where, got="named twice", wants="named once, as missing or as bent"))
    if faults and not frame.separators.fitted:
        wants = "fitted (separators.fitted = true) before one can be missing"
        wrong.append(Fault(where=f"the separators of {frame.name}", got="not fitted", wants=wants))
    if wrong:
        raise Refusal(wrong)
