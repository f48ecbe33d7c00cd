"""Breaks side by side in time, read from the engine some frames at once, so that memory does not grow with all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import ibis
import ibis.expr.types as ir
import numpy as np
import numpy.typing as npt
import pyarrow as pa

from ringwright.study.calendar import Pieces
from ringwright.study.engine import answer
from ringwright.study.records import FrameShape, Records
from ringwright.study.separators import SideBreaks

__all__ = ["breaks_of_frame", "sides_of_records"]

Ints = npt.NDArray[np.int64]

_ROWS_AT_ONCE: Final = 1_000_000


def sides_of_records(
    records: Records, engine: ibis.BaseBackend, shapes: Mapping[str, FrameShape]
) -> Iterator[SideBreaks]:
    """Give the sides of all frames in their order; some frames are read at once, about a million breaks."""
    for group in _groups([int(cells.breaks.sum()) for cells in records.cells]):
        chosen = records.inside.filter(records.inside.frame.between(group[0], group[-1]))
        table = answer(engine, chosen.select("frame", "side", "spindle", "t_us"))
        frame, side, spindle, time = (_ints(table[name]) for name in ("frame", "side", "spindle", "t_us"))
        order = np.argsort(frame.astype(np.int16), kind="stable")
        ends = np.searchsorted(frame[order], group, side="right")
        for place, part in zip(group, np.split(order, ends[:-1]), strict=True):
            name = records.cells[place].frame
            yield from _sides(name, shapes[name], spindle[part], side[part], time[part])


def _groups(breaks: Sequence[int]) -> Iterator[range]:
    """Gather frames that follow one another until their breaks are many."""
    first = held = 0
    for place, many in enumerate(breaks):
        held += many
        if held >= _ROWS_AT_ONCE or place == len(breaks) - 1:
            yield range(first, place + 1)
            first, held = place + 1, 0


def breaks_of_frame(breaks: ir.Table, pieces: Pieces, engine: ibis.BaseBackend, shape: FrameShape) -> list[SideBreaks]:
    """Read one frame's breaks in its running time, side by side, from a table of breaks as the store has it."""
    frame = pieces.cells.frame
    table = answer(engine, breaks.filter(breaks.machine == frame).select("spindle", "side", "t_us"))
    spindle, side, time = (_ints(table[name]) for name in ("spindle", "side", "t_us"))
    inside = pieces.hold(time)
    return list(_sides(frame, shape, spindle[inside], side[inside], time[inside]))


def _sides(frame: str, shape: FrameShape, spindle: Ints, side: Ints, time: Ints) -> Iterator[SideBreaks]:
    """Part the breaks by side, in order of time and place: engines give rows in any order, and shuffles go by it."""
    of_side = shape.spindles // shape.sides
    start = int(time.min()) if len(time) else 0
    for number in range(1, shape.sides + 1):
        first = (number - 1) * of_side
        mine = (spindle > first) & (spindle <= first + of_side) & (side == number)
        # Time and place as one whole number sort far sooner than two; 90 years of µs times 3000 places fit 63 bits.
        both = np.sort((time[mine] - start) * (of_side + 1) + (spindle[mine] - first))
        times = both // (of_side + 1)
        yield SideBreaks(
            frame=frame, side=number, first=first + 1, spindles=of_side, places=both - times * (of_side + 1),
            times=times + start,
        )  # fmt: skip


def _ints(column: pa.ChunkedArray) -> Ints:
    return np.asarray(column.to_numpy(), np.int64)
