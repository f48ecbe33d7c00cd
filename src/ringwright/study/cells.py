"""What studies are given: breaks and running time of a frame by shift, yarn, and age of doff and travellers."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Cells", "ShiftTable", "SpindleCounts", "by_shift", "yarn_weight"]

Ints = npt.NDArray[np.int64]
Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpindleCounts:
    """Breaks of each spindle of one frame (spindle 1 first, side 1 before side 2) in its running time, in hours."""

    frame: str
    sides: int
    counts: Ints
    hours: float

    @property
    def spindles_of_side(self) -> int:
        """Spindles of one side."""
        return len(self.counts) // self.sides


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """Arrays of one length, a row for each cell of one frame's running time.

    ``shift`` numbers the shifts in order of time, the same on all frames; ``yarn`` counts into ``yarns``;
    ``since_doff`` and ``since_change`` are hours, nan where no such moment is recorded before; ``hours`` the running
    time in h; ``breaks`` the ends broken in it. ``shift_names`` and ``shift_labels`` go by the number of the shift.
    """

    frame: str
    spindles: int
    shift: Ints
    yarn: Ints
    since_doff: Array
    since_change: Array
    hours: Array
    breaks: Ints
    yarns: tuple[str, ...]
    shift_names: dict[int, str]
    shift_labels: dict[int, str]
    changes: int

    @property
    def exposure(self) -> Array:
        """Running time of each cell, in 1000 spindle-hours."""
        return self.hours * self.spindles / 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftTable:
    """One frame's shifts in order of time: breaks, 1000 spindle-hours, these by weight of yarn, traveller age (h)."""

    frame: str
    shift: Ints
    breaks: Ints
    exposure: Array
    weighted: Array
    since_change: Array


def yarn_weight(cells: Cells) -> Array:
    """Return each cell's exposure, made larger for yarns that break more on this frame, so that yarns can be pooled."""
    size = len(cells.yarns)
    breaks = np.bincount(cells.yarn, cells.breaks, size)
    exposure = np.bincount(cells.yarn, cells.exposure, size)
    whole = cells.breaks.sum() / cells.exposure.sum()
    rate = np.where((breaks > 0) & (exposure > 0), breaks / np.maximum(exposure, 1e-300), whole)
    return np.asarray(cells.exposure * rate[cells.yarn] / max(whole, 1e-300), np.float64)


def by_shift(cells: Cells, without: Collection[int] = (), shortest: float = 0.25) -> ShiftTable:
    """Sum the cells to shifts; shifts of under a quarter of the usual running time, and those named, are left out."""
    shifts, place = np.unique(cells.shift, return_inverse=True)
    size = len(shifts)
    weighted = yarn_weight(cells)
    exposure = np.bincount(place, cells.exposure, size)
    known = np.isfinite(cells.since_change)
    age = np.bincount(place, np.where(known, cells.since_change, 0) * cells.hours, size)
    aged = np.bincount(place, np.where(known, cells.hours, 0), size)
    with np.errstate(invalid="ignore", divide="ignore"):
        # A shift is given an age only where it is known in all of it.
        mean_age = np.where(aged >= 0.999 * np.bincount(place, cells.hours, size), age / aged, np.nan)
    stays = (exposure >= shortest * np.median(exposure)) & (exposure > 0)
    stays &= ~np.isin(shifts, np.asarray(list(without), np.int64))
    return ShiftTable(
        frame=cells.frame,
        shift=shifts[stays],
        breaks=np.bincount(place, cells.breaks, size).astype(np.int64)[stays],
        exposure=exposure[stays].astype(np.float64),
        weighted=np.bincount(place, weighted, size)[stays].astype(np.float64),
        since_change=mean_age[stays],
    )
