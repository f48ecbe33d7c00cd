"""Take a file in: check it, join it to what is known, and commit it whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from ringwright.events.block import SetAside
from ringwright.events.break_rows import check_breaks
from ringwright.events.csv_rows import CsvRows
from ringwright.events.event import TABLES
from ringwright.events.ground import ground_of
from ringwright.events.json_rows import JsonRows
from ringwright.events.merge import identified, merge, months_of
from ringwright.events.moment_rows import check_moments
from ringwright.events.order import settle_order
from ringwright.events.parquet_rows import ParquetRows
from ringwright.events.running import running_time
from ringwright.events.source import Source
from ringwright.mill.mill import Mill
from ringwright.refusal import Refusal
from ringwright.store.ledger import Take
from ringwright.store.place import SET_ASIDE, month_path, store_mill, sync, told
from ringwright.store.store import Store

__all__ = ["take_file", "take_rows"]

Rows = CsvRows | ParquetRows | JsonRows
Progress = Callable[[int, int], None]


_ROWS_IN_MEMORY: Final = 1_000_000
_READING: Final = 0.7
"""Share of the work that reading and checking is, as it is told; joining to what is known is the rest."""

_EARLY_US: Final = 3_600_000_000
"""How far a source's clock may run ahead of ours before its rows are set aside as in the future."""


@dataclass(slots=True)
class _Work:
    """A take-in in hand: store, mill's name in it, number of the take-in, and the drafts written so far."""

    store: Store
    mill: str
    number: int
    folder: str
    drafts: list[tuple[str, int, str]] = field(default_factory=list)

    def draft(self) -> str:
        """Give a name for the next draft."""
        return f"{len(self.drafts)}.draft"

    def write(self, table: str, month: int, rows: pa.Table) -> None:
        """Write the draft of a month's file."""
        path = self.store.write(self.folder, self.draft(), rows.cast(TABLES[table]))
        self.drafts.append((month_path(table, self.mill, month), len(rows), path))


@dataclass(slots=True)
class _Count:
    """What became of the rows so far."""

    taken: int = 0
    known: int = 0
    set_aside: list[SetAside] = field(default_factory=list)


def take_file(path: Path, source: Source, mill: Mill, store: Store, progress: Progress = lambda *_: None) -> Take:
    """Take a CSV or Parquet file in; gives the ledger's entry.

    Every row is taken, known already, or set aside in a CSV file with its line and reason. Refusal if the file or the
    store cannot be used; nothing is taken then. ``progress`` is called with bytes done and all bytes.
    """
    with told(path):
        rows = _rows_of(path, source)
    return take_rows(rows, source, mill, store, progress)


def take_rows(rows: Rows, source: Source, mill: Mill, store: Store, progress: Progress = lambda *_: None) -> Take:
    """Take rows in that were opened already; the rest is as for ``take_file``."""
    with store.ledger.change():
        store.settle()
        store.sweep()
        slug = store_mill(mill.name)
        store.ledger.know_mill(slug, mill.name)
        work = _Work(store, slug, store.ledger.next_number(), store.new_drafts())
        try:
            with told(rows.path):
                take = _taken(rows, source, mill, work, progress)
        except BaseException:
            store.discard(work.folder)
            raise
        # The commit at the end of this block is the moment of truth: before it nothing is taken, after it all is.
    with store.ledger.change():
        store.settle()
        store.sweep()
    return take


def _rows_of(path: Path, source: Source) -> Rows:
    """Open the file as what its name or its first bytes say it is."""
    if path.suffix == ".ndjson":
        return JsonRows(path, holds=source.holds)
    with path.open("rb") as file:
        packed = file.read(4) == b"PAR1"
    return ParquetRows(path, source) if packed else CsvRows(path, source)


def _taken(rows: Rows, source: Source, mill: Mill, work: _Work, progress: Progress) -> Take:
    """Check the rows, write the drafts, and note all of it in the ledger."""
    gathered, count = _checked(rows, source, mill, work, progress)
    def joined(share: float) -> None:
        progress(round((_READING + (1 - _READING) * share) * rows.size), rows.size)

    _join(gathered, "breaks" if source.holds == "breaks" else "moments", work, count, joined)
    file = _write_set_aside(rows, work, count.set_aside)
    take = Take(
        number=work.number,
        file=rows.path.name,
        sha256=rows.sha256,
        bytes=rows.size,
        source=source.name,
        holds=source.holds,
        mill=work.mill,
        taken=count.taken,
        known=count.known,
        set_aside=len(count.set_aside),
        set_aside_file=file,
        at=datetime.now(UTC).isoformat(timespec="seconds"),
    )
    work.store.ledger.add_take(take)
    for path, held, draft in work.drafts:
        work.store.ledger.hold(path, work.number, held, draft)
    return take


@dataclass(slots=True)
class _Gathered:
    """Good rows of the file: the latest in memory, earlier ones month by month in drafts, so that memory suffices."""

    work: _Work
    recent: list[pa.Table] = field(default_factory=list)
    spilled: dict[int, list[str]] = field(default_factory=dict)

    def add(self, table: pa.Table) -> None:
        """Add rows; rows that are many are put away by month."""
        if len(table):
            self.recent.append(identified(table))
        if sum(len(one) for one in self.recent) >= _ROWS_IN_MEMORY:
            for month, rows in _by_month(self.recent).items():
                name = f"{sum(map(len, self.spilled.values()))}.spill"
                self.spilled.setdefault(month, []).append(self.work.store.write(self.work.folder, name, rows))
            self.recent.clear()

    @property
    def many_months(self) -> int:
        """Count the months that there are rows of, as far as they are put away; at least 1."""
        return max(1, len(self.spilled))

    def months(self) -> Iterator[tuple[int, pa.Table]]:
        """Give the rows month by month."""
        recent = _by_month(self.recent)
        for month in sorted({*recent, *self.spilled}):
            drafts = [pq.ParquetFile(self.work.store.root / one).read() for one in self.spilled.get(month, [])]
            yield month, pa.concat_tables([*drafts, *([recent[month]] if month in recent else [])])


def _by_month(tables: list[pa.Table]) -> dict[int, pa.Table]:
    """Part rows by the month (UTC) of their time."""
    if not tables:
        return {}
    table = pa.concat_tables(tables)
    months = months_of(np.asarray(table["t_us"]).astype(np.int64))
    unique = np.unique(months).tolist()
    return {unique[0]: table} if len(unique) == 1 else {one: table.filter(pa.array(months == one)) for one in unique}


def _checked(
    rows: Rows, source: Source, mill: Mill, work: _Work, progress: Progress
) -> tuple[_Gathered, _Count]:
    """Check every row of the file."""
    check = check_breaks if source.holds == "breaks" else check_moments
    ground, count, gathered = ground_of(mill, source), _Count(), _Gathered(work)
    latest_us = int(datetime.now(UTC).timestamp() * 1_000_000) + _EARLY_US
    waiting = []  # rows of a repeated hour, which only the order of the whole file may settle
    for block in rows.blocks():
        done = check(block, source, ground, latest_us)
        count.set_aside += done.set_aside
        repeated = pc.not_equal(done.table["t_us"], done.table["second_us"])
        if pc.any(repeated).as_py():
            waiting.append(done.table.filter(repeated))
            gathered.add(done.table.filter(pc.invert(repeated)))
        else:
            gathered.add(done.table)
        progress(round(_READING * rows.done), rows.size)
    if waiting:
        table, lost = settle_order(pa.concat_tables(waiting))
        count.set_aside += lost
        gathered.add(table)
    return gathered, count


def _join(gathered: _Gathered, name: str, work: _Work, count: _Count, joined: Callable[[float], None]) -> None:
    """Join the rows to what is known, month by month; ``joined`` hears the share that is done."""
    changed: dict[int, pa.Table] = {}
    for done, (month, rows) in enumerate(gathered.months()):
        joined(min(1.0, done / gathered.many_months))
        place = rows.schema.get_field_index("take")
        numbers = pa.array(np.full(len(rows), work.number, np.int32))
        numbered = rows.set_column(place, rows.schema.field(place), numbers)
        merged = merge(work.store.month(name, work.mill, month), numbered)
        count.taken += merged.taken
        count.known += merged.known
        count.set_aside += merged.set_aside
        if merged.taken:
            work.write(name, month, merged.table)
            if name == "moments":
                changed[month] = merged.table
    if changed:
        _renew_running(changed, work)


def _renew_running(changed: dict[int, pa.Table], work: _Work) -> None:
    """Make the stretches of running anew from all moments of the mill; months that stay the same are left alone."""
    known = work.store.months("moments", work.mill)
    others = [work.store.month("moments", work.mill, month) for month in known if month not in changed]
    running = running_time(pa.concat_tables([*others, *changed.values()]))
    months = months_of(np.asarray(running["from_us"]).astype(np.int64))
    for month in sorted({*np.unique(months).tolist(), *work.store.months("running", work.mill)}):
        rows = running.filter(pa.array(months == month))
        if not _same(rows, month, work):
            work.write("running", month, rows)


def _same(rows: pa.Table, month: int, work: _Work) -> bool:
    """Tell whether the store holds these rows already; a damaged file is made anew."""
    try:
        return bool(work.store.month("running", work.mill, month).equals(rows))
    except Refusal:
        return False


def _write_set_aside(rows: Rows, work: _Work, set_aside: list[SetAside]) -> str:
    """Write the rows set aside with their reasons; gives the file's path in the store."""
    if not set_aside:
        return ""
    draft = f"{work.folder}/{work.draft()}"
    with told(work.store.root / draft), (work.store.root / draft).open("wb") as file:
        rows.write_set_aside(file, {one.line: one.reason for one in set_aside})
    sync(work.store.root / draft)
    kind = "ndjson" if isinstance(rows, JsonRows) else "csv"
    goal = f"{SET_ASIDE}/{rows.path.stem[:60]}-take-{work.number}.{kind}"
    work.drafts.append((goal, len(set_aside), draft))
    return goal
