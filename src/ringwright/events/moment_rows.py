"""Check the rows of a block of running time."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from ringwright.events.block import Block
from ringwright.events.checked import Checked, checked
from ringwright.events.event import MOMENT_KINDS, MOMENTS
from ringwright.events.ground import Ground, read_machines, read_text, read_word
from ringwright.events.number import read_decimals
from ringwright.events.reasons import Reasons, shown
from ringwright.events.source import Source
from ringwright.events.times import Times, read_times
from ringwright.units import from_unit

__all__ = ["check_moments"]

Ints = npt.NDArray[np.int64]

_DAY_US = 86_400_000_000
_LONGEST_DAYS = 40
_FASTEST_RPM = 40_000


def check_moments(block: Block, source: Source, ground: Ground, latest_us: int) -> Checked:
    """Hold every row against the mill; every row is either in the table or set aside with its reasons."""
    cells, reasons = block.cells, Reasons(block.lines)
    machine = read_machines(cells["machine"], ground, reasons)
    kind = _kinds(cells["kind"], source, reasons)
    times = read_times(cells, source, reasons, latest_us)
    columns: dict[str, object] = {
        "machine": pa.array(ground.frames, pa.string()).take(pa.array(machine)),
        "t_us": times.t_us,
        "second_us": times.second_us,
        "kind": kind,
        "local_text": times.text,
        "zone": times.zone,
        "source": source.name,
        "until_us": _until(block, source, times, reasons, latest_us),
        "speed": _speed(block, source, kind, reasons),
    }
    _need_until(columns["until_us"], kind, reasons)
    if "yarn" in cells:
        keep = source.unknown_yarns == "keep"
        columns["yarn"] = read_word(cells["yarn"], ground.yarn_words, reasons, "yarn", keep=keep)
    if "shift" in cells:
        columns["shift"] = read_text(cells["shift"], reasons, "shift")
    if "id" in cells:
        columns["source_id"] = read_text(cells["id"], reasons, "id")
    return checked(MOMENTS, columns, block, reasons)


def _kinds(texts: pa.StringArray, source: Source, reasons: Reasons) -> pa.StringArray:
    """Read what happened."""
    words = {kind: kind for kind in MOMENT_KINDS} | source.kinds
    found = pa.array(list(words.values())).take(pc.index_in(texts, value_set=pa.array(list(words))))
    known = ", ".join(words)
    reasons.add(np.asarray(found.is_null()), lambda row: f"the kind {shown(texts, row)} is none of {known}")
    return found


def _until(
    block: Block, source: Source, times: Times, reasons: Reasons, latest_us: int
) -> pa.Array:
    """Read the end of each stretch as UTC microseconds, null where none is written."""
    rows = len(block.lines)
    if "until" not in block.cells:
        return pa.nulls(rows, pa.int64())
    texts = block.cells["until"]
    written = np.asarray(pc.not_equal(texts, ""))
    # The rows without an end are read with their own time, so that one reading serves the column.
    filled = pc.if_else(pa.array(written), texts, times.text)
    cells = {name: column for name, column in block.cells.items() if name in {"zone", "fold"}}
    apart = Reasons(block.lines)
    ends = read_times(cells | {"time": filled}, source, apart, latest_us)
    bad = ~apart.good & written
    reasons.add(bad, lambda row: "of its end, " + "; ".join(apart.told[row]))
    # An end in the repeated hour is the second reading if its start is, or if the first would lie before the start.
    until = np.where(ends.t_us < times.t_us, ends.second_us, ends.t_us)
    begun = reasons.good & written
    reasons.add(begun & (until < times.t_us), lambda row: f"the end {shown(texts, row)} lies before the beginning")
    long = begun & (until - times.t_us > _LONGEST_DAYS * _DAY_US)
    reasons.add(long, lambda row: f"the end {shown(texts, row)} lies over {_LONGEST_DAYS} days after the beginning")
    return pa.array(until, mask=~written)


def _need_until(until: object, kind: pa.StringArray, reasons: Reasons) -> None:
    """Set aside a run without its end."""
    ended = np.asarray(until.is_valid()) if isinstance(until, pa.Array) else np.zeros(len(kind), bool)
    run = np.asarray(pc.fill_null(pc.equal(kind, "run"), fill_value=False))
    reasons.add(run & ~ended, lambda _: "a run has no end; write it, or call the row a start")


def _speed(block: Block, source: Source, kind: pa.StringArray, reasons: Reasons) -> npt.NDArray[np.float64]:
    """Read the spindle speed as rad/s, nan where none is written."""
    told = np.asarray(pc.fill_null(pc.equal(kind, "speed"), fill_value=False))
    if "speed" not in block.cells:
        reasons.add(told, lambda _: "the speed is missing")
        return np.full(len(block.lines), np.nan)
    texts = block.cells["speed"]
    values, reads = read_decimals(texts, source.decimal)
    reasons.add(~reads, lambda row: f"the speed {shown(texts, row)} is not a number")
    fastest = _FASTEST_RPM if source.speed_unit == "rpm" else _FASTEST_RPM / 60
    outside = (values < 0) | (values > fastest)
    unit = source.speed_unit
    reasons.add(outside, lambda row: f"the speed {shown(texts, row)} {unit} is outside 0 to {fastest:.0f} {unit}")
    reasons.add(told & reads & np.isnan(values), lambda _: "the speed is missing")
    one = from_unit(1.0, "rotation", "rpm") * (1 if unit == "rpm" else 60)
    return values * one
