"""What an event is: one end break, or one stretch of a frame's time; and the tables that hold them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import pyarrow as pa

__all__ = ["BREAKS", "KINDS", "MOMENTS", "MOMENT_KINDS", "RUNNING", "TABLES", "Break", "Running"]

KINDS: Final = ("run", "stop", "doff", "traveller change")
"""What a stretch of a frame's time may be; a doff or traveller change without a length has from_us = to_us."""

MOMENT_KINDS: Final = ("start", "stop", "doff", "traveller change", "run", "speed")
"""What a record of running time may say; stretches of running are made from these."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Break:
    """One end break; t_us is in microseconds UTC since 1970, cop_share is the share of the doff wound (0..1)."""

    event_id: int
    machine: str
    spindle: int
    side: int
    t_us: int
    local_text: str
    zone: str
    local_day: int
    local_minute: int
    cop_share: float | None = None
    yarn: str | None = None
    cause: str | None = None
    operator: str | None = None
    source: str
    source_id: str | None = None
    take: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """One stretch of a frame's time, from from_us up to to_us (microseconds UTC); speed in rad/s."""

    machine: str
    from_us: int
    to_us: int
    kind: str
    closed: bool
    speed: float | None = None
    yarn: str | None = None
    shift: str | None = None
    zone: str
    local_day: int
    local_minute: int


def _required(name: str, kind: pa.DataType) -> pa.Field:
    return pa.field(name, kind, nullable=False)


BREAKS: Final = pa.schema(
    [
        _required("event_id", pa.int64()),
        _required("machine", pa.string()),
        _required("spindle", pa.int32()),
        _required("side", pa.int8()),
        _required("t_us", pa.int64()),
        _required("local_text", pa.string()),
        _required("zone", pa.string()),
        _required("local_day", pa.int32()),
        _required("local_minute", pa.int16()),
        pa.field("cop_share", pa.float32()),
        pa.field("yarn", pa.string()),
        pa.field("cause", pa.string()),
        pa.field("operator", pa.string()),
        _required("source", pa.string()),
        pa.field("source_id", pa.string()),
        _required("take", pa.int32()),
    ]
)
"""The table of end breaks, sorted by machine, t_us, spindle; one file for each mill and month (UTC)."""

MOMENTS: Final = pa.schema(
    [
        _required("event_id", pa.int64()),
        _required("machine", pa.string()),
        _required("t_us", pa.int64()),
        pa.field("until_us", pa.int64()),
        _required("kind", pa.string()),
        _required("local_text", pa.string()),
        _required("zone", pa.string()),
        pa.field("speed", pa.float64()),
        pa.field("yarn", pa.string()),
        pa.field("shift", pa.string()),
        _required("source", pa.string()),
        pa.field("source_id", pa.string()),
        _required("take", pa.int32()),
    ]
)
"""The records of running time as they were taken, sorted by machine, t_us, kind."""

RUNNING: Final = pa.schema(
    [
        _required("machine", pa.string()),
        _required("from_us", pa.int64()),
        _required("to_us", pa.int64()),
        _required("kind", pa.string()),
        _required("closed", pa.bool_()),
        pa.field("speed", pa.float64()),
        pa.field("yarn", pa.string()),
        pa.field("shift", pa.string()),
        _required("zone", pa.string()),
        _required("local_day", pa.int32()),
        _required("local_minute", pa.int16()),
    ]
)
"""Stretches of a frame's time made from the moments, sorted by machine, from_us; the month is that of from_us."""

TABLES: Final = {"breaks": BREAKS, "moments": MOMENTS, "running": RUNNING}
"""The tables of the store by name."""
