"""Where each key of a TOML text stands, so that a fault can name its line."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

__all__ = ["Lines"]

Path = tuple[str, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*(.+?)\s*\]\]?\s*(?:#.*)?$")
_BARE = r"[A-Za-z0-9_-]+"
_PART = re.compile(rf"\s*(?:({_BARE})|\"((?:[^\"\\]|\\.)*)\"|'([^']*)')\s*")
_ASSIGNMENT = re.compile(rf"^((?:\s*(?:{_BARE}|\"(?:[^\"\\]|\\.)*\"|'[^']*')\s*\.?)+)=")
_FENCES = ('"""', "'''")


@dataclass(slots=True)
class Lines:
    """Line numbers by path of keys; a table in a list has its place as a key ("0", "1", ...)."""

    numbers: dict[Path, list[int]] = field(default_factory=dict)
    _lists: dict[Path, int] = field(default_factory=dict)
    _own: set[Path] = field(default_factory=set)
    _first: dict[str, int] = field(default_factory=dict)

    @classmethod
    def of(cls, text: str) -> Lines:
        """Read the lines of a TOML text; a text that is not TOML gives what can be found in it."""
        found = cls()
        table: Path = ()
        fence = ""
        for number, line in enumerate(text.splitlines(), start=1):
            if fence:
                fence = "" if fence in line else fence
                continue
            header = _HEADER.match(line)
            if header and "=" not in re.sub(r"\"[^\"]*\"|'[^']*'", "", line.split("#", 1)[0]):
                table = found._heading(header[1], _keys(header[2]), number)
                continue
            assignment = _ASSIGNMENT.match(line)
            if assignment:
                found._note(table + _keys(assignment[1]), number)
            fence = next((mark for mark in _FENCES if line.count(mark) % 2), "")
        return found

    def of_key(self, path: Path) -> int | None:
        """Give the line of a key, else that of the nearest table or value around it."""
        parts = ".".join(path).split(".")
        for length in range(len(parts), 0, -1):
            key = ".".join(parts[:length])
            if key in self._first:
                return self._first[key]
        return None

    def twice(self) -> list[tuple[Path, list[int]]]:
        """List the keys and tables that are written more than once, with their lines."""
        return [(path, lines) for path, lines in self.numbers.items() if len(lines) > 1]

    def _heading(self, brackets: str, keys: Path, number: int) -> Path:
        """Note a table's heading and give the path of what follows."""
        path = self._placed(keys[:-1]) + keys[-1:]
        if brackets == "[[":
            place = self._lists.get(path, -1) + 1
            self._lists[path] = place
            self.numbers.setdefault(path, [number])
            path = (*path, str(place))
        else:
            path = self._placed(path)
        self._note(path, number)
        return path

    def _placed(self, path: Path) -> Path:
        """Put the place of the latest table of a list after the list's key."""
        placed: Path = ()
        for key in path:
            placed = (*placed, key)
            if placed in self._lists:
                placed = (*placed, str(self._lists[placed]))
        return placed

    def _note(self, path: Path, number: int) -> None:
        """Note a line of a path; the tables around it begin there if they have no heading of their own."""
        self.numbers.setdefault(path, []).append(number)
        if path not in self._own:
            self._own.add(path)
            self._first[".".join(path)] = number
        for length in range(1, len(path)):
            self._first.setdefault(".".join(path[:length]), number)


def _keys(dotted: str) -> Path:
    """Split a dotted key as TOML writes it."""
    return tuple(next(part for part in match.groups() if part is not None) for match in _PART.finditer(dotted))
