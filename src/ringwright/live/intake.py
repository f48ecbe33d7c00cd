"""The one check behind every door: lines in, an answer for each after the commit."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

import numpy as np

from ringwright.events.break_rows import check_breaks
from ringwright.events.checked import Checked
from ringwright.events.ground import ground_of
from ringwright.events.json_rows import LIVE, LIVE_RUNNING, Heard, JsonRows, cut_json
from ringwright.events.merge import identified
from ringwright.events.moment_rows import check_moments
from ringwright.live.aside import number_of
from ringwright.live.inbox import Inbox, Letter
from ringwright.mill import Mill
from ringwright.store import Take, open_store, take_rows

__all__ = ["Answer", "Intake"]

_CONTENT: Final = {
    "breaks": ("cop_share", "yarn", "cause", "operator"),
    "running": ("until_us", "speed", "yarn", "shift"),
}
_EARLY_US: Final = 3_600_000_000


@dataclass(slots=True)
class Answer:
    """What became of the lines of a message: how many are new, how many were known, and why others are set aside."""

    stored: int = 0
    known: int = 0
    set_aside: list[tuple[int, str]] = field(default_factory=list)

    def as_json(self) -> dict[str, Any]:
        """Give the answer as JSON has it; lines count from 1."""
        aside = [{"line": line, "reason": reason} for line, reason in self.set_aside]
        return {"stored": self.stored, "known": self.known, "set_aside": aside}


class Intake:
    """Holds the inbox of a store; ``take`` may be called from any thread."""

    def __init__(self, store: Path, mill: Mill) -> None:
        with open_store(store, new=True):
            pass
        self.store = store
        self.mill = mill
        self.inbox = Inbox(store)
        self._ground = ground_of(mill, LIVE)
        self._running_ground = ground_of(mill, LIVE_RUNNING)
        self._lock = threading.Lock()

    def take(self, messages: Sequence[tuple[str, bytes]]) -> list[Answer]:
        """Check and commit messages of NDJSON, each with its door, in one transaction; on return they are on the disk.

        Refusal if the disk will not take them; then none was taken and none may be acknowledged.
        """
        parts = [message.split(b"\n") for _, message in messages]
        lines = [line for part in parts for line in part]
        answers = [Answer() for _ in parts]
        # Which message each line belongs to, and the line's number within it.
        owner = [(at, number) for at, part in enumerate(parts) for number in range(1, len(part) + 1)]
        found = self._checked(lines)
        aside = found.aside
        now = datetime.now(UTC).isoformat(timespec="seconds")
        with self._lock, self.inbox.commit():
            for line, said in zip(found.places, self.inbox.put(found.letters), strict=True):
                answer = answers[owner[line][0]]
                if said in {"", "known"}:
                    answer.stored += not said
                    answer.known += bool(said)
                else:
                    aside.append((line, said))
            for line, reason in sorted(aside):
                self.inbox.set_aside(messages[owner[line][0]][0], now, lines[line], reason)
                answers[owner[line][0]].set_aside.append((owner[line][1], reason))
            self.inbox.hear(found.heard)
        return answers

    def mend(self, lines: list[bytes]) -> list[tuple[int, str]]:
        """Take lines again that were set aside, by the number in each; gives those still amiss (from 1) and why.

        A line that is taken, or known already, is no longer set aside; another stays so, as it is now. One commit.
        """
        found = self._checked(lines)
        reasons = dict(found.aside)
        now = datetime.now(UTC).isoformat(timespec="seconds")
        with self._lock, self.inbox.commit():
            said = zip(found.places, self.inbox.put(found.letters), strict=True)
            reasons |= {line: word for line, word in said if word not in {"", "known"}}
            for line, reason in reasons.items():
                number = number_of(lines[line])
                if number is None or not self.inbox.told_anew(number, lines[line], reason):
                    self.inbox.set_aside("mended", now, lines[line], reason)
            done = [number_of(lines[line]) for line in found.places if line not in reasons]
            self.inbox.mended(number for number in done if number is not None)
            self.inbox.hear(found.heard)
        return [(line + 1, reason) for line, reason in sorted(reasons.items())]

    def move(self) -> list[Take]:
        """Move what waits into the month's Parquet files: a take for the breaks, and one for the running time.

        The store commits first and the inbox forgets after it: a sudden end between the two makes the next move find
        the events known.
        """
        arrived, held = self.inbox.waiting()
        if not held:
            return []
        takes = []
        with open_store(self.store) as store:
            for source in (LIVE, LIVE_RUNNING):
                if lines := held.get(source.holds):
                    rows = JsonRows(Path("live"), lines, source.holds)
                    takes.append(take_rows(rows, source, self.mill, store))
        with self._lock:
            self.inbox.clear(arrived)
        return takes

    def _checked(self, lines: list[bytes]) -> _Checked:
        """Check lines: places and letters to put in, lines to set aside with the reason, and what was heard."""
        latest = int(datetime.now(UTC).timestamp() * 1_000_000) + _EARLY_US
        cut = cut_json(lines, 0)
        found = _Checked(heard=cut.heard)
        found.add(check_breaks(cut.breaks, LIVE, self._ground, latest), lines, "breaks")
        if len(cut.running.lines):
            found.add(check_moments(cut.running, LIVE_RUNNING, self._running_ground, latest), lines, "running")
        return found


@dataclass(slots=True)
class _Checked:
    """Places and letters of the lines to put in, lines to set aside with the reason, and what was heard."""

    heard: Heard
    places: list[int] = field(default_factory=list)
    letters: list[Letter] = field(default_factory=list)
    aside: list[tuple[int, str]] = field(default_factory=list)

    def add(self, done: Checked, lines: list[bytes], holds: str) -> None:
        """Add what the check of one sort of line gave."""
        table = identified(done.table)
        places = np.asarray(table["line"]).tolist()
        names = _CONTENT[holds]
        contents = zip(*(table[name].to_pylist() for name in names), strict=True)
        ids = np.asarray(table["event_id"]).tolist()
        self.places += places
        self.letters += [
            Letter(event_id, _said(names, content), lines[place], holds)
            for place, event_id, content in zip(places, ids, contents, strict=True)
        ]
        self.aside += [(one.line, one.reason) for one in done.set_aside]


def _said(names: tuple[str, ...], content: tuple[Any, ...]) -> str:
    """Write what an event says beside machine, spindle (or kind) and time, always in the same way."""
    told = [f"{name} {value}" for name, value in zip(names, content, strict=True) if value is not None]
    return ", ".join(told) or "nothing more"
