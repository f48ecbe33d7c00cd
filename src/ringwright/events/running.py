"""Stretches of a frame's time, made from the moments that were recorded."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

import numpy as np
import pyarrow as pa

from ringwright.events.event import RUNNING
from ringwright.events.zones import to_local, zone_names

__all__ = ["running_time"]

_DAY_US = 86_400_000_000
_CARRIED = ("speed", "yarn", "shift")
Row = dict[str, Any]


def running_time(moments: pa.Table) -> pa.Table:
    """Make the table ``running`` from the moments of one mill (table ``moments``, all months together).

    A stretch that no record ends reaches to the last moment known of the mill and is not ``closed``.
    """
    wanted = ("machine", "t_us", "until_us", "kind", "zone", *_CARRIED)
    rows = moments.select(wanted).sort_by([("machine", "ascending"), ("t_us", "ascending")]).to_pylist()
    last = max((max(row["t_us"], row["until_us"] or 0) for row in rows), default=0)
    made: list[Row] = []
    for _, ours in groupby(rows, key=lambda row: row["machine"]):
        frame = _Frame()
        for row in ours:
            frame.hear(row)
        made += frame.end(last)
    made.sort(key=lambda row: (row["machine"], row["from_us"], row["to_us"], row["kind"]))
    return _with_local(made)


@dataclass(slots=True)
class _Frame:
    """What is known of one frame while its moments are heard in order of time."""

    made: list[Row] = field(default_factory=list)
    carried: Row = field(default_factory=dict)
    run: Row | None = None  # the run in hand
    run_until: int | None = None  # its end, if it was written
    stop: Row | None = None  # the stop in hand that has no end yet
    stood: Row | None = None  # a doff or traveller change without a length since the run in hand began
    resume: int | None = None  # when a stop with a written end ends

    def hear(self, row: Row) -> None:
        """Take in the next moment."""
        self._reach(row["t_us"])
        kind = row["kind"]
        carried = self.carried | {name: row[name] for name in _CARRIED if row[name] is not None}
        if kind == "stop" or (kind in {"doff", "traveller change"} and row["until_us"] is not None):
            self._stop(row)
        elif kind in {"doff", "traveller change"}:
            self._stand(row)
        elif kind in {"start", "run"}:
            self._start(row, carried)
        if carried != self.carried:
            self._change(row, carried)

    def end(self, last: int) -> list[Row]:
        """Close what is open at the last moment known of the mill."""
        self._reach(last)
        for row in (self.run, self.stop):
            if row is not None:
                self.made.append(row | {"to_us": last, "closed": False})
        # A stretch between a moment and itself is no running time.
        return [row for row in self.made if row["kind"] != "run" or row["to_us"] > row["from_us"]]

    def _reach(self, t_us: int) -> None:
        """Let pass the written ends that lie before a moment."""
        if self.resume is not None and self.resume <= t_us:
            at, self.resume = self.resume, None
            if self.run is None and self.stop is None:
                self._begin({**self.made[-1], "t_us": at})
        if self.run_until is not None and self.run_until <= t_us:
            self._finish(self.run_until)

    def _begin(self, row: Row) -> None:
        self.run = _stretch(row, "run") | {name: self.carried.get(name) for name in _CARRIED}
        self.stood = None

    def _finish(self, at: int) -> None:
        """End the run in hand."""
        if self.run is not None:
            self.made.append(self.run | {"to_us": at})
        self.run, self.run_until, self.stood = None, None, None

    def _start(self, row: Row, carried: Row) -> None:
        """Hear a start, or a run with its end."""
        self.resume = None
        if self.stop is not None:
            self.made.append(self.stop | {"to_us": row["t_us"]})
            self.stop = None
        if self.run is not None and self.stood is not None and self.run_until is None:
            # A ring frame is doffed standing: a doff and then a start, without a stop, mean that it stood between.
            stood = self.stood
            self._finish(stood["from_us"])
            stood["to_us"] = row["t_us"]
        if self.run is None:
            self.carried = carried
            self._begin(row)
            self.run_until = row["until_us"] if row["kind"] == "run" else None
        elif row["kind"] == "start":
            self.run_until = None
        elif self.run_until is not None:
            self.run_until = max(self.run_until, row["until_us"])

    def _stop(self, row: Row) -> None:
        """Hear a stop, or a doff or traveller change that has a length."""
        ran, until, run_until = self.run is not None, row["until_us"], self.run_until
        self._finish(row["t_us"])
        if until is None:
            self.resume = None
            self.stop = self.stop or _stretch(row, row["kind"])
            return
        self.made.append(_stretch(row, row["kind"]) | {"to_us": until})
        if ran and (run_until is None or run_until > until):
            self.resume = until
        elif self.resume is not None:
            self.resume = max(self.resume, until)

    def _stand(self, row: Row) -> None:
        """Hear a doff or a traveller change without a length."""
        made = _stretch(row, row["kind"])
        self.made.append(made)
        if self.run is not None and self.stood is None:
            self.stood = made

    def _change(self, row: Row, carried: Row) -> None:
        """Begin a new stretch where speed, yarn or shift changes."""
        self.carried = carried
        if self.run is None or all(self.run[name] == carried.get(name) for name in _CARRIED):
            return
        until, stood = self.run_until, self.stood
        self._finish(row["t_us"])
        self._begin(row)
        self.run_until, self.stood = until, stood


def _stretch(row: Row, kind: str) -> Row:
    """Begin a stretch at a moment."""
    at = row["t_us"]
    made: Row = {"machine": row["machine"], "from_us": at, "to_us": at, "kind": kind, "closed": True}
    return made | {"zone": row["zone"]} | {name: row.get(name) for name in _CARRIED}


def _with_local(made: list[Row]) -> pa.Table:
    """Put local day and minute beside the beginning of each stretch."""
    begins = np.array([row["from_us"] for row in made], np.int64)
    zones = np.array([row["zone"] for row in made], object)
    local = begins.copy()
    for zone in _unique(zones):
        here = zones == zone
        local[here] = to_local(begins[here], zone) if zone in zone_names() else begins[here] + _offset_us(zone)
    columns = {name: [row.get(name) for row in made] for name in RUNNING.names if not name.startswith("local")}
    columns["local_day"] = (local // _DAY_US).tolist()
    columns["local_minute"] = (local % _DAY_US // 60_000_000).tolist()
    return pa.table({name: columns[name] for name in RUNNING.names}, schema=RUNNING)


def _unique(zones: Any) -> Iterator[str]:  # noqa: ANN401 - an array of texts
    return iter(sorted(set(zones.tolist())))


def _offset_us(zone: str) -> int:
    """Read an offset such as +02:00."""
    sign = -1 if zone.startswith("-") else 1
    return sign * (int(zone[1:3]) * 60 + int(zone[4:6])) * 60_000_000
