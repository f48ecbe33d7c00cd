"""Rows of live intake: one JSON object a line, with keys of our own; also read from files named .ndjson."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, BinaryIO, Final

import numpy as np
import numpy.typing as npt
import orjson
import pyarrow as pa

from ringwright.events.block import Block, SetAside, trimmed
from ringwright.events.source import Columns, Source, Time

__all__ = ["KEYS", "LIVE", "REASON", "Heard", "JsonRows", "cut_and_heard", "cut_json"]

COLUMNS: Final = ("machine", "spindle", "side", "time", "zone", "cop", "yarn", "cause", "operator", "id")
KEYS: Final = (*COLUMNS, "gateway", "sequence")
"""The keys that an object may have; machine, spindle and time must be there."""

REASON: Final = "set_aside_reason"
"""A key that objects set aside have; it is left alone when they are sent again."""

LIVE: Final = Source(
    name="live",
    holds="breaks",
    columns=Columns(**{name: name for name in COLUMNS}),
    time=Time(),
    unknown_causes="keep",
)
"""How objects are read: time in ISO 8601 with its offset, or with a zone beside it; cop as a share of the doff."""

Heard = dict[str, set[int]]

_KNOWN: Final = frozenset({*KEYS, REASON})
_PLAIN: Final = frozenset({str, int, float, type(None)})
_MANY: Final = 1 << 62
_BATCH: Final = 100_000


class JsonRows:
    """Objects of live intake as rows of a take-in, from a file or from memory."""

    def __init__(self, path: Path, held: list[bytes] | None = None) -> None:
        self.path = path
        text = path.read_bytes() if held is None else b"\n".join(held)
        self.size = self.done = len(text)
        self.sha256 = hashlib.sha256(text).hexdigest()
        self._lines = text.split(b"\n")

    def blocks(self) -> Iterator[Block]:
        """Give the rows block by block."""
        for at in range(0, len(self._lines), _BATCH):
            yield cut_json(self._lines[at : at + _BATCH], at + 1)

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


def cut_json(lines: list[bytes], first: int = 1) -> Block:
    """Cut lines into cells of the columns of ``LIVE``; blank lines are no records."""
    return cut_and_heard(lines, first)[0]


def cut_and_heard(lines: list[bytes], first: int = 1) -> tuple[Block, Heard]:
    """Cut lines as ``cut_json`` does, and give the sequence numbers heard of each gateway.

    A line is heard also if it is set aside for what it says.
    """
    numbers: list[int] = []
    rows: list[list[Any]] = []
    set_aside: list[SetAside] = []
    heard: Heard = {}
    for number, line in enumerate(lines, start=first):
        if not line or line.isspace():
            continue
        row, reason = _row(line, heard)
        if reason:
            set_aside.append(SetAside(number, reason))
        else:
            numbers.append(number)
            rows.append(row)
    columns = zip(*rows, strict=True) if rows else ([] for _ in COLUMNS)
    cells = {name: _texts(column) for name, column in zip(COLUMNS, columns, strict=True)}
    held: npt.NDArray[np.int64] = np.array(numbers, np.int64)
    return Block(held, cells, set_aside), heard


def _texts(column: Iterable[Any]) -> pa.StringArray:
    """Turn texts, numbers and nulls into texts."""
    texts = [value if type(value) is str else "" if value is None else str(value) for value in column]
    return trimmed(pa.array(texts, pa.string()))


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
    if not (held.keys() <= _KNOWN and _PLAIN.issuperset(map(type, held.values())) and b"\\u0000" not in line):
        return [], _amiss(held)
    if sequence is not None and not (type(sequence) is int and 0 <= sequence < _MANY):
        return [], "the sequence is not a whole number from 0 up"
    cells = [held.get(name) for name in COLUMNS]
    if cells[-1] is None and gateway is not None and sequence is not None:
        cells[-1] = f"{gateway}/{sequence}"
    return cells, ""


def _amiss(held: dict[str, Any]) -> str:
    """Tell what is wrong with an object's shape."""
    unknown = [key for key in held if key not in _KNOWN]
    if unknown:
        return f"the key {unknown[0][:40]!a} is not known; known: {', '.join(KEYS)}"
    bad = [key for key, value in held.items() if type(value) not in _PLAIN]
    if bad:
        return f"the value of {bad[0]} is neither a text nor a number"
    return "a text holds a zero byte"
