"""The times of a block's rows in UTC, by the source's format and zone; what cannot be told is set aside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from ringwright.events.clock import Clock, read_clock
from ringwright.events.reasons import Reasons, shown
from ringwright.events.source import Source
from ringwright.events.zones import FIRST_YEAR, LAST_YEAR, to_local, to_utc, zone_names

__all__ = ["Times", "read_times"]

Ints = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

_DAY_US = 86_400_000_000
_EARLIEST = int((np.datetime64(f"{FIRST_YEAR}-01-02") - np.datetime64("1970-01-01")).astype(int)) * _DAY_US
_LATEST = int((np.datetime64(f"{LAST_YEAR}-12-31") - np.datetime64("1970-01-01")).astype(int)) * _DAY_US


@dataclass(frozen=True, slots=True)
class Times:
    """UTC times of rows (us), local times (us), zone and text of each.

    ``second_us`` differs from ``t_us`` where the hour repeats and only the order of the rows can tell which it was.
    """

    t_us: Ints
    second_us: Ints
    local_us: Ints
    zone: pa.StringArray
    text: pa.StringArray


def read_times(cells: Mapping[str, pa.StringArray], source: Source, reasons: Reasons, latest_us: int) -> Times:
    """Read the time of each row; rows later than ``latest_us`` are set aside as in the future."""
    text, form = cells["time"], source.time.format
    if "date" in cells:
        text = pc.binary_join_element_wise(cells["date"], cells["time"], " ")
    clock = read_clock(text, form)
    reasons.add(np.asarray(pc.equal(cells["time"], "")), lambda _: "the time is missing")
    wrong = ~clock.reads & np.asarray(pc.not_equal(cells["time"], ""))
    reasons.add(wrong, lambda row: f"the time {shown(text, row)} does not read as {form}")
    unreal = clock.reads & ~clock.exists
    reasons.add(unreal, lambda row: f"the time {shown(text, row)} names a date or an hour that does not exist")
    there = clock.reads & clock.exists
    far = there & ((clock.local_us < _EARLIEST) | (clock.local_us >= _LATEST))
    span = f"{FIRST_YEAR} to {LAST_YEAR}"
    reasons.add(far, lambda row: f"the time {shown(text, row)} lies outside the years {span}")
    times = _in_zone(clock, there & ~far, cells, source, reasons)
    late = there & ~far & (times.t_us > latest_us)
    reasons.add(late, lambda row: f"the time {shown(text, row)} lies in the future; look at the clock and the zone")
    return times


def _zones(cells: Mapping[str, pa.StringArray], source: Source, rows: int) -> pa.StringArray:
    """Give the zone of each row: its own if it has one, else that of the source."""
    if "zone" not in cells:
        return pa.repeat(source.time.zone, rows)
    return pc.if_else(pc.equal(cells["zone"], ""), source.time.zone, cells["zone"])


def _in_zone(
    clock: Clock, there: Mask, cells: Mapping[str, pa.StringArray], source: Source, reasons: Reasons
) -> Times:
    """Turn local times into UTC, zone by zone."""
    text = cells["time"] if "date" not in cells else pc.binary_join_element_wise(cells["date"], cells["time"], " ")
    zones = _zones(cells, source, len(there))
    first = np.where(there, clock.local_us - clock.offset_us, 0)
    second, local = first.copy(), np.where(there, clock.local_us, 0)
    missing, coded = np.zeros(len(there), bool), zones.dictionary_encode()
    codes = np.asarray(coded.indices)
    for code, zone in enumerate(coded.dictionary.to_pylist()):
        rows = there & (codes == code)
        if zone not in zone_names():
            lost = rows & ~clock.has_offset if not zone else rows
            told = f"the zone {zone[:40]!a} is no IANA name" if zone else "the time has neither an offset nor a zone"
            reasons.add(lost, lambda _, told=told: told)  # type: ignore[misc]
            continue
        fixed, read = rows & clock.has_offset, rows & ~clock.has_offset
        local[fixed] = to_local(first[fixed], zone)
        utc = to_utc(clock.local_us[read], zone)
        first[read], second[read], missing[read] = utc.first_us, utc.second_us, utc.missing
    reasons.add(missing, lambda row: f"{_never(shown(text, row), zones[row].as_py())}")
    first, second = _settled(first, second, cells, source, reasons, text)
    bare = clock.has_offset & np.asarray(pc.equal(zones, ""))
    named = pc.if_else(pa.array(bare), _offset_names(clock.offset_us), zones)
    return Times(first, second, local, named, text)


def _never(text: str, zone: str) -> str:
    return f"the clocks of {zone} never showed {text}: they went forward past it; write the offset from UTC after it"


def _settled(
    first: Ints,
    second: Ints,
    cells: Mapping[str, pa.StringArray],
    source: Source,
    reasons: Reasons,
    text: pa.StringArray,
) -> tuple[Ints, Ints]:
    """Choose between the two passes of a repeated hour as the source says; by order is settled over the whole file."""
    repeated = first != second
    if source.time.repeated_hour == "by order" or not repeated.any():
        return first, second
    known = np.zeros(len(first), bool)
    if source.time.repeated_hour == "by column":
        late = np.asarray(pc.equal(cells["fold"], source.time.second))
        known = late | np.asarray(pc.equal(cells["fold"], source.time.first))
        first = np.where(repeated & late, second, first)
    told = "came twice, as the clocks went back, and nothing says which it was; write the offset from UTC after it"
    reasons.add(repeated & ~known, lambda row: f"the time {shown(text, row)} {told}")
    return first, first


def _offset_names(offset_us: Ints) -> pa.StringArray:
    """Name offsets as +02:00."""
    minutes = offset_us // 60_000_000
    unique, at = np.unique(minutes, return_inverse=True)
    names = [f"{'-' if one < 0 else '+'}{abs(one) // 60:02d}:{abs(one) % 60:02d}" for one in unique.tolist()]
    return pa.array(names, pa.string()).take(pa.array(at))
