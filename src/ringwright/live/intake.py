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
from ringwright.events.ground import ground_of
from ringwright.events.json_rows import LIVE, Heard, JsonRows, cut_and_heard
from ringwright.events.merge import identified
from ringwright.live.inbox import Inbox, Letter
from ringwright.mill import Mill
from ringwright.store import Take, open_store, take_rows

__all__ = ["Answer", "Intake"]

_CONTENT: Final = ("cop_share", "yarn", "cause", "operator")
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
        places, letters, aside, heard = self._checked(lines)
        now = datetime.now(UTC).isoformat(timespec="seconds")
        with self._lock, self.inbox.commit():
            for line, said in zip(places, self.inbox.put(letters), strict=True):
                answer = answers[owner[line][0]]
                if said in {"", "known"}:
                    answer.stored += not said
                    answer.known += bool(said)
                else:
                    aside.append((line, said))
            for line, reason in aside:
                self.inbox.set_aside(messages[owner[line][0]][0], now, lines[line], reason)
                answers[owner[line][0]].set_aside.append((owner[line][1], reason))
            self.inbox.hear(heard)
        return answers

    def move(self) -> Take | None:
        """Move what waits into the month's Parquet files; None if nothing waits.

        The store commits first and the inbox forgets after it: a sudden end between the two makes the next move find
        the events known.
        """
        arrived, held = self.inbox.waiting()
        if not held:
            return None
        with open_store(self.store) as store:
            take = take_rows(JsonRows(Path("live"), held), LIVE, self.mill, store)
        with self._lock:
            self.inbox.clear(arrived)
        return take

    def _checked(self, lines: list[bytes]) -> tuple[list[int], list[Letter], list[tuple[int, str]], Heard]:
        """Check lines: places and letters to put in, lines to set aside with the reason, and what was heard."""
        latest = int(datetime.now(UTC).timestamp() * 1_000_000) + _EARLY_US
        block, heard = cut_and_heard(lines, 0)
        done = check_breaks(block, LIVE, self._ground, latest)
        table = identified(done.table)
        places = np.asarray(table["line"]).tolist()
        contents = zip(*(table[name].to_pylist() for name in _CONTENT), strict=True)
        ids = np.asarray(table["event_id"]).tolist()
        letters = [
            Letter(event_id, _said(content), lines[place])
            for place, event_id, content in zip(places, ids, contents, strict=True)
        ]
        return places, letters, [(one.line, one.reason) for one in done.set_aside], heard


def _said(content: tuple[Any, ...]) -> str:
    """Write what an event says beside machine, spindle and time, always in the same way."""
    told = zip(_CONTENT, content, strict=True)
    return ", ".join([f"{name} {value}" for name, value in told if value is not None]) or "nothing more"
