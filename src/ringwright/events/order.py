"""Tell the two passes of a repeated hour by the order of a frame's rows in the file."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from ringwright.events.block import SetAside
from ringwright.events.number import sort_codes

__all__ = ["settle_order"]

_TOLD = (
    "the time came twice, as the clocks went back, and the order of the frame's rows does not tell which it was; "
    "write the offset from UTC after it"
)


def settle_order(table: pa.Table) -> tuple[pa.Table, list[SetAside]]:
    """Choose between both readings (t_us, second_us) by order; rows that order does not settle are set aside.

    Order settles a frame's repeated hour if local time steps back exactly once in it: what stands before the step is
    the first pass, what stands after it the second. Rows must stand as in the file.
    """
    first, second = (np.asarray(table[name]).astype(np.int64) for name in ("t_us", "second_us"))
    repeated = np.flatnonzero(first != second)
    if not len(repeated):
        return table, []
    chosen, lost = first.copy(), np.zeros(len(first), bool)
    machines = sort_codes(table["machine"])
    # The hours of one frame that repeat on different days lie far apart: 7 days keep them asunder.
    hours = first[repeated] // (7 * 86_400_000_000)
    groups: dict[tuple[int, int], list[int]] = {}
    for row, hour in zip(repeated.tolist(), hours.tolist(), strict=True):
        groups.setdefault((int(machines[row]), hour), []).append(row)
    for rows in groups.values():
        steps = np.flatnonzero(np.diff(first[rows]) < 0)
        if len(steps) == 1:
            later = rows[int(steps[0]) + 1 :]
            chosen[later] = second[later]
        else:
            lost[rows] = True
    if "until_us" in table.column_names:  # an end was read on the ground of the first pass
        lost |= np.asarray(pc.fill_null(table["until_us"], np.iinfo(np.int64).max)) < chosen
    set_aside = [SetAside(int(line), _TOLD) for line in np.asarray(table["line"])[lost].tolist()]
    place = table.schema.get_field_index("t_us")
    settled = table.set_column(place, table.schema.field(place), pa.array(chosen))
    return settled.filter(pa.array(~lost)), set_aside
