"""Rounds of readings in the ledger: what people read along a frame, the text as given and the rows as understood."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any, Final

import orjson

from ringwright.events.round_table import AsideLine
from ringwright.refusal import Fault, Refusal

__all__ = ["ROUNDS_SCRIPT", "ROUND_BACK_SCRIPT", "Round", "RoundBack", "add_round", "read_rounds", "take_back_round"]

ROUNDS_SCRIPT: Final = """
    CREATE TABLE round (
        number INTEGER PRIMARY KEY,
        mill TEXT NOT NULL,
        kind TEXT NOT NULL,
        frame TEXT NOT NULL,
        read_us INTEGER NOT NULL,
        by TEXT NOT NULL,
        note TEXT NOT NULL,
        source TEXT NOT NULL,
        text TEXT NOT NULL,
        sha256 TEXT NOT NULL,
        readings TEXT NOT NULL,
        set_aside TEXT NOT NULL,
        kept_at TEXT NOT NULL,
        UNIQUE (mill, kind, frame, sha256)
    );
    CREATE INDEX round_of_frame ON round (mill, kind, frame, read_us)
    """
"""The ledger's script for the version that knows rounds."""

ROUND_BACK_SCRIPT: Final = """
    CREATE TABLE round_that_can_go_back (
        number INTEGER PRIMARY KEY,
        mill TEXT NOT NULL,
        kind TEXT NOT NULL,
        frame TEXT NOT NULL,
        read_us INTEGER NOT NULL,
        by TEXT NOT NULL,
        note TEXT NOT NULL,
        source TEXT NOT NULL,
        text TEXT NOT NULL,
        sha256 TEXT NOT NULL,
        readings TEXT NOT NULL,
        set_aside TEXT NOT NULL,
        kept_at TEXT NOT NULL,
        taken_back_us INTEGER,
        taken_back_by TEXT NOT NULL DEFAULT '',
        taken_back_note TEXT NOT NULL DEFAULT ''
    );
    INSERT INTO round_that_can_go_back SELECT *, NULL, '', '' FROM round;
    DROP TABLE round;
    ALTER TABLE round_that_can_go_back RENAME TO round;
    CREATE INDEX round_of_frame ON round (mill, kind, frame, read_us);
    CREATE UNIQUE INDEX round_that_stands ON round (mill, kind, frame, sha256) WHERE taken_back_us IS NULL
    """
"""The ledger's script for the version in which a round can be taken back.

The round stays to be read, and the same text may be kept again, as on its right day; so only a round that stands must
be the only one of its text, which the old table would not allow.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One round of readings on one frame, of any kind ("centring", "speed").

    ``read_us`` is when it was read (µs UTC), ``by`` by whom; ``source`` the file's name or "typed"; ``text`` the whole
    text as given. ``readings`` are the rows as understood, each a flat mapping of plain values in SI with its ``line``
    in the text; ``set_aside`` are the other rows. ``number`` is 0 until the round is kept. A round that was taken back
    has the µs UTC of that, by whom and why; it counts for nothing any more.
    """

    kind: str
    frame: str
    read_us: int
    by: str
    source: str
    text: str
    readings: tuple[Mapping[str, Any], ...]
    set_aside: tuple[AsideLine, ...] = ()
    note: str = ""
    number: int = 0
    kept_at: str = field(default="", compare=False)
    taken_back_us: int | None = None
    taken_back_by: str = ""
    taken_back_note: str = ""

    @property
    def stands(self) -> bool:
        """Say whether the round counts: it was not taken back."""
        return self.taken_back_us is None

    @property
    def sha256(self) -> str:
        """Give the mark of the text, by which a round kept twice is known."""
        return hashlib.sha256(self.text.encode()).hexdigest()

    @property
    def day(self) -> str:
        """Give the day on which it was read (UTC)."""
        return f"{datetime.fromtimestamp(self.read_us / 1e6, UTC):%Y-%m-%d}"


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundBack:
    """The taking back of a round: the mill as the store writes it, the round's number, µs UTC, by whom, why."""

    mill: str
    number: int
    at_us: int
    by: str
    note: str


def add_round(connection: sqlite3.Connection, mill: str, given: Round) -> tuple[Round, bool]:
    """Keep a round of a mill; gives it with its number, and whether it is new.

    To be called inside a change of the ledger. The same text read at the same moment is known already; Refusal if the
    same text was kept with another moment, since two rounds of the same readings would hide what changed. A round that
    was taken back is none of these.
    """
    known = connection.execute(
        "SELECT number, read_us FROM round WHERE mill = ? AND kind = ? AND frame = ? AND sha256 = ? "
        "AND taken_back_us IS NULL",
        (mill, given.kind, given.frame, given.sha256),
    ).fetchone()
    if known is not None:
        return _known(connection, mill, given, known)
    kept_at = datetime.now(UTC).isoformat(timespec="seconds")
    values = {
        "mill": mill, "kind": given.kind, "frame": given.frame, "read_us": given.read_us, "by": given.by,
        "note": given.note, "source": given.source, "text": given.text, "sha256": given.sha256,
        "readings": orjson.dumps([dict(row) for row in given.readings], option=orjson.OPT_SERIALIZE_NUMPY).decode(),
        "set_aside": orjson.dumps([[one.line, one.text, one.reason] for one in given.set_aside]).decode(),
        "kept_at": kept_at,
    }  # fmt: skip
    marks = ", ".join("?" * len(values))
    added = connection.execute(
        f"INSERT INTO round ({', '.join(values)}) VALUES ({marks})",  # noqa: S608 - the names stand above
        list(values.values()),
    )
    return replace(given, number=int(added.lastrowid or 0), kept_at=kept_at), True


def _known(
    connection: sqlite3.Connection, mill: str, given: Round, known: tuple[int, int]
) -> tuple[Round, bool]:
    number, read_us = known
    if read_us != given.read_us:
        there = next(one for one in read_rounds(connection, mill, given.kind, given.frame) if one.number == number)
        got = f"the same text as round {number}, read on {there.day}"
        mend = "Give that round's moment, or the text that was read this time; or take that round back first."
        raise Refusal(Fault(where=f"the round of {given.day}", got=got, wants="a text of its own", mend=mend))
    return replace(given, number=number), False


def read_rounds(
    connection: sqlite3.Connection, mill: str, kind: str = "", frame: str = "", *, every: bool = False
) -> list[Round]:
    """List the kept rounds in the order in which they were read, of one kind and frame or (empty) of all.

    Those that were taken back are left out, unless ``every`` round is asked for.
    """
    sentence = (
        "SELECT number, kind, frame, read_us, by, note, source, text, readings, set_aside, kept_at, taken_back_us, "
        "taken_back_by, taken_back_note FROM round "
        "WHERE mill = ? AND (? = '' OR kind = ?) AND (? = '' OR frame = ?) AND (? OR taken_back_us IS NULL) "
        "ORDER BY read_us, number"
    )
    return [_round(row) for row in connection.execute(sentence, (mill, kind, kind, frame, frame, every))]


def take_back_round(connection: sqlite3.Connection, given: RoundBack) -> bool:
    """Mark a standing round as taken back, inside a change of the ledger; False if there is none of that number."""
    sentence = """
        UPDATE round SET taken_back_us = ?, taken_back_by = ?, taken_back_note = ?
        WHERE mill = ? AND number = ? AND taken_back_us IS NULL
        """
    return connection.execute(sentence, (given.at_us, given.by, given.note, given.mill, given.number)).rowcount == 1


def _round(row: tuple[Any, ...]) -> Round:
    number, kind, frame, read_us, by, note, source, text, readings, set_aside, kept_at, *back = row
    return Round(
        number=number, kind=kind, frame=frame, read_us=read_us, by=by, note=note, source=source, text=text,
        readings=tuple(orjson.loads(readings)),
        set_aside=tuple(AsideLine(line=line, text=of, reason=why) for line, of, why in orjson.loads(set_aside)),
        kept_at=kept_at, taken_back_us=back[0], taken_back_by=back[1], taken_back_note=back[2],
    )  # fmt: skip
