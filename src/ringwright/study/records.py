"""The store's tables asked for counts: expressions that any engine may run, and their answers as plain arrays.

House rules of these expressions, each from a wrong or refused result seen: time stays a whole number of microseconds
and no date function is used; a bucket of time is an integer division; there is no join by nearest time and no window
over a range; partition columns are not relied on for their type; a share is made a number of 64 bits before it is
multiplied, as engines differ in the width of a product with a whole number.
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
from ringwright.study.engine import answer, keep

__all__ = ["BREAK_COLUMNS", "COP_BINS", "RUNNING_COLUMNS", "FrameShape", "Records", "gather", "read_stretches"]

Ints = npt.NDArray[np.int64]
COP_BINS = 20
BREAK_COLUMNS = ("machine", "spindle", "side", "t_us", "cop_share", "local_day", "local_minute")
RUNNING_COLUMNS = ("machine", "from_us", "to_us", "kind", "yarn", "shift", "local_day", "local_minute")
"""The columns of the store's tables that studies read."""

_HAIR = 1e-6
"""Share of a bin by which a place is moved up, so that 0.35 written in 32 bits stays in the bin that begins there."""


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
    ``inside`` is the engine's table of the others: frame (its place among the cells), side, spindle, t_us.
    """

    cells: tuple[Cells, ...]
    spindles: tuple[SpindleCounts, ...]
    cop: tuple[CopCounts, ...]
    outside: Mapping[str, int]
    pieces: Mapping[str, Pieces]
    inside: ir.Table


def read_stretches(running: ir.Table, engine: ibis.BaseBackend, shapes: Mapping[str, FrameShape]) -> list[Stretches]:
    """Read the running time of the frames that are known, in the order in which they are known."""
    wanted = running.filter(running.machine.isin(list(shapes))).order_by(["machine", "from_us", "to_us"])
    table = answer(engine, wanted.select(list(RUNNING_COLUMNS)))
    start, end, day, minute = (_ints(table[name]) for name in ("from_us", "to_us", "local_day", "local_minute"))
    local = (day * 1440 + minute) * 60_000_000 + start % 60_000_000
    machine, kind, yarn, shift = (_texts(table[name]) for name in ("machine", "kind", "yarn", "shift"))
    first = np.flatnonzero(np.append(True, machine[1:] != machine[:-1])) if len(machine) else np.zeros(0, np.int64)
    part_of = {
        machine[a]: slice(a, b) for a, b in zip(first.tolist(), [*first[1:].tolist(), len(machine)], strict=True)
    }
    return [
        Stretches(
            frame=frame, spindles=shape.spindles, from_us=start[part], to_us=end[part], kind=kind[part],
            yarn=yarn[part], shift=shift[part], local_us=local[part],
        )
        for frame, shape in shapes.items()
        if (part := part_of.get(frame)) is not None
    ]  # fmt: skip


def gather(
    breaks: ir.Table,
    stretches: Sequence[Stretches],
    engine: ibis.BaseBackend,
    shapes: Mapping[str, FrameShape],
    shift_length: float,
) -> Records:
    """Count the breaks (a table of the engine) by cell, spindle and share of the cop; ``shift_length`` in s.

    The breaks are joined to the running time once, kept as narrow whole numbers, and counted from there.
    """
    clock: ShiftClock = clock_of(stretches, shift_length)
    cut_up = [cut(one, clock) for one in stretches]
    inside = keep(engine, _inside(breaks, cut_up))
    by_cell = answer(engine, inside.group_by("cell").aggregate(breaks=inside.count()))
    sizes = [len(p.cells.hours) for p in cut_up]
    cell_breaks = np.bincount(_ints(by_cell["cell"]), _ints(by_cell["breaks"]), sum(sizes)).astype(np.int64)
    cells = tuple(
        replace(p.cells, breaks=part)
        for p, part in zip(cut_up, np.split(cell_breaks, np.cumsum(sizes)[:-1]), strict=True)
    )
    spindle_rows = inside.group_by(["frame", "spindle"]).aggregate(breaks=inside.count())
    cop_rows = inside.group_by(["frame", "place"]).aggregate(breaks=inside.count())
    return Records(
        cells=cells,
        spindles=_by_spindle(answer(engine, spindle_rows), cells, shapes),
        cop=_cop_counts(answer(engine, cop_rows), cells),
        outside=_outside(breaks.filter(breaks.machine.isin(list(shapes))), engine, cells),
        pieces={p.cells.frame: p for p in cut_up},
        inside=inside,
    )


def _inside(breaks: ir.Table, cut_up: Sequence[Pieces]) -> ir.Table:
    """Give the breaks that fall in a piece of running time, with its cell: an equal join by frame and hour.

    A whole number that goes by both is the key, as a join by the frame's name takes twice as long.
    """
    many = len(cut_up)
    names = pa.array([p.cells.frame for p in cut_up], pa.string())
    frames = ibis.memtable(pa.table({"machine": names, "frame": pa.array(range(many), pa.int32())}))
    of_frames = breaks.join(frames, "machine").select("frame", "side", "spindle", "t_us", "cop_share")
    keyed = of_frames.mutate(key=(of_frames.t_us // HOUR_US) * many + of_frames.frame.cast("int64"))
    joined = keyed.join(_pieces_table(cut_up), "key")
    held = joined.filter((joined.t_us >= joined.from_us) & (joined.t_us < joined.to_us))
    # A share of exactly 1 belongs to the last bin; -1 stands for a break without a share.
    bins = (held.cop_share.cast("float64") * COP_BINS + _HAIR).floor().cast("int32")
    place = ibis.ifelse(held.cop_share.isnull(), -1, ibis.least(bins, COP_BINS - 1)).cast("int32")
    return held.select("frame", "side", "spindle", "t_us", "cell", place=place)


def _pieces_table(cut_up: Sequence[Pieces]) -> ir.Table:
    first = np.cumsum([0, *(len(p.cells.hours) for p in cut_up)])
    whole = {name: np.concatenate([getattr(p, name) for p in cut_up]) for name in ("from_us", "to_us")}
    key = np.concatenate([p.hour * len(cut_up) + frame for frame, p in enumerate(cut_up)])
    cell = np.concatenate([p.cell + at for p, at in zip(cut_up, first[:-1], strict=True)])
    return ibis.memtable(pa.table({"key": key, **whole, "cell": cell.astype(np.int32)}))


def _by_spindle(table: pa.Table, cells: Sequence[Cells], shapes: Mapping[str, FrameShape]) -> tuple[SpindleCounts, ...]:
    frame, spindle, breaks = (_ints(table[name]) for name in ("frame", "spindle", "breaks"))
    counts = []
    for place, one in enumerate(cells):
        here = (frame == place) & (spindle >= 1) & (spindle <= one.spindles)
        found = np.bincount(spindle[here] - 1, breaks[here], one.spindles).astype(np.int64)
        sides = shapes[one.frame].sides
        counts.append(SpindleCounts(frame=one.frame, sides=sides, counts=found, hours=float(one.hours.sum())))
    return tuple(counts)


def _cop_counts(table: pa.Table, cells: Sequence[Cells]) -> tuple[CopCounts, ...]:
    frame, place, breaks = (_ints(table[name]) for name in ("frame", "place", "breaks"))
    counts = []
    for number, one in enumerate(cells):
        here = (frame == number) & (place >= 0)
        binned = np.bincount(place[here], breaks[here], COP_BINS).astype(np.int64)
        missing = int(breaks[(frame == number) & (place < 0)].sum())
        exposure = float(one.exposure.sum())
        counts.append(CopCounts(frame=one.frame, counts=binned, exposure=exposure, without_share=missing))
    return tuple(counts)


def _outside(breaks: ir.Table, engine: ibis.BaseBackend, cells: Sequence[Cells]) -> dict[str, int]:
    table = answer(engine, breaks.group_by("machine").aggregate(breaks=breaks.count()))
    seen = dict(zip(_texts(table["machine"]).tolist(), _ints(table["breaks"]).tolist(), strict=True))
    inside = {one.frame: int(one.breaks.sum()) for one in cells}
    return {frame: seen[frame] - inside.get(frame, 0) for frame in sorted(seen)}


def _ints(column: pa.ChunkedArray) -> Ints:
    return np.asarray(column.to_numpy(), np.int64)


def _texts(column: pa.ChunkedArray) -> npt.NDArray[np.object_]:
    """Read texts; a missing one becomes an empty one."""
    coded = column.combine_chunks().dictionary_encode()
    coded = coded.combine_chunks() if isinstance(coded, pa.ChunkedArray) else coded
    words = np.array([*coded.dictionary.to_pylist(), ""], object)
    return np.asarray(words[np.asarray(coded.indices.fill_null(len(words) - 1))], object)
