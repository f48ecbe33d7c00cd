"""The files of a mill as they are at one moment, with a mark that changes when any of them does."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from types import MappingProxyType
from typing import Any

from tomlkit.exceptions import TOMLKitError

from ringwright.editing.endings import plain_text
from ringwright.editing.leaves import Path, as_written, document_of
from ringwright.mill import Mill, read_mill_files
from ringwright.refusal import Fault, Refusal

__all__ = ["MillFiles"]


@dataclass(frozen=True)
class MillFiles:
    """The contents of a mill's files by name, and where they lie, for a sentence."""

    contents: Mapping[str, bytes]
    where: str

    @cached_property
    def version(self) -> str:
        """The mark of these contents: SHA-256 over names and bytes."""
        mark = hashlib.sha256()
        for name in sorted(self.contents):
            for part in (name.encode("utf-8", "surrogateescape"), self.contents[name]):
                mark.update(len(part).to_bytes(8, "big"))
                mark.update(part)
        return mark.hexdigest()

    @cached_property
    def faults(self) -> tuple[Fault, ...]:
        """Every fault of the mill that these files make; empty if they make one."""
        try:
            self.mill()
        except Refusal as refusal:
            return refusal.faults
        return ()

    def mill(self) -> Mill:
        """Give the mill that these files make; Refusal with every fault."""
        return read_mill_files(self.contents, self.where)

    def written(self, name: str) -> Mapping[Path, str]:
        """Give the values of a file as a person reads them, by path; none of a file that is not TOML."""
        return _written(self.contents[name])

    def data(self, name: str) -> dict[str, Any]:
        """Give the tables of a file; none of a file that is not TOML."""
        return _data(self.contents[name])

    def file_of(self, path: Path) -> str | None:
        """Give the name of the first file that writes the table or key at a path."""
        for name in self.contents:
            table: Any = self.data(name)
            for part in path:
                table = table.get(part) if isinstance(table, dict) else None
            if table is not None:
                return name
        return None

    def names(self, kind: str) -> list[str]:
        """List the names under a heading, over all files, in their order."""
        found: dict[str, None] = {}
        for name in self.contents:
            tables = self.data(name).get(kind)
            if isinstance(tables, dict):
                found |= dict.fromkeys(key for key, table in tables.items() if isinstance(table, dict))
        return list(found)

    def replaced(self, contents: Mapping[str, bytes]) -> MillFiles:
        """Give the files with some of them changed."""
        return MillFiles(MappingProxyType({**self.contents, **contents}), self.where)


@lru_cache(maxsize=128)
def _written(content: bytes) -> Mapping[Path, str]:
    try:
        leaves = document_of(plain_text(content)).leaves
    except (TOMLKitError, UnicodeDecodeError):
        return MappingProxyType({})
    return MappingProxyType({path: as_written(leaf.item) for path, leaf in leaves.items()})


@lru_cache(maxsize=128)
def _data(content: bytes) -> dict[str, Any]:
    try:
        return tomllib.loads(plain_text(content))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError):
        return {}
