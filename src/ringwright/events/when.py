"""Read when something was done, as a person says it."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

from ringwright.refusal import Fault, Refusal

__all__ = ["read_when"]

_WANTS = 'a day or moment that has passed, as "2026-04-01", or with its zone "2026-04-01 06:40+02:00"'


def read_when(text: str, where: str) -> int:
    """Read a day (its noon, UTC) or a moment with its zone as µs UTC; Refusal, naming ``where``, for anything else."""
    given, now = text.strip(), datetime.now(UTC)
    fault = Fault(where=where, got=f'"{given}"' if given else "empty", wants=_WANTS)
    try:
        if len(given) == len("2026-04-01"):
            day = date.fromisoformat(given)
            read = min(datetime.combine(day, time(12), UTC), now) if day <= now.date() else None
        else:
            read = datetime.fromisoformat(given)
    except ValueError:
        raise Refusal(fault) from None
    if read is None or read.tzinfo is None or read > now:
        raise Refusal(fault)
    return round(read.timestamp()) * 1_000_000
