"""The store's tables asked for counts: expressions that any engine may run, and their answers as plain arrays.

House rules of these expressions, each from a wrong or refused result seen: time stays a whole number of microseconds
and no date function is used; a bucket of time is an integer division; there is no join by nearest time and no window
over a range; partition columns are not relied on for their type.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import ibis
import ibis.expr.types as ir
import numpy as np
import numpy.typing as npt
import pyarrow as pa

from ringwright.study.calendar import HOUR_US, Pieces, ShiftClock, Stretches, clock_of, cut
from ringwright.study.cells import Cells, SpindleCounts
from ringwright.study.doff_place import CopCounts
from ringwright.study.separators import SideBreaks

__all__ = ["COP_BINS", "FrameShape", "Records", "breaks_of_frame", "gather", "read_stretches"]

Ints = npt.NDArray[np.int64]
COP_BINS = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameShape:
    """What a study must know of a frame: spindles on all sides, sides, and how the drive groups them."""

    spindles: int
    sides: int
    groups: Ints | None = None
    group_called: str = "group"


@dataclass(frozen=True, slots=True, kw_only=True)
class Records:
    """What the studies are given of the frames: counts by cell, spindle and share of the cop.

    ``outside`` counts, by frame, the breaks that fall in no recorded running time; they are in none of the counts.
    """

    cells: tuple[Cells, ...]
    spindles: tuple[SpindleCounts, ...]
    cop: tuple[CopCounts, ...]
    outside: Mapping[str, int]
    pieces: Mapping[str, Pieces]


def read_stretches(running: ir.Table, engine: ibis.BaseBackend, shapes: Mapping[str, FrameShape]) -> list[Stretches]:
    """Read the running time of the frames that are known, in the order in which they are known."""
    wanted = running.filter(running.machine.isin(list(shapes))).order_by(["machine", "from_us", "to_us"])
    names = ["machine", "from_us", "to_us", "kind", "yarn", "shift", "local_day", "local_minute"]
    table = engine.to_pyarrow(wanted.select(names))
    machine = _texts(table["machine"])
    found = []
    for frame, shape in shapes.items():
        rows = pa.array(np.flatnonzero(machine == frame))
        if not len(rows):
            continue
        part = table.take(rows)
        start = _ints(part["from_us"])
        minutes = _ints(part["local_day"]) * 1440 + _ints(part["local_minute"])
        local = minutes * 60_000_000 + start % 60_000_000
        found.append(
            Stretches(
                frame=frame, spindles=shape.spindles, from_us=start, to_us=_ints(part["to_us"]),
                kind=_texts(part["kind"]), yarn=_texts(part["yarn"]), shift=_texts(part["shift"]), local_us=local,
            )
        )  # fmt: skip
    return found


def gather(
    breaks: ir.Table,
    stretches: Sequence[Stretches],
    engine: ibis.BaseBackend,
    shapes: Mapping[str, FrameShape],
    shift_length: float,
) -> Records:
    """Count the breaks (a table of the engine) by cell, spindle and share of the cop; ``shift_length`` in s."""
    clock: ShiftClock = clock_of(stretches, shift_length)
    cut_up = [cut(one, clock) for one in stretches]
    joined = _inside(breaks.filter(breaks.machine.isin([p.cells.frame for p in cut_up])), _pieces_table(cut_up))
    by_cell = engine.to_pyarrow(joined.group_by("cell").aggregate(breaks=joined.count()))
    cell_breaks = np.bincount(_ints(by_cell["cell"]), _ints(by_cell["breaks"]), sum(len(p.cells.hours) for p in cut_up))
    sizes = np.cumsum([len(p.cells.hours) for p in cut_up])[:-1]
    cells = tuple(
        replace(p.cells, breaks=part.astype(np.int64))
        for p, part in zip(cut_up, np.split(cell_breaks, sizes), strict=True)
    )
    spindle_rows = joined.group_by(["machine", "spindle"]).aggregate(breaks=joined.count())
    spindles = _by_spindle(engine.to_pyarrow(spindle_rows), cells, shapes)
    return Records(
        cells=cells,
        spindles=spindles,
        cop=_cop_counts(engine.to_pyarrow(_by_cop(joined)), cells),
        outside=_outside(breaks.filter(breaks.machine.isin(list(shapes))), engine, cells),
        pieces={p.cells.frame: p for p in cut_up},
    )


def _pieces_table(cut_up: Sequence[Pieces]) -> ir.Table:
    first = np.cumsum([0, *(len(p.cells.hours) for p in cut_up)])
    machine = [pa.array([p.cells.frame] * len(p.cell), pa.string()) for p in cut_up]
    whole = {name: np.concatenate([getattr(p, name) for p in cut_up]) for name in ("hour", "from_us", "to_us")}
    cell = np.concatenate([p.cell + at for p, at in zip(cut_up, first[:-1], strict=True)])
    return ibis.memtable(pa.table({"machine": pa.chunked_array(machine), **whole, "cell": cell}))


def _inside(breaks: ir.Table, pieces: ir.Table) -> ir.Table:
    """Give the breaks that fall in a piece of running time, with its cell: an equal join by frame and hour."""
    hourly = breaks.select("machine", "spindle", "side", "t_us", "cop_share", hour=breaks.t_us // HOUR_US)
    joined = hourly.join(pieces, ["machine", "hour"])
    return joined.filter((joined.t_us >= joined.from_us) & (joined.t_us < joined.to_us))


def _by_spindle(table: pa.Table, cells: Sequence[Cells], shapes: Mapping[str, FrameShape]) -> tuple[SpindleCounts, ...]:
    machine, spindle, breaks = _texts(table["machine"]), _ints(table["spindle"]), _ints(table["breaks"])
    counts = []
    for one in cells:
        here = (machine == one.frame) & (spindle >= 1) & (spindle <= one.spindles)
        found = np.bincount(spindle[here] - 1, breaks[here], one.spindles).astype(np.int64)
        sides = shapes[one.frame].sides
        counts.append(SpindleCounts(frame=one.frame, sides=sides, counts=found, hours=float(one.hours.sum())))
    return tuple(counts)


def _by_cop(joined: ir.Table) -> ir.Table:
    # A share of exactly 1 belongs to the last bin; -1 stands for a break without a share.
    bins = (joined.cop_share * COP_BINS).floor().cast("int64")
    place = ibis.ifelse(joined.cop_share.isnull(), -1, ibis.least(bins, COP_BINS - 1))
    return joined.mutate(place=place).group_by(["machine", "place"]).aggregate(breaks=lambda t: t.count())


def _cop_counts(table: pa.Table, cells: Sequence[Cells]) -> tuple[CopCounts, ...]:
    machine, place, breaks = _texts(table["machine"]), _ints(table["place"]), _ints(table["breaks"])
    counts = []
    for one in cells:
        here = (machine == one.frame) & (place >= 0)
        binned = np.bincount(place[here], breaks[here], COP_BINS).astype(np.int64)
        missing = int(breaks[(machine == one.frame) & (place < 0)].sum())
        exposure = float(one.exposure.sum())
        counts.append(CopCounts(frame=one.frame, counts=binned, exposure=exposure, without_share=missing))
    return tuple(counts)


def _outside(breaks: ir.Table, engine: ibis.BaseBackend, cells: Sequence[Cells]) -> dict[str, int]:
    table = engine.to_pyarrow(breaks.group_by("machine").aggregate(breaks=breaks.count()))
    seen = dict(zip(_texts(table["machine"]).tolist(), _ints(table["breaks"]).tolist(), strict=True))
    inside = {one.frame: int(one.breaks.sum()) for one in cells}
    return {frame: count - inside.get(frame, 0) for frame, count in seen.items()}


def breaks_of_frame(breaks: ir.Table, pieces: Pieces, engine: ibis.BaseBackend, shape: FrameShape) -> list[SideBreaks]:
    """Read one frame's breaks in its running time, side by side; one frame at a time, so that memory does not grow."""
    frame = pieces.cells.frame
    table = engine.to_pyarrow(breaks.filter(breaks.machine == frame).select("spindle", "side", "t_us"))
    spindle, side, time = (_ints(table[name]) for name in ("spindle", "side", "t_us"))
    inside = pieces.hold(time)
    spindle, side, time = spindle[inside], side[inside], time[inside]
    of_side = shape.spindles // shape.sides
    sides = []
    for number in range(1, shape.sides + 1):
        first = (number - 1) * of_side
        mine = (spindle > first) & (spindle <= first + of_side) & (side == number)
        sides.append(
            SideBreaks(frame=frame, side=number, first=first + 1, spindles=of_side, places=spindle[mine] - first,
                       times=time[mine])
        )  # fmt: skip
    return sides


def _ints(column: pa.ChunkedArray) -> Ints:
    return np.asarray(column.to_numpy(), np.int64)


def _texts(column: pa.ChunkedArray) -> npt.NDArray[np.object_]:
    """Read texts; a missing one becomes an empty one."""
    return np.asarray(["" if value is None else value for value in column.to_pylist()], object)
