"""Ticked tasks in the ledger: what was done, by whom, when, and the note that was left."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, fields
from typing import Final

__all__ = ["TAKEN_BACK_SCRIPT", "TICKS_SCRIPT", "TakenBack", "Tick", "add_tick", "read_ticks", "take_back_tick"]

TICKS_SCRIPT: Final = """
    CREATE TABLE tick (
        number INTEGER PRIMARY KEY,
        mill TEXT NOT NULL,
        key TEXT NOT NULL,
        kind TEXT NOT NULL,
        what TEXT NOT NULL,
        frame TEXT NOT NULL,
        spindles TEXT NOT NULL,
        target REAL,
        done_us INTEGER NOT NULL,
        by TEXT NOT NULL,
        note TEXT NOT NULL
    );
    CREATE INDEX tick_of_key ON tick (mill, key)
    """
"""The ledger's script for the version that knows ticks; a key may be ticked again, and every tick stays."""

TAKEN_BACK_SCRIPT: Final = """
    ALTER TABLE tick ADD COLUMN taken_back_us INTEGER;
    ALTER TABLE tick ADD COLUMN taken_back_by TEXT NOT NULL DEFAULT '';
    ALTER TABLE tick ADD COLUMN taken_back_note TEXT NOT NULL DEFAULT ''
    """
"""The ledger's script for the version in which a tick can be taken back; the tick itself stays to be read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """A task that was done: key, kind and words of the task, its place, µs UTC when done, by whom, the note.

    ``spindles`` are their numbers, parted by blanks; ``target`` the ratio of rates of a full cure, None for none. A
    tick that was taken back has the µs UTC of that, by whom and why; it counts for nothing any more.
    """

    mill: str
    key: str
    kind: str
    what: str
    frame: str
    spindles: str
    target: float | None
    done_us: int
    by: str
    note: str
    taken_back_us: int | None = None
    taken_back_by: str = ""
    taken_back_note: str = ""

    @property
    def stands(self) -> bool:
        """Say whether the tick counts: it was not taken back."""
        return self.taken_back_us is None


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenBack:
    """The taking back of the last standing tick of a task: mill, key, µs UTC, by whom, why."""

    mill: str
    key: str
    at_us: int
    by: str
    note: str


_NAMES: Final = tuple(one.name for one in fields(Tick))


def add_tick(connection: sqlite3.Connection, tick: Tick) -> None:
    """Note a tick; to be called inside a change of the ledger."""
    marks = ", ".join("?" * len(_NAMES))
    values = [getattr(tick, name) for name in _NAMES]
    connection.execute(f"INSERT INTO tick ({', '.join(_NAMES)}) VALUES ({marks})", values)  # noqa: S608


def read_ticks(connection: sqlite3.Connection, mill: str) -> list[Tick]:
    """List the ticks of a mill in the order of when they were done."""
    sentence = f"SELECT {', '.join(_NAMES)} FROM tick WHERE mill = ? ORDER BY done_us, number"  # noqa: S608
    return [Tick(**dict(zip(_NAMES, row, strict=True))) for row in connection.execute(sentence, (mill,))]


def take_back_tick(connection: sqlite3.Connection, given: TakenBack) -> bool:
    """Mark the last standing tick of a task as taken back, inside a change of the ledger; False if there is none."""
    sentence = """
        UPDATE tick SET taken_back_us = ?, taken_back_by = ?, taken_back_note = ? WHERE number = (
            SELECT number FROM tick WHERE mill = ? AND key = ? AND taken_back_us IS NULL
            ORDER BY done_us DESC, number DESC LIMIT 1)
        """
    values = (given.at_us, given.by, given.note, given.mill, given.key)
    return connection.execute(sentence, values).rowcount == 1
