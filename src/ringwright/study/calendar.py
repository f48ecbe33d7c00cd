"""Running time cut into pieces of one hour, one shift, one half hour since the doff: what breaks are set against.

The pieces are small in number (they go by hours, not by breaks), so they are made here with arrays; an engine then only
joins breaks to them by frame and hour, which any engine can do.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from typing import Final

import numpy as np
import numpy.typing as npt

from ringwright.study.cells import Cells

__all__ = ["DOFF_BIN_H", "HOUR_US", "Pieces", "ShiftClock", "Stretches", "clock_of", "cut"]

Ints = npt.NDArray[np.int64]
Texts = npt.NDArray[np.object_]

HOUR_US: Final = 3_600_000_000
DOFF_BIN_H: Final = 0.5
_DAY_MIN: Final = 1440
_FIRST_SHIFT_MIN: Final = 360
"""Minute of the local day at which shifts begin where the records name none: 6 o'clock, common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretches:
    """The running time of one frame, in order of time: arrays of one length as in the store's table ``running``.

    ``local_us`` is the local clock at ``from_us``, in microseconds since 1970-01-01 local; empty texts stand for null.
    """

    frame: str
    spindles: int
    from_us: Ints
    to_us: Ints
    kind: Texts
    yarn: Texts
    shift: Texts
    local_us: Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftClock:
    """How shifts follow one another on the local clock: their length, and the minute of the day at which one begins."""

    length_us: int
    start_us: int

    def number(self, local_us: Ints) -> Ints:
        """Give shifts numbers, through from 1970; the same on every frame."""
        return np.asarray((local_us - self.start_us) // self.length_us, np.int64)

    def name(self, number: int) -> str:
        """Name a shift by its local date and start."""
        return _name(number * self.length_us + self.start_us)


@cache  # all frames of a mill name the same shifts
def _name(local_us: int) -> str:
    return f"{datetime.fromtimestamp(local_us / 1e6, UTC):%Y-%m-%d %H:%M}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pieces:
    """Pieces of one frame's running time, each in one hour UTC and one cell of ``cells`` (whose breaks are 0 yet)."""

    from_us: Ints
    to_us: Ints
    hour: Ints
    cell: Ints
    cells: Cells

    def hold(self, t_us: Ints) -> npt.NDArray[np.bool_]:
        """Say of each moment whether it lies in a piece."""
        if not len(self.from_us):
            return np.zeros(len(t_us), bool)
        place = np.searchsorted(self.from_us, t_us, side="right") - 1
        return np.asarray((place >= 0) & (t_us < self.to_us[place]), bool)


def clock_of(frames: Sequence[Stretches], length_s: float) -> ShiftClock:
    """Find when shifts begin from where their names change; 6 o'clock where no names are given."""
    length_min = max(1, round(length_s / 60))
    seen: Counter[int] = Counter()
    for one in frames:
        run = one.kind == "run"
        names, local = one.shift[run], one.local_us[run] // 60_000_000
        new = np.flatnonzero((names[1:] != names[:-1]) & (names[1:] != "")) + 1
        seen.update((local[new] % _DAY_MIN % length_min).tolist())
    start = seen.most_common(1)[0][0] if seen else _FIRST_SHIFT_MIN % length_min
    return ShiftClock(length_us=length_min * 60_000_000, start_us=int(start) * 60_000_000)


def cut(one: Stretches, clock: ShiftClock, doff_bin_h: float = DOFF_BIN_H) -> Pieces:
    """Cut a frame's running time; gather the pieces into cells of one shift, yarn, time since doff and travellers."""
    run = np.flatnonzero((one.kind == "run") & (one.to_us > one.from_us))
    doffs, changed = (np.unique(one.to_us[one.kind == kind]) for kind in ("doff", "traveller change"))
    starts, ends = _pieces(one, run, clock, doffs, changed, round(doff_bin_h * HOUR_US))
    middle = (starts + ends) // 2
    stretch = run[np.searchsorted(one.from_us[run], middle, side="right") - 1]
    since_doff, since_change = _since(middle, doffs), _since(middle, changed)
    shift = clock.number(one.local_us[stretch] + middle - one.from_us[stretch])
    yarns, yarn = np.unique(one.yarn[stretch].astype(str), return_inverse=True)
    bins = np.where(np.isfinite(since_doff), np.nan_to_num(since_doff) // doff_bin_h, -1).astype(np.int64)
    columns, cell = _distinct(shift, yarn.astype(np.int64), bins, np.searchsorted(changed, middle))
    size = columns.shape[1]
    length = (ends - starts) / HOUR_US
    hours = np.bincount(cell, length, size).astype(np.float64)
    cells = Cells(
        frame=one.frame, spindles=one.spindles, shift=columns[0], yarn=columns[1],
        since_doff=np.where(columns[2] < 0, np.nan, (columns[2] + 0.5) * doff_bin_h),
        since_change=np.bincount(cell, since_change * length, size) / np.maximum(hours, 1e-300),
        hours=hours, breaks=np.zeros(size, np.int64), yarns=tuple(yarns.tolist()),
        shift_names={int(k): clock.name(int(k)) for k in np.unique(shift)}, shift_labels=_labels(one, stretch, shift),
        changes=len(changed),
    )  # fmt: skip
    return Pieces(from_us=starts, to_us=ends, hour=starts // HOUR_US, cell=cell, cells=cells)


def _distinct(*columns: Ints) -> tuple[Ints, Ints]:
    """Give the distinct rows of columns in order (one row to a column of the answer), and each row's place in them.

    The columns are written as one whole number first: sorting rows as such takes ten times as long.
    """
    if not len(columns[0]):
        return np.zeros((len(columns), 0), np.int64), np.zeros(0, np.int64)
    low = [int(one.min()) for one in columns]
    width = [int(one.max()) - least + 1 for one, least in zip(columns, low, strict=True)]
    code = np.zeros(len(columns[0]), np.int64)
    for one, least, many in zip(columns, low, width, strict=True):
        code = code * many + (one - least)
    distinct, place = np.unique(code, return_inverse=True)
    rows = []
    for least, many in zip(reversed(low), reversed(width), strict=True):
        rows.append(distinct % many + least)
        distinct = distinct // many
    return np.stack(rows[::-1]), place.astype(np.int64)


def _pieces(
    one: Stretches, run: Ints, clock: ShiftClock, doffs: Ints, changed: Ints, doff_bin: int
) -> tuple[Ints, Ints]:
    """Cut at hours, shifts, doffs, traveller changes and steps since the doff; keep what lies in running stretches."""
    begin, end = one.from_us[run], one.to_us[run]
    if not len(run):
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    low, high = int(begin.min()), int(end.max())
    hours = np.arange(low // HOUR_US, high // HOUR_US + 2) * HOUR_US
    offsets = np.unique(one.local_us[run] - begin)
    shifts = [
        np.arange((low + o - clock.start_us) // clock.length_us, (high + o) // clock.length_us + 2) * clock.length_us
        + clock.start_us
        - o
        for o in offsets.tolist()
    ]
    next_doff = np.append(doffs[1:], high)[: len(doffs)]
    steps = [np.arange(doff, stop, doff_bin) for doff, stop in zip(doffs.tolist(), next_doff.tolist(), strict=True)]
    cuts = np.unique(np.concatenate([begin, end, hours, *shifts, *steps, changed]).astype(np.int64))
    cuts = cuts[(cuts >= low) & (cuts <= high)]
    starts, ends = cuts[:-1], cuts[1:]
    within = np.searchsorted(begin, starts, side="right") - 1
    inside = (within >= 0) & (ends <= end[within])
    return starts[inside], ends[inside]


def _since(middle: Ints, moments: Ints) -> npt.NDArray[np.float64]:
    """Give the hours since the last moment, nan before the first."""
    if not len(moments):
        return np.full(len(middle), np.nan)
    place = np.searchsorted(moments, middle, side="right") - 1
    return np.where(place >= 0, (middle - moments[np.maximum(place, 0)]) / HOUR_US, np.nan)


def _labels(one: Stretches, stretch: Ints, shift: Ints) -> dict[int, str]:
    """Name each shift as most of its pieces do, the first of equals by its name."""
    names = sorted(set(one.shift.tolist()) - {""})
    if not names or not len(shift):
        return {}
    code = np.array([names.index(name) if name else -1 for name in one.shift.tolist()], np.int64)[stretch]
    numbers, place = np.unique(shift, return_inverse=True)
    named = code >= 0
    many = np.bincount(place[named] * len(names) + code[named], minlength=len(numbers) * len(names))
    table = many.reshape(len(numbers), len(names))
    return {int(k): names[int(row.argmax())] for k, row in zip(numbers, table, strict=True) if row.any()}
