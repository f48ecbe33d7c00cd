"""The highest speed at each moment of the doff: the envelope that every limit leaves, stroke by stroke."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ringwright.improve.demand import Demand
from ringwright.physics.real import Array
from ringwright.setting.doff import Doff

__all__ = ["Envelope", "doff_envelope"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """Highest spindle speed [rad/s] that keeps each limit and all of them, over the share of the doff.

    A frame's drive cannot follow a stroke, so a stroke has one speed: the least of its places'. ``share`` (k,) has the
    beginning and the end of every stroke sampled, from 0 to 1; between strokes sampled the envelope is a straight line.
    """

    share: Array
    by_limit: Array
    """(limits, k), in the order of the demands; inf where a limit holds nothing back."""

    @property
    def speed(self) -> Array:
        """Highest speed that keeps every limit, (k,)."""
        return np.asarray(self.by_limit.min(axis=0), dtype=np.float64)

    @property
    def binding(self) -> npt.NDArray[np.intp]:
        """Number of the limit that sets the speed at each knot, (k,)."""
        return np.asarray(np.argmin(self.by_limit, axis=0), dtype=np.intp)


def doff_envelope(doff: Doff, held: Sequence[Demand]) -> Envelope:
    """Give the envelope of a solved doff whose places all have a steady balloon."""
    row = doff.places_per_stroke
    strokes = doff.places.stroke[::row]
    count = doff.problem.strokes
    by_stroke = np.stack([demand.speed.reshape(-1, row).min(axis=1) for demand in held])
    share = np.stack((strokes / count, (strokes + 1) / count), axis=1).ravel()
    number = np.repeat(np.arange(len(strokes)), 2)
    if share[-1] < 1.0:
        share, number = np.append(share, 1.0), np.append(number, len(strokes) - 1)
    return Envelope(share=share, by_limit=by_stroke[:, number])
