"""Add and remove whole entries of a mill (a frame, a yarn, a setting ...); all other text stays byte for byte."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from typing import Any

import tomlkit

from ringwright.editing.change import Change, changed_content
from ringwright.editing.endings import as_before, plain_text
from ringwright.editing.files import MillFiles
from ringwright.editing.leaves import Path
from ringwright.refusal import Fault, Refusal, nearest

__all__ = ["NAME", "copied", "removed"]

NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.+-]{0,39}", re.ASCII)
"""Names that a new entry may have; files may hold others."""
_HEADER = re.compile(r"\s*\[.*\]\s*(#.*)?")
_BRACKETS = re.compile(r"(\[\[?).*?(\]\]?)(?=\s*(#|$))")


def copied(files: MillFiles, kind: str, name: str, new: str) -> MillFiles:
    """Give the files with an entry written once more under a new name, right behind the old one and with its comments.

    A setting names its frame and its yarn in its own name; both are changed in the copy. Raises Refusal for an entry
    that is not there, a name that is taken or cannot be used, or a file written so that it cannot be done here.
    """
    file = _file_of(files, kind, name)
    where = f"the name of the new {kind}"
    if not NAME.fullmatch(new):
        wants = "up to 40 letters, digits and -_.+, the first a letter or digit"
        raise Refusal(Fault(where=where, got=f'"{new}"', wants=wants))
    if new in files.names(kind):
        raise Refusal(Fault(where=where, got=f'"{new}"', wants="a name that is not taken"))
    text = plain_text(files.contents[file])
    spans, lines = _spans(text, (kind, name)), _lines(text)
    twin = [_renamed(line, (kind, name), (kind, new)) for start, end in spans for line in lines[start:end]]
    at = spans[-1][1] if spans else 0
    before = lines[:at]
    if before and not before[-1].endswith("\n"):
        before[-1] += "\n"
    gap = [] if before and not before[-1].strip() else ["\n"]
    tail = [] if twin and not twin[-1].strip() else ["\n"]
    made = "".join([*before, *gap, *twin, *(tail if lines[at:] else []), *lines[at:]])

    def expected(data: dict[str, Any]) -> None:
        data[kind][new] = tomllib.loads(text)[kind][name]

    content = _held(file, files.contents[file], made, expected, f"{kind}.{name}")
    if kind == "setting":
        content = changed_content(file, content, _pair(files, new))
    return files.replaced({file: content})


def removed(files: MillFiles, kind: str, name: str) -> MillFiles:
    """Give the files without an entry; Refusal as for ``copied``. Whether the mill can do without it is told by it."""
    file = _file_of(files, kind, name)
    text = plain_text(files.contents[file])
    lines, gone = _lines(text), set[int]()
    for start, end in _spans(text, (kind, name)):
        gone |= set(range(start, end))
    made = "".join(line for k, line in enumerate(lines) if k not in gone)

    def expected(data: dict[str, Any]) -> None:
        del data[kind][name]
        if not data[kind]:
            del data[kind]

    return files.replaced({file: _held(file, files.contents[file], made, expected, f"{kind}.{name}")})


def _file_of(files: MillFiles, kind: str, name: str) -> str:
    file = files.file_of((kind, name))
    if file is None:
        known = files.names(kind)
        wants = f"one of {', '.join(known)}" if known else "an entry of the files"
        raise Refusal(Fault(where=f"the {kind}", got=f'"{name}"', wants=wants, mend=nearest(name, known)))
    return file


def _pair(files: MillFiles, new: str) -> list[Change]:
    """Give the changes that make a copied setting one of the frame and yarn that its name says."""
    for frame in files.names("frame"):
        yarn = new.removeprefix(f"{frame}-")
        if yarn != new and yarn in files.names("yarn"):
            return [Change(("setting", new, key), f'"{word}"') for key, word in (("frame", frame), ("yarn", yarn))]
    wants = "the name of a frame and of a yarn of the mill, with - between them, as F1-AV30K"
    raise Refusal(Fault(where="the name of the new setting", got=f'"{new}"', wants=wants))


def _path(line: str) -> Path:
    """Give the path that the header of a table writes; () for any other line."""
    if not _HEADER.fullmatch(line.rstrip("\r\n")):
        return ()
    try:
        table: Any = tomllib.loads(line)
    except tomllib.TOMLDecodeError:
        return ()
    path = []
    while isinstance(table, dict) and len(table) == 1:
        ((part, table),) = table.items()
        path.append(part)
        table = table[0] if isinstance(table, list) and table else table  # [[...]], one of several
    return tuple(path)


def _spans(text: str, entry: Path) -> list[tuple[int, int]]:
    """Find the lines of an entry: from each of its headers, with the comments right above, to the next header's."""
    lines = _lines(text)
    headers = [(k, path) for k, line in enumerate(lines) if (path := _path(line))]
    starts = [_above(lines, k) for k, _ in headers] + [len(lines)]
    return [(starts[k], starts[k + 1]) for k, (_, path) in enumerate(headers) if path[:2] == entry]


def _lines(text: str) -> list[str]:
    """Part a text at line feeds alone, as TOML does; a comment may hold other signs that part lines."""
    return re.findall(r"[^\n]*\n|[^\n]+", text)


def _above(lines: list[str], at: int) -> int:
    """Give the first line of the comments that stand right above a line."""
    while at and lines[at - 1].lstrip().startswith("#"):
        at -= 1
    return at


def _renamed(line: str, old: Path, new: Path) -> str:
    path = _path(line)
    if path[:2] != old:
        return line
    dotted = ".".join(tomlkit.key(part).as_string() for part in (*new, *path[2:]))
    return _BRACKETS.sub(lambda found: f"{found[1]}{dotted}{found[2]}", line, count=1)


def _held(file: str, content: bytes, made: str, expect: Callable[[dict[str, Any]], None], key: str) -> bytes:
    """Hold what the new text says against what it must say, and give it with the old text's line ends."""
    text = plain_text(content)
    try:
        expected = tomllib.loads(text)
        expect(expected)
        if tomllib.loads(made) == expected:
            return as_before(content, text, made)
    except (tomllib.TOMLDecodeError, LookupError, TypeError):
        pass
    got = "written in a way that cannot be copied or removed here without touching something else"
    raise Refusal(Fault(where=f"{file}, {key}", got=got, wants="changed in the file itself"))
