"""A part of the records by the mill's own clock: running time clipped to it, breaks outside it left out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import ibis.expr.types as ir
import numpy as np

from ringwright.refusal import Fault, Refusal
from ringwright.study.calendar import Stretches

__all__ = ["Period", "breaks_within", "read_period", "stretches_within"]

_MINUTE_US = 60_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """From and up to a minute of the local clock, counted from 1970-01-01 local; None where it is open."""

    from_minute: int | None = None
    to_minute: int | None = None

    @property
    def whole(self) -> bool:
        """Say whether nothing is left out."""
        return self.from_minute is None and self.to_minute is None

    @property
    def words(self) -> str:
        """Tell the period for a person; empty for all time."""
        ends = [("from", self.from_minute), ("up to", self.to_minute)]
        return ", ".join(f"{word} {_written(minute)}" for word, minute in ends if minute is not None)


def read_period(since: str, until: str) -> Period:
    """Read two moments of the local clock, as "2026-03-02" or "2026-03-02 06:00"; empty for an open end.

    A day as the last one is taken whole. Refusal with every fault, also for an end that is not after the start.
    """
    faults: list[Fault] = []
    start, end = _minute(since, "--from", faults), _minute(until, "--to", faults, last=True)
    if start is not None and end is not None and end <= start:
        faults.append(Fault(where="--to", got=f'"{until}"', wants=f"later than --from, {since}"))
    if faults:
        raise Refusal(faults)
    return Period(from_minute=start, to_minute=end)


def _minute(text: str, where: str, faults: list[Fault], *, last: bool = False) -> int | None:
    if not text.strip():
        return None
    try:
        read = datetime.fromisoformat(text.strip())
    except ValueError:
        read = None
    if read is None or read.tzinfo is not None:
        wants = 'a day or minute of the mill\'s clock, without a zone, as "2026-03-02" or "2026-03-02 06:00"'
        faults.append(Fault(where=where, got=f'"{text}"', wants=wants))
        return None
    if last and len(text.strip()) <= len("2026-03-02"):
        read += timedelta(days=1)
    return round(read.replace(tzinfo=UTC).timestamp()) // 60


def _written(minute: int) -> str:
    return f"{datetime.fromtimestamp(minute * 60, UTC):%Y-%m-%d %H:%M}"


def stretches_within(one: Stretches, period: Period) -> Stretches:
    """Clip a frame's running time to the period.

    Of the doffs and traveller changes before it the last of each stays, as ages count from there; later ones go.
    """
    ahead = one.local_us - one.from_us  # the local clock, ahead of UTC
    low = np.full(len(ahead), -(2**62)) if period.from_minute is None else period.from_minute * _MINUTE_US - ahead
    high = np.full(len(ahead), 2**62) if period.to_minute is None else period.to_minute * _MINUTE_US - ahead
    moment = np.isin(one.kind.astype(str), ("doff", "traveller change"))
    begin, end = np.maximum(one.from_us, low), np.minimum(one.to_us, high)
    stays = np.where(moment, (one.to_us < high) & (one.to_us >= low), begin < end)
    for kind in ("doff", "traveller change"):
        before = np.flatnonzero((one.kind == kind) & (one.to_us < low))
        stays[before[np.argsort(one.to_us[before], kind="stable")][-1:]] = True
    begin, end = np.where(moment, one.from_us, begin), np.where(moment, one.to_us, end)
    return replace(
        one, from_us=begin[stays], to_us=end[stays], kind=one.kind[stays], yarn=one.yarn[stays],
        shift=one.shift[stays], local_us=(begin + ahead)[stays],
    )  # fmt: skip


def breaks_within(breaks: ir.Table, period: Period) -> ir.Table:
    """Leave out the breaks whose local minute lies outside the period."""
    minute = breaks.local_day.cast("int64") * 1440 + breaks.local_minute.cast("int64")
    if period.from_minute is not None:
        breaks = breaks.filter(minute >= period.from_minute)
    if period.to_minute is not None:
        breaks = breaks.filter(minute < period.to_minute)
    return breaks
