"""Where a value of the mill comes from."""

from __future__ import annotations

from typing import Any

from ringwright.mill.field import stated
from ringwright.mill.limit import Limit

__all__ = ["origin_of"]


def origin_of(entry: Any, key: str) -> tuple[str, str]:  # noqa: ANN401 - any table of the mill
    """Give the word (measured, assumed, common practice) and the note of the value at a dotted key.

    The entry's own origins come first, the nearest enclosing key of them; a key that was written counts as measured;
    a default has its own origin; a limit has that of its source. KeyError if there is no such key.
    """
    parts = key.split(".")
    _check(entry, parts)
    if isinstance(entry, Limit):
        return entry.origin
    origins: dict[str, str] = getattr(entry, "origins", {})
    for length in range(len(parts), 0, -1):
        text = origins.get(".".join(parts[:length]))
        if text is not None:
            word, _, note = text.partition(",")
            return word.strip(), note.strip()
    table = entry
    for name in parts:
        if name not in table.model_fields_set and not _holds_table(table, name):
            field = stated(type(table), name)
            return field.origin or "assumed", field.note
        table = getattr(table, name)
    return "measured", ""


def _holds_table(table: Any, name: str) -> bool:  # noqa: ANN401
    """Tell whether the value is itself a table, whose own fields know their origin."""
    return hasattr(getattr(table, name), "model_fields_set")


def _check(entry: Any, parts: list[str]) -> None:  # noqa: ANN401
    """Refuse a key that the entry does not have."""
    table = entry
    for name in parts:
        if name not in getattr(type(table), "model_fields", {}):
            raise KeyError(".".join(parts))
        table = getattr(table, name)
