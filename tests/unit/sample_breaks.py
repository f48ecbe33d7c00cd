"""Breaks and running time of a small frame, as the store has them, for the tests of what engines count."""

from __future__ import annotations

from typing import Any

import numpy as np
import pyarrow as pa

from ringwright.events.event import BREAKS, RUNNING
from ringwright.study.calendar import HOUR_US, Stretches

__all__ = ["DAY", "HOUR_US", "MINUTE", "START", "break_table", "drawn_breaks", "running_table", "stretches_of"]

START = 20_514 * 24 * HOUR_US  # 2 March 2026, 0 h UTC
MINUTE = 60_000_000
DAY_US = 24 * HOUR_US


def stretches_of(rows, *, offset_h=0, frame="F1", spindles=8) -> Stretches:
    """Stretches from (from minute, to minute, kind, yarn, shift), minutes counted from START."""
    begin = np.array([START + row[0] * MINUTE for row in rows], np.int64)
    return Stretches(
        frame=frame,
        spindles=spindles,
        from_us=begin,
        to_us=np.array([START + row[1] * MINUTE for row in rows], np.int64),
        kind=np.array([row[2] for row in rows], object),
        yarn=np.array([row[3] for row in rows], object),
        shift=np.array([row[4] for row in rows], object),
        local_us=begin + offset_h * HOUR_US,
    )


DAY = [
    (0, 200, "run", "a", ""),
    (200, 204, "doff", "a", ""),
    (204, 400, "run", "a", ""),
    (400, 430, "traveller change", "a", ""),
    (430, 433, "doff", "a", ""),
    (433, 1000, "run", "b", ""),
]


def break_table(rows) -> pa.Table:
    """Breaks from (machine, spindle, t_us, cop_share), with the store's columns."""
    many = len(rows)
    machine, spindle, time, share = (list(column) for column in zip(*rows, strict=True))
    filled: dict[str, Any] = {
        "machine": machine, "spindle": spindle, "side": [1 if s <= 4 else 2 for s in spindle], "t_us": time,
        "cop_share": share, "local_day": [t // DAY_US for t in time],
        "local_minute": [t % DAY_US // MINUTE for t in time],
    }  # fmt: skip
    for field in BREAKS:
        if field.name not in filled:
            filled[field.name] = [None if field.nullable else ("x" if pa.types.is_string(field.type) else 0)] * many
    return pa.table({field.name: pa.array(filled[field.name], field.type) for field in BREAKS}, schema=BREAKS)


def running_table(one: Stretches) -> pa.Table:
    many = len(one.from_us)
    local = one.local_us // MINUTE
    columns = {
        "machine": [one.frame] * many, "from_us": one.from_us, "to_us": one.to_us, "kind": one.kind.tolist(),
        "closed": [True] * many, "speed": [None] * many, "yarn": [y or None for y in one.yarn.tolist()],
        "shift": [s or None for s in one.shift.tolist()], "zone": ["UTC"] * many, "local_day": local // 1440,
        "local_minute": local % 1440,
    }  # fmt: skip
    return pa.table({f.name: pa.array(columns[f.name], f.type) for f in RUNNING}, schema=RUNNING)


def drawn_breaks(seed=3, many=4000):
    rng = np.random.default_rng(seed)
    time = START + rng.integers(-60 * MINUTE, 1100 * MINUTE, many)
    share = np.where(rng.random(many) < 0.2, np.nan, rng.random(many).astype(np.float32))
    return [
        (f"F{k % 2 + 1}", int(s), int(t), None if np.isnan(c) else float(c))
        for k, (s, t, c) in enumerate(zip(rng.integers(1, 9, many), time, share, strict=True))
    ]
