"""The difference between two states of the files, line by line, as a person reads it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Literal

from ringwright.editing.endings import plain_text

__all__ = ["DifferentFile", "DifferentLine", "difference"]

_AROUND = 2


@dataclass(frozen=True, slots=True)
class DifferentLine:
    """One line: as it was, as it becomes, or one beside them that stays; "gap" stands for lines left out."""

    kind: Literal["was", "becomes", "stays", "gap"]
    number: int
    text: str


@dataclass(frozen=True, slots=True)
class DifferentFile:
    """One file that differs, with its lines."""

    name: str
    lines: tuple[DifferentLine, ...]


def difference(before: Mapping[str, bytes], after: Mapping[str, bytes]) -> list[DifferentFile]:
    """List the files that differ, with two lines around each change; lines count in the file that holds them."""
    found = []
    for name in sorted(before.keys() | after.keys()):
        old, new = before.get(name, b""), after.get(name, b"")
        if old != new:
            found.append(DifferentFile(name, tuple(_lines(_readable(old), _readable(new)))))
    return found


def _readable(content: bytes) -> list[str]:
    try:
        return _parted(plain_text(content))
    except UnicodeDecodeError:
        return _parted(content.decode("utf-8", "replace"))


def _parted(text: str) -> list[str]:
    """Part a text at line feeds alone, as TOML does; other signs that part lines stay within theirs."""
    return text.removesuffix("\n").split("\n") if text else []


def _lines(old: list[str], new: list[str]) -> list[DifferentLine]:
    told: list[DifferentLine] = []
    last = 0
    for group in SequenceMatcher(None, old, new, autojunk=False).get_grouped_opcodes(_AROUND):
        if group[0][3] > last:
            told.append(DifferentLine("gap", 0, ""))
        for tag, i1, i2, j1, j2 in group:
            if tag == "equal":
                told += [DifferentLine("stays", j1 + k + 1, line) for k, line in enumerate(new[j1:j2])]
                continue
            told += [DifferentLine("was", i1 + k + 1, line) for k, line in enumerate(old[i1:i2])]
            told += [DifferentLine("becomes", j1 + k + 1, line) for k, line in enumerate(new[j1:j2])]
        last = group[-1][4]
    return told
