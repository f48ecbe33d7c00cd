"""Every value of a TOML text where it stands, in the order of the text, with what holds it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import tomlkit
from tomlkit.container import Container
from tomlkit.items import AoT, Array, Bool, InlineTable, Item, Key, Null, String, Table
from tomlkit.toml_document import TOMLDocument

__all__ = ["Document", "Holder", "Leaf", "Path", "as_written", "document_of", "item_of"]

Path = tuple[str, ...]
Holder = Container | Table | InlineTable


@dataclass(frozen=True, slots=True)
class Leaf:
    """One value: its path, the item, what holds it, and the item of the line that it stands on."""

    path: Path
    item: Item
    holder: Holder
    line: Item


@dataclass(slots=True)
class Document:
    """A text parsed, with its values and its tables by path.

    ``headed`` are the tables with a heading of their own, ``inline`` those in braces.
    """

    toml: TOMLDocument
    leaves: dict[Path, Leaf] = field(default_factory=dict)
    headed: dict[Path, Table] = field(default_factory=dict)
    inline: dict[Path, InlineTable] = field(default_factory=dict)
    _lists: Counter[Path] = field(default_factory=Counter)

    def read(self) -> Document:
        """Walk the whole text."""
        self._walk(self.toml, self.toml.body, (), None)
        return self

    def _walk(self, holder: Holder, body: Sequence[tuple[Key | None, Item]], at: Path, line: Item | None) -> None:
        for key, item in body:
            if key is None or isinstance(item, Null):
                continue
            path = (*at, key.key)
            if isinstance(item, AoT):
                for table in item.body:
                    place = (*path, str(self._lists[path]))
                    self._lists[path] += 1
                    self._table(table, place)
            elif isinstance(item, Table):
                self._table(item, path)
            else:
                self._value(path, item, holder, line or item)

    def _table(self, table: Table, path: Path) -> None:
        if not table.is_super_table():
            self.headed.setdefault(path, table)
        self._walk(table, table.value.body, path, None)

    def _value(self, path: Path, item: Item, holder: Holder, line: Item) -> None:
        if isinstance(item, InlineTable):
            self.inline[path] = item
            self._walk(item, item.value.body, path, line)
            return
        self.leaves[path] = Leaf(path, item, holder, line)
        if isinstance(item, Array):
            for place, one in enumerate(_members(item)):
                if isinstance(one, InlineTable):
                    self._value((*path, str(place)), one, holder, line)


def _members(array: Array) -> Iterator[Item]:
    yield from (one for one in list.__iter__(array) if isinstance(one, Item))


def document_of(text: str) -> Document:
    """Parse a text; raises what tomlkit raises for one that is not TOML."""
    return Document(tomlkit.parse(text)).read()


def item_of(literal: str) -> Item:
    """Read one value as TOML writes it, without a comment of its own."""
    item = tomlkit.parse(f"v = {literal}").item("v")
    assert isinstance(item, Item)  # noqa: S101 - a single key is never out of order
    item.trivia.comment = item.trivia.comment_ws = ""
    return item


def as_written(item: Item) -> str:
    """Give a value as a person reads it in the file: a text without its quotation marks, all else as it stands."""
    if isinstance(item, String):
        return str(item)
    if isinstance(item, Bool):
        return "true" if item else "false"
    return item.as_string()
