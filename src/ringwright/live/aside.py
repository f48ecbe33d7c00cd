"""Live lines that were set aside, as a file to mend: one JSON object a line, with its number and the reason."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import orjson

from ringwright.events.json_rows import NUMBER, REASON
from ringwright.live.inbox import Aside

__all__ = ["number_of", "to_mend"]


def to_mend(asides: Iterable[Aside]) -> bytes:
    """Write lines set aside as NDJSON; what is no object stands as a text, to be written anew as one."""
    return b"".join(
        orjson.dumps({NUMBER: one.number, REASON: one.reason} | _object(one.raw), option=orjson.OPT_APPEND_NEWLINE)
        for one in asides
    )


def _object(raw: bytes) -> dict[str, Any]:
    try:
        held = orjson.loads(raw)
    except orjson.JSONDecodeError:
        held = None
    if not isinstance(held, dict):
        return {"text": raw.decode("utf-8", errors="replace")}
    return {key: value for key, value in held.items() if key not in {NUMBER, REASON}}


def number_of(line: bytes) -> int | None:
    """Read the number of a line set aside; None where it has none."""
    try:
        held = orjson.loads(line)
    except orjson.JSONDecodeError:
        return None
    number = held.get(NUMBER) if isinstance(held, dict) else None
    return number if type(number) is int and abs(number) < 1 << 62 else None
