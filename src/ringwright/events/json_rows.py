"""Rows of live intake: one JSON object a line, with keys of our own; also read from files named .ndjson."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO, Final

import numpy as np
import numpy.typing as npt
import orjson
import pyarrow as pa
import pyarrow.compute as pc

from ringwright.events.block import Block, SetAside, trimmed
from ringwright.events.source import Columns, Source, Time

__all__ = ["KEYS", "LIVE", "LIVE_RUNNING", "NUMBER", "REASON", "RUNNING_KEYS", "Cut", "Heard", "JsonRows", "cut_json"]

COLUMNS: Final = ("machine", "spindle", "side", "time", "zone", "cop", "yarn", "cause", "operator", "id")
RUNNING_COLUMNS: Final = ("machine", "kind", "time", "zone", "until", "speed", "yarn", "shift", "id")
_SENDER: Final = ("gateway", "sequence")
KEYS: Final = (*COLUMNS, *_SENDER)
"""The keys that an object about an end break may have; machine, spindle and time must be there."""

RUNNING_KEYS: Final = (*RUNNING_COLUMNS, *_SENDER)
"""The keys that an object about running time may have; it is told by its kind, which must be there."""

REASON: Final = "set_aside_reason"
NUMBER: Final = "set_aside_number"
"""Keys that objects set aside have; they are left alone when they are sent again."""

LIVE: Final = Source(
    name="live",
    holds="breaks",
    columns=Columns(**{name: name for name in COLUMNS}),
    time=Time(),
    unknown_causes="keep",
)
"""How objects are read: time in ISO 8601 with its offset, or with a zone beside it; cop as a share of the doff."""

LIVE_RUNNING: Final = Source(
    name="live", holds="running", columns=Columns(**{name: name for name in RUNNING_COLUMNS}), time=Time()
)
"""How objects about running time are read: speed in rpm."""

Heard = dict[str, set[int]]

_KNOWN: Final = frozenset({*KEYS, REASON, NUMBER})
_RUNNING_KNOWN: Final = frozenset({*RUNNING_KEYS, REASON, NUMBER})
_PLAIN: Final = frozenset({str, int, float, type(None)})
_MANY: Final = 1 << 62
_BATCH: Final = 100_000


@dataclass(frozen=True, slots=True)
class Cut:
    """Lines cut into cells: those about breaks (with all that could not be cut), those about running time; and what
    sequence numbers were heard of each gateway, also of lines set aside for what they say."""  # noqa: D205, D209

    breaks: Block
    running: Block
    heard: Heard


class JsonRows:
    """Objects of live intake as rows of a take-in, from a file or from memory."""

    def __init__(self, path: Path, held: list[bytes] | None = None, holds: str = "breaks") -> None:
        self.path = path
        self._holds = holds
        text = path.read_bytes() if held is None else b"\n".join(held)
        self.size = self.done = len(text)
        self.sha256 = hashlib.sha256(text).hexdigest()
        self._lines = text.split(b"\n")

    def blocks(self) -> Iterator[Block]:
        """Give the rows block by block; objects of the other sort are set aside."""
        for at in range(0, len(self._lines), _BATCH):
            cut = cut_json(self._lines[at : at + _BATCH], at + 1)
            if self._holds == "breaks":
                told = "the object is about running time, as it has a kind, and the source holds breaks"
                mine, others, bad = cut.breaks, cut.running, cut.breaks.set_aside
            else:
                told = "the object has no kind, and the source holds running time"
                mine, others, bad = cut.running, cut.breaks, cut.breaks.set_aside
            apart = [SetAside(line, told) for line in others.lines.tolist()]
            yield Block(mine.lines, mine.cells, [*bad, *apart])

    def write_set_aside(self, file: BinaryIO, reasons: dict[int, str]) -> None:
        """Write the objects set aside, each with its reason as one more key; what is no object stands as a text."""
        for line, reason in sorted(reasons.items()):
            held: Any = None
            try:
                held = orjson.loads(self._lines[line - 1])
            except orjson.JSONDecodeError:
                held = None
            if not isinstance(held, dict):
                held = {"text": self._lines[line - 1].decode("utf-8", errors="replace")}
            file.write(orjson.dumps(held | {REASON: reason}, option=orjson.OPT_APPEND_NEWLINE))


def cut_json(lines: list[bytes], first: int = 1) -> Cut:
    """Cut lines into cells of the columns of ``LIVE`` and ``LIVE_RUNNING``; blank lines are no records."""
    breaks: tuple[list[int], list[list[Any]]] = ([], [])
    running: tuple[list[int], list[list[Any]]] = ([], [])
    set_aside: list[SetAside] = []
    heard: Heard = {}
    for number, line in enumerate(lines, start=first):
        if not line or line.isspace():
            continue
        row, reason = _row(line, heard)
        if reason:
            set_aside.append(SetAside(number, reason))
            continue
        numbers, rows = breaks if len(row) == len(COLUMNS) else running
        numbers.append(number)
        rows.append(row)
    return Cut(_block(breaks, COLUMNS, set_aside), _block(running, RUNNING_COLUMNS, []), heard)


def _block(held: tuple[list[int], list[list[Any]]], names: tuple[str, ...], set_aside: list[SetAside]) -> Block:
    """Put rows into cells by column."""
    numbers, rows = held
    columns = zip(*rows, strict=True) if rows else ([] for _ in names)
    cells = {name: _texts(column) for name, column in zip(names, columns, strict=True)}
    lines: npt.NDArray[np.int64] = np.array(numbers, np.int64)
    return Block(lines, cells, set_aside)


def _texts(column: Sequence[Any]) -> pa.StringArray:
    """Turn texts, numbers and nulls into texts, as Python writes them; a column of one kind goes at once."""
    try:
        held = pa.array(column)
    except (pa.ArrowException, OverflowError, ValueError):  # of several kinds, or with a number beyond 64 bits
        held = None
    if held is None or not (pa.types.is_string(held.type) or pa.types.is_int64(held.type)):
        held = pa.array(["" if value is None else str(value) for value in column], pa.string())
    return trimmed(pc.fill_null(held.cast(pa.string()), ""))


def _row(line: bytes, heard: Heard) -> tuple[list[Any], str]:
    """Read one object: its cells, or the reason why it cannot be read."""
    try:
        held = orjson.loads(line)
    except orjson.JSONDecodeError as error:
        return [], f"not JSON at column {error.colno}"
    if type(held) is not dict:
        return [], "not a JSON object"
    gateway, sequence = held.get("gateway"), held.get("sequence")
    if sequence is not None and type(gateway) is str and type(sequence) is int and 0 <= sequence < _MANY:
        heard.setdefault(gateway, set()).add(sequence)
    about_running = "kind" in held
    known = _RUNNING_KNOWN if about_running else _KNOWN
    if not (held.keys() <= known and _PLAIN.issuperset(map(type, held.values())) and b"\\u0000" not in line):
        return [], _amiss(held, RUNNING_KEYS if about_running else KEYS, known)
    if sequence is not None and not (type(sequence) is int and 0 <= sequence < _MANY):
        return [], "the sequence is not a whole number from 0 up"
    cells = list(map(held.get, RUNNING_COLUMNS if about_running else COLUMNS))
    if cells[-1] is None and gateway is not None and sequence is not None:
        cells[-1] = f"{gateway}/{sequence}"
    return cells, ""


def _amiss(held: dict[str, Any], keys: tuple[str, ...], known: frozenset[str]) -> str:
    """Tell what is wrong with an object's shape."""
    unknown = [key for key in held if key not in known]
    if unknown:
        return f"the key {unknown[0][:40]!a} is not known; known: {', '.join(keys)}"
    bad = [key for key, value in held.items() if type(value) not in _PLAIN]
    if bad:
        return f"the value of {bad[0]} is neither a text nor a number"
    return "a text holds a zero byte"
