"""From local time to UTC, with the hour that is missing and the hour that repeats at a clock change."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Final
from zoneinfo import ZoneInfo, available_timezones

import numpy as np
import numpy.typing as npt

__all__ = ["FIRST_YEAR", "LAST_YEAR", "Universal", "to_local", "to_utc", "zone_names"]

Ints = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

FIRST_YEAR: Final = 1990
LAST_YEAR: Final = 2099
_SECOND_US: Final = 1_000_000


@dataclass(frozen=True, slots=True)
class Universal:
    """A column of UTC times: the first reading and the second; they differ only where the local hour repeats.

    ``missing`` is True where the clock never showed the local time.
    """

    first_us: Ints
    second_us: Ints
    missing: Mask


@lru_cache(maxsize=1)
def zone_names() -> frozenset[str]:
    """Give the names of all IANA zones."""
    return frozenset(available_timezones())


def to_utc(local_us: Ints, zone: str) -> Universal:
    """Turn local microseconds of the years 1990 to 2099 into UTC microseconds of an IANA zone."""
    begins, offsets = _segments(zone)
    local_begins = begins + offsets
    at = np.clip(np.searchsorted(local_begins, local_us, side="right") - 1, 0, len(begins) - 1)
    ends = np.append(begins[1:], np.iinfo(np.int64).max // 2)
    missing = local_us - offsets[at] >= ends[at]
    second = local_us - offsets[at]
    before = np.maximum(at - 1, 0)
    earlier = local_us - offsets[before]
    repeated = (at > 0) & (earlier < begins[at])
    return Universal(np.where(repeated, earlier, second), second, missing)


def to_local(utc_us: Ints, zone: str) -> Ints:
    """Turn UTC microseconds of the years 1990 to 2099 into what the clocks of an IANA zone showed."""
    begins, offsets = _segments(zone)
    at = np.clip(np.searchsorted(begins, utc_us, side="right") - 1, 0, len(begins) - 1)
    local: Ints = utc_us + offsets[at]
    return local


@lru_cache(maxsize=64)
def _segments(zone: str) -> tuple[Ints, Ints]:
    """List when each offset of a zone begins (us UTC) and the offset (us); days are searched, then seconds."""
    clock = ZoneInfo(zone)
    now = datetime(FIRST_YEAR - 1, 12, 30, tzinfo=UTC)
    end = datetime(LAST_YEAR + 1, 1, 3, tzinfo=UTC)
    begins, offsets = [_us(now)], [_offset(clock, now)]
    while now < end:
        later = now + timedelta(days=1)
        if _offset(clock, later) != offsets[-1]:
            begins.append(_us(_change(clock, now, later)))
            offsets.append(_offset(clock, later))
        now = later
    return np.array(begins, np.int64), np.array(offsets, np.int64) * _SECOND_US


def _offset(clock: ZoneInfo, at: datetime) -> int:
    """Give the zone's offset in seconds at a moment."""
    shift = at.astimezone(clock).utcoffset()
    return int((shift or timedelta()).total_seconds())


def _change(clock: ZoneInfo, low: datetime, high: datetime) -> datetime:
    """Find the second at which the offset changes, by halving."""
    before = _offset(clock, low)
    while high - low > timedelta(seconds=1):
        middle = low + timedelta(seconds=int((high - low).total_seconds()) // 2)
        low, high = (middle, high) if _offset(clock, middle) == before else (low, middle)
    return high


def _us(at: datetime) -> int:
    """Count the microseconds since 1970."""
    return int(at.timestamp()) * _SECOND_US
