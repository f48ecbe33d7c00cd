"""The inbox: live events that are committed but not yet in the month's Parquet files."""

from __future__ import annotations

import contextlib
import itertools
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NamedTuple

from ringwright.refusal import Fault, Refusal

__all__ = ["INBOX", "Aside", "Gap", "Inbox", "Letter"]

INBOX: Final = "inbox.sqlite"

_TABLES: Final = (
    """CREATE TABLE IF NOT EXISTS event (
        arrived INTEGER PRIMARY KEY AUTOINCREMENT, event_id INTEGER NOT NULL UNIQUE, content TEXT NOT NULL,
        raw BLOB NOT NULL, holds TEXT NOT NULL DEFAULT 'breaks')""",
    """CREATE TABLE IF NOT EXISTS aside (
        number INTEGER PRIMARY KEY AUTOINCREMENT, door TEXT NOT NULL, at TEXT NOT NULL, raw BLOB NOT NULL,
        reason TEXT NOT NULL)""",
    """CREATE TABLE IF NOT EXISTS span (
        gateway TEXT NOT NULL, first INTEGER NOT NULL, last INTEGER NOT NULL, PRIMARY KEY (gateway, first)
    ) WITHOUT ROWID""",
)


_PUT: Final = "INTO event (event_id, content, raw, holds) VALUES (?, ?, ?, ?)"


class Letter(NamedTuple):
    """One event as it came: our number, what it says beside machine, spindle and time, its bytes, breaks or running."""

    event_id: int
    content: str
    raw: bytes
    holds: str = "breaks"


@dataclass(frozen=True, slots=True)
class Aside:
    """A line set aside: its number, the door by which it came, when, its bytes and the reason."""

    number: int
    door: str
    at: str
    raw: bytes
    reason: str


@dataclass(frozen=True, slots=True)
class Gap:
    """Sequence numbers of a gateway that were not heard although a later one was: first and last of them."""

    gateway: str
    first: int
    last: int


class Inbox:
    """An open inbox; only one process may hold it."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / INBOX
        with self._told():
            self._connection = sqlite3.connect(self.path, timeout=5, isolation_level=None, check_same_thread=False)
            self._connection.execute("PRAGMA journal_mode = WAL")
            self._connection.execute("PRAGMA synchronous = FULL")
            for sentence in _TABLES:
                self._connection.execute(sentence)
            if "holds" not in {row[1] for row in self._connection.execute("PRAGMA table_info(event)")}:
                self._connection.execute("ALTER TABLE event ADD COLUMN holds TEXT NOT NULL DEFAULT 'breaks'")

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    @contextlib.contextmanager
    def commit(self) -> Iterator[None]:
        """Make all changes inside at once and for good; Refusal if the disk will not take them."""
        with self._told():
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._connection.execute("COMMIT")
            except BaseException:
                with contextlib.suppress(sqlite3.Error):
                    self._connection.execute("ROLLBACK")
                raise

    def put(self, letters: Sequence[Letter]) -> list[str]:
        """Put events in; gives for each "" if it is new, "known" if it is there, or the reason why it contradicts."""
        before = self._connection.total_changes
        self._connection.execute("SAVEPOINT put")
        self._connection.executemany(f"INSERT OR IGNORE {_PUT}", letters)
        if self._connection.total_changes - before == len(letters):
            said = [""] * len(letters)
        else:  # some are repeats: one by one, to tell which
            self._connection.execute("ROLLBACK TO put")
            said = [self._put_one(letter) for letter in letters]
        self._connection.execute("RELEASE put")
        return said

    def _put_one(self, letter: Letter) -> str:
        """Put one event in."""
        found = self._connection.execute("SELECT content FROM event WHERE event_id = ?", (letter.event_id,)).fetchone()
        if found is None:
            self._connection.execute(f"INSERT {_PUT}", letter)
            return ""
        if found[0] == letter.content:
            return "known"
        return f"the event is known with {found[0]}, here it has {letter.content}"

    def set_aside(self, door: str, at: str, raw: bytes, reason: str) -> None:
        """Keep a line that cannot be taken, with the reason."""
        values = (door, at, raw, reason)
        self._connection.execute("INSERT INTO aside (door, at, raw, reason) VALUES (?, ?, ?, ?)", values)

    def hear(self, sequences: Mapping[str, set[int]]) -> None:
        """Note the sequence numbers heard of each gateway, as spans without a gap."""
        for gateway, heard in sequences.items():
            low, high = min(heard), max(heard)
            # Only spans that touch the new numbers can change.
            sentence = "SELECT first, last FROM span WHERE gateway = ? AND first <= ? AND last >= ?"
            old = self._connection.execute(sentence, (gateway, high + 1, low - 1)).fetchall()
            new = _joined([*old, *((number, number) for number in heard)])
            if new == sorted(old):
                continue
            gone = [(gateway, first) for first, _ in old]
            self._connection.executemany("DELETE FROM span WHERE gateway = ? AND first = ?", gone)
            self._connection.executemany("INSERT INTO span VALUES (?, ?, ?)", [(gateway, *span) for span in new])

    def gaps(self) -> list[Gap]:
        """List what is missing between the numbers heard of each gateway."""
        with self._told():
            spans = self._connection.execute("SELECT gateway, first, last FROM span ORDER BY 1, 2").fetchall()
        return [
            Gap(gateway, last + 1, first - 1)
            for (gateway, _, last), (other, first, _) in itertools.pairwise(spans)
            if gateway == other
        ]

    def waiting(self) -> tuple[int, dict[str, list[bytes]]]:
        """Give the last arrival, and the bytes of all events not yet in the Parquet files, breaks and running apart."""
        with self._told():
            rows = self._connection.execute("SELECT arrived, raw, holds FROM event ORDER BY arrived").fetchall()
        held: dict[str, list[bytes]] = {}
        for _, raw, holds in rows:
            held.setdefault(holds, []).append(raw)
        return (rows[-1][0] if rows else 0), held

    def asides(self) -> list[Aside]:
        """List the lines set aside, first to last."""
        with self._told():
            sentence = "SELECT number, door, at, raw, reason FROM aside ORDER BY number"
            rows = self._connection.execute(sentence).fetchall()
        return [Aside(*row) for row in rows]

    def mended(self, numbers: Iterable[int]) -> None:
        """Forget lines set aside, as they were taken; to be called inside a commit."""
        self._connection.executemany("DELETE FROM aside WHERE number = ?", [(number,) for number in numbers])

    def told_anew(self, number: int, raw: bytes, reason: str) -> bool:
        """Keep a line set aside as it was mended, with what is still amiss; False if no such line is set aside."""
        sentence = "UPDATE aside SET raw = ?, reason = ? WHERE number = ?"
        return self._connection.execute(sentence, (raw, reason, number)).rowcount == 1

    def counts(self) -> dict[str, int]:
        """Count events that wait, and lines set aside."""
        with self._told():
            one = self._connection.execute("SELECT (SELECT count(*) FROM event), (SELECT count(*) FROM aside)")
            waiting, aside = one.fetchone()
        return {"waiting": waiting, "set_aside": aside}

    def clear(self, arrived: int) -> None:
        """Forget the events up to an arrival, as they are in the Parquet files now."""
        with self.commit():
            self._connection.execute("DELETE FROM event WHERE arrived <= ?", (arrived,))

    @contextlib.contextmanager
    def _told(self) -> Iterator[None]:
        """Turn SQLite's errors into sentences."""
        try:
            yield
        except sqlite3.Error as error:
            wants = "an inbox that can be read and written, on a disk with room"
            mend = "Nothing was acknowledged; the sender should send it again."
            raise Refusal(Fault(where=str(self.path), got=f"not usable ({error})", wants=wants, mend=mend)) from None


def _joined(spans: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Join spans that overlap or follow one another."""
    made: list[tuple[int, int]] = []
    for first, last in sorted(spans):
        if made and first <= made[-1][1] + 1:
            made[-1] = (made[-1][0], max(made[-1][1], last))
        else:
            made.append((first, last))
    return made
