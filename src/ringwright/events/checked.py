"""What the check of a block gives: a table of rows that can be taken, and the rows set aside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa

from ringwright.events.block import Block, SetAside
from ringwright.events.reasons import Reasons

__all__ = ["Checked", "checked"]


@dataclass(frozen=True, slots=True)
class Checked:
    """Rows of a table of the store, and rows set aside.

    The table has two more columns: ``line``, its line in the file, and ``second_us``, the other reading of an hour
    that repeats (the same as ``t_us`` for all other hours).
    """

    table: pa.Table
    set_aside: list[SetAside]


def checked(schema: pa.Schema, columns: dict[str, object], block: Block, reasons: Reasons) -> Checked:
    """Put the columns of the good rows into a table of a schema; columns not given are empty."""
    fields = [*schema, pa.field("line", pa.int64()), pa.field("second_us", pa.int64())]
    rows = len(block.lines)
    held = columns | {"line": block.lines}
    arrays = [_array(held.get(one.name), one.type, rows) for one in fields]
    table = pa.Table.from_arrays(arrays, schema=pa.schema([one.with_nullable(nullable=True) for one in fields]))
    good = reasons.good
    if not good.all():
        table = table.filter(pa.array(good))
    return Checked(table, [*block.set_aside, *reasons.set_aside()])


def _array(held: object, kind: pa.DataType, rows: int) -> pa.Array:
    """Turn a column into an array of a type; nan becomes empty."""
    if held is None:
        return pa.nulls(rows, kind)
    if isinstance(held, np.ndarray):
        return pa.array(held, from_pandas=True).cast(kind, safe=False)
    if isinstance(held, pa.Array | pa.ChunkedArray):
        return held.cast(kind)
    return pa.repeat(pa.scalar(held, kind), rows)
