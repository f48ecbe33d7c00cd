"""The ledger: a SQLite file that knows what was taken in and which files hold it."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Final

from ringwright.refusal import Fault, Refusal
from ringwright.store.rounds import (
    ROUND_BACK_SCRIPT,
    ROUNDS_SCRIPT,
    Round,
    RoundBack,
    add_round,
    read_rounds,
    take_back_round,
)
from ringwright.store.ticks import (
    TAKEN_BACK_SCRIPT,
    TICKS_SCRIPT,
    TakenBack,
    Tick,
    add_tick,
    read_ticks,
    take_back_tick,
)

__all__ = ["LEDGER", "Held", "Ledger", "Take", "open_ledger"]

LEDGER: Final = "ledger.sqlite"
PATIENCE_S: Final = 20.0

MIGRATIONS: Final = (
    """
    CREATE TABLE take (
        number INTEGER PRIMARY KEY,
        file TEXT NOT NULL,
        sha256 TEXT NOT NULL,
        bytes INTEGER NOT NULL,
        source TEXT NOT NULL,
        holds TEXT NOT NULL,
        mill TEXT NOT NULL,
        taken INTEGER NOT NULL,
        known INTEGER NOT NULL,
        set_aside INTEGER NOT NULL,
        set_aside_file TEXT NOT NULL,
        at TEXT NOT NULL
    );
    CREATE TABLE held (
        path TEXT PRIMARY KEY,
        take INTEGER NOT NULL REFERENCES take (number),
        rows INTEGER NOT NULL,
        draft TEXT
    );
    CREATE TABLE mill (slug TEXT PRIMARY KEY, name TEXT NOT NULL);
    """,
    TICKS_SCRIPT,
    ROUNDS_SCRIPT,
    TAKEN_BACK_SCRIPT,
    ROUND_BACK_SCRIPT,
)
"""One script for each version of the ledger; a ledger of an older version runs those it lacks, in order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """One take-in: the file, and how many of its rows were taken, were known already, and were set aside."""

    number: int
    file: str
    sha256: str
    bytes: int
    source: str
    holds: str
    mill: str
    taken: int
    known: int
    set_aside: int
    set_aside_file: str
    at: str

    @property
    def rows(self) -> int:
        """Give the number of rows of the file."""
        return self.taken + self.known + self.set_aside

    @property
    def in_words(self) -> str:
        """Tell what became of the rows."""
        return f"{self.rows} rows: {self.taken} taken, {self.known} already known, {self.set_aside} set aside"


@dataclass(frozen=True, slots=True)
class Held:
    """A file of the store: its path, its rows, and its draft while it is not yet in place."""

    path: str
    rows: int
    draft: str | None


class Ledger:
    """An open ledger; a change is made inside ``change`` and is either whole or not there."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection

    @contextlib.contextmanager
    def change(self) -> Iterator[None]:
        """Hold the store's only right to write; commit at the end, or roll back what an exception leaves."""
        with _told(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield
            except BaseException:
                with contextlib.suppress(sqlite3.Error):
                    self._connection.execute("ROLLBACK")
                raise
            self._connection.execute("COMMIT")

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    def next_number(self) -> int:
        """Give the number of the next take-in."""
        (last,) = self._connection.execute("SELECT coalesce(max(number), 0) FROM take").fetchone()
        return int(last) + 1

    def add_take(self, take: Take) -> None:
        """Note a take-in."""
        names = [one.name for one in fields(Take)]
        marks = ", ".join("?" * len(names))
        values = [getattr(take, name) for name in names]
        self._connection.execute(f"INSERT INTO take ({', '.join(names)}) VALUES ({marks})", values)  # noqa: S608

    def takes(self) -> list[Take]:
        """List the take-ins, first to last."""
        names = [one.name for one in fields(Take)]
        with _told(self.path):
            rows = self._connection.execute(f"SELECT {', '.join(names)} FROM take ORDER BY number")  # noqa: S608
            return [Take(**dict(zip(names, row, strict=True))) for row in rows]

    def hold(self, path: str, take: int, rows: int, draft: str) -> None:
        """Note that a file of the store is to be what a draft is now."""
        self._connection.execute("REPLACE INTO held VALUES (?, ?, ?, ?)", (path, take, rows, draft))

    def placed(self, held: Held) -> None:
        """Note that a draft is in its place."""
        sentence = "UPDATE held SET draft = NULL WHERE path = ? AND draft = ?"
        self._connection.execute(sentence, (held.path, held.draft))

    def files(self, start: str = "") -> list[Held]:
        """List the files of the store whose path begins so."""
        with _told(self.path):
            sentence = "SELECT path, rows, draft FROM held WHERE substr(path, 1, ?) = ? ORDER BY path"
            return [Held(*row) for row in self._connection.execute(sentence, (len(start), start))]

    def add_tick(self, tick: Tick) -> None:
        """Note that a task was done."""
        add_tick(self._connection, tick)

    def take_back_tick(self, given: TakenBack) -> bool:
        """Note that the last standing tick of a task was taken back; False if there is none."""
        return take_back_tick(self._connection, given)

    def ticks(self, mill: str) -> list[Tick]:
        """List every tick of a mill, first to last, those taken back too."""
        with _told(self.path):
            return read_ticks(self._connection, mill)

    def add_round(self, mill: str, given: Round) -> tuple[Round, bool]:
        """Keep a round of readings, to be called inside a change; gives it with its number, and whether it is new."""
        return add_round(self._connection, mill, given)

    def rounds(self, mill: str, kind: str = "", frame: str = "", *, every: bool = False) -> list[Round]:
        """List the standing rounds, or ``every`` one, in the order in which they were read, as ``read_rounds`` does."""
        with _told(self.path):
            return read_rounds(self._connection, mill, kind, frame, every=every)

    def take_back_round(self, given: RoundBack) -> bool:
        """Note that a round was taken back; False if no round of that number stands."""
        return take_back_round(self._connection, given)

    def know_mill(self, slug: str, name: str) -> None:
        """Note the mill's full name; Refusal if another mill is written the same way in this store."""
        row = self._connection.execute("SELECT name FROM mill WHERE slug = ?", (slug,)).fetchone()
        if row is not None and row[0] != name:
            got = f'the mill "{name}", written {slug} as "{row[0]}" is already'
            raise Refusal(Fault(where=str(self.path), got=got, wants="a store of its own, or a mill with another name"))
        self._connection.execute("INSERT OR IGNORE INTO mill VALUES (?, ?)", (slug, name))


def open_ledger(root: Path) -> Ledger:
    """Open the ledger of a store, made new if there is none and brought up to date if it is old."""
    path = root / LEDGER
    with _told(path):
        connection = sqlite3.connect(path, timeout=PATIENCE_S, isolation_level=None)
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = FULL")
            connection.execute("PRAGMA foreign_keys = ON")
            _migrate(connection, path)
        except BaseException:
            connection.close()
            raise
    return Ledger(path, connection)


def _migrate(connection: sqlite3.Connection, path: Path) -> None:
    """Run the scripts that the ledger lacks, each whole or not at all."""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if version > len(MIGRATIONS):
        got = f"of version {version}, made by a newer Ringwright"
        raise Refusal(Fault(where=str(path), got=got, wants=f"of version {len(MIGRATIONS)} or older"))
    for number in range(version, len(MIGRATIONS)):
        connection.execute("BEGIN IMMEDIATE")
        (now,) = connection.execute("PRAGMA user_version").fetchone()
        if now == number:  # else another process was quicker
            for sentence in MIGRATIONS[number].split(";"):
                connection.execute(sentence)
            connection.execute(f"PRAGMA user_version = {number + 1}")
        connection.execute("COMMIT")


@contextlib.contextmanager
def _told(path: Path) -> Iterator[None]:
    """Turn SQLite's errors into sentences that name the file."""
    try:
        yield
    except sqlite3.Error as error:
        text = str(error)
        busy = "locked" in text
        mend = (
            "Another take-in or tick is at work; try again when it is done."
            if busy
            else "Nothing of this was written; put it right and try again."
        )
        wants = "a ledger that can be read and written, on a disk with room"
        raise Refusal(Fault(where=str(path), got=f"not usable ({text})", wants=wants, mend=mend)) from None
