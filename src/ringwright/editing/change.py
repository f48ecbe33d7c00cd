"""Change values in the text of a mill file; everything else stays byte for byte."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from tomlkit.exceptions import TOMLKitError

from ringwright.editing.endings import as_before, plain_text
from ringwright.editing.leaves import Document, Path, document_of, item_of
from ringwright.editing.placing import place
from ringwright.refusal import Fault, Refusal

__all__ = ["Change", "changed_content"]


@dataclass(frozen=True, slots=True)
class Change:
    """One change: the path of the key, and what is to stand there as TOML writes it; None takes the key out."""

    path: Path
    literal: str | None


def changed_content(name: str, content: bytes, changes: Iterable[Change]) -> bytes:
    """Give the content of a file with the changes made.

    Line endings and a byte order mark stay as they were. Refusal if the file is written in a way in which a change
    cannot be made without touching something else.
    """
    before = plain_text(content)
    after = before
    for change in changes:
        after = _made(name, after, change)
    return as_before(content, before, after)


def _made(name: str, text: str, change: Change) -> str:
    """Make one change, and hold what the new text says against what it must say."""
    try:
        document = document_of(text)
        if document.toml.as_string() != text:
            raise _by_hand(name, change)
        _make(document, change)
        made: str = document.toml.as_string()
        if tomllib.loads(made) != _expected(tomllib.loads(text), change):
            raise _by_hand(name, change)
    except (TOMLKitError, tomllib.TOMLDecodeError, LookupError, TypeError):
        raise _by_hand(name, change) from None
    return made


def _make(document: Document, change: Change) -> None:
    leaf = document.leaves.get(change.path)
    key = change.path[-1]
    if change.literal is None:
        if leaf is not None:
            leaf.holder.remove(key)
    elif leaf is not None:
        leaf.holder[key] = item_of(change.literal)  # the comment of the line stays
    else:
        place(document, change.path, change.literal)


def _expected(data: dict[str, Any], change: Change) -> dict[str, Any]:
    """Give what the file must say after the change."""
    table: Any = data
    *above, key = change.path
    for part in above:
        if isinstance(table, list):
            table = table[int(part)]
        else:
            table = table.setdefault(part, {}) if change.literal is not None else table.get(part, {})
    if change.literal is None:
        table.pop(key, None)
    else:
        table[key] = tomllib.loads(f"v = {change.literal}")["v"]
    return data


def _by_hand(name: str, change: Change) -> Refusal:
    got = "written in a way that cannot be changed here without touching something else"
    return Refusal(Fault(where=f"{name}, {'.'.join(change.path)}", got=got, wants="changed in the file itself"))
