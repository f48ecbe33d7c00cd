"""Where a key that is not yet written goes: at the end of its table, or in a new table at the end of its entry."""

from __future__ import annotations

import tomlkit
from tomlkit.items import Item

from ringwright.editing.leaves import Document, Path, item_of

__all__ = ["place"]


def place(document: Document, path: Path, literal: str) -> None:
    """Write a new key into a document; the document must be parsed again before it is changed further."""
    above = path[:-1]
    holder = next((above[:length] for length in range(len(above), 0, -1) if above[:length] in document.inline), None)
    if holder is not None:
        _into_braces(document, holder, path, literal)
    elif above in document.headed or not above:
        own = [leaf.line for at, leaf in document.leaves.items() if at[:-1] == above]
        _after(own[-1] if own else document.headed[above], f"{_dotted(path[-1:])} = {literal}")
    elif (dotted := _dotted_beside(document, above)) is not None:
        heading = _heading_of(document, above)
        _after(dotted, f"{_dotted(path[len(heading) :])} = {literal}")
    else:
        last = _last_of_entry(document, path)
        text = f"[{_dotted(above)}]\n{_dotted(path[-1:])} = {literal}"
        if last is None:
            document.toml.add(tomlkit.ws(f"\n{text}\n"))
        else:
            _after(last, f"\n{text}")


def _into_braces(document: Document, holder: Path, path: Path, literal: str) -> None:
    """Write the key into an inline table, in further braces where it lies deeper."""
    value = item_of(literal)
    *between, key = path[len(holder) :]
    for name in reversed(between):
        inner = tomlkit.inline_table()
        inner[key] = value
        value, key = inner, name
    document.inline[holder][key] = value


def _after(line: Item, text: str) -> None:
    """Put lines of text after the line of an item."""
    trail = line.trivia.trail
    indent = line.trivia.indent.rpartition("\n")[2]
    line.trivia.trail = f"{trail or chr(10)}{indent}{text}{trail}"


def _dotted_beside(document: Document, above: Path) -> Item | None:
    """Find the last line of a table that is written in dotted keys; None if it is not written so."""
    heading = _heading_of(document, above)
    own = [
        leaf.line
        for at, leaf in document.leaves.items()
        if at[: len(above)] == above and _heading_of(document, at[:-1]) == heading
    ]
    return own[-1] if own else None


def _heading_of(document: Document, path: Path) -> Path:
    """Give the path of the nearest heading around a path; () above all headings."""
    return next((path[:length] for length in range(len(path), 0, -1) if path[:length] in document.headed), ())


def _last_of_entry(document: Document, path: Path) -> Item | None:
    """Find the last line of the entry that a path belongs to, else of its kind."""
    for length in (2, 1):
        lines = [leaf.line for at, leaf in document.leaves.items() if at[:length] == path[:length]]
        lines = lines or [table for at, table in document.headed.items() if at[:length] == path[:length]]
        if lines:
            return lines[-1]
    return None


def _dotted(path: Path) -> str:
    """Write a path as TOML does, in quotation marks where needed."""
    return ".".join(tomlkit.key(part).as_string() for part in path)
