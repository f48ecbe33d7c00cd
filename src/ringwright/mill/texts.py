"""The TOML files of a mill: found, decoded and parsed, with every fault on the way told as a sentence."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ringwright.mill.lines import Lines
from ringwright.refusal import Fault, Refusal, nearest

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Text", "text_from", "texts_of"]


@dataclass(frozen=True, slots=True)
class Text:
    """One file as read: its name, its tables, and where each key stands."""

    name: str
    tables: dict[str, Any]
    lines: Lines

    def where(self, path: tuple[str, ...]) -> str:
        """Name a place: file, line and dotted key."""
        line = self.lines.of_key(path)
        parts = [self.name, f"line {line}" if line else "", ".".join(path)]
        return ", ".join(part for part in parts if part)


def texts_of(path: Path) -> tuple[list[Text], list[Fault]]:
    """Read the file, or every .toml file of the folder; Refusal if there is nothing to read at all."""
    texts: list[Text] = []
    faults: list[Fault] = []
    for file in _files(path):
        try:
            texts.append(_read(file))
        except Refusal as refusal:
            faults += refusal.faults
    return texts, faults


def _files(path: Path) -> list[Path]:
    """List the files to read."""
    if path.is_file():
        return [path]
    if not path.is_dir():
        beside = [p.name for p in path.parent.iterdir() if not p.name.startswith(".")] if path.parent.is_dir() else []
        mend = nearest(path.name, beside) if beside else ""
        mend = (
            mend if mend.startswith("Did you mean") else "Look at the spelling, or start a mill with: ringwright init"
        )
        raise Refusal(
            Fault(where=str(path), got="not there", wants="a folder of .toml files or one such file", mend=mend)
        )
    files = sorted(p for p in path.glob("*.toml") if p.is_file() and not p.name.startswith("."))
    if not files:
        mend = "Start a mill with: ringwright init"
        raise Refusal(
            Fault(where=str(path), got="a folder without .toml files", wants="the folder of a mill", mend=mend)
        )
    return files


def _read(file: Path) -> Text:
    """Read one file."""
    try:
        content = file.read_bytes()
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        raise Refusal(
            Fault(where=file.name, got=f"not readable ({reason})", wants="a file that you may read")
        ) from None
    return text_from(file.name, content)


def text_from(name: str, content: bytes) -> Text:
    """Decode and parse the content of one file; Refusal if it is not UTF-8 or not TOML."""
    try:
        text = content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        mend = "Save the file as UTF-8."
        raise Refusal(
            Fault(where=name, got=f"not UTF-8 text (byte {error.start + 1})", wants="UTF-8 text", mend=mend)
        ) from None
    lines = Lines.of(text)
    try:
        return Text(name, tomllib.loads(text), lines)
    except tomllib.TOMLDecodeError as error:
        raise Refusal(_toml_faults(name, str(error), lines)) from None


def _toml_faults(name: str, message: str, lines: Lines) -> list[Fault]:
    """Tell keys written twice by their lines; tell any other fault of the TOML as the parser does, with the line."""
    twice = lines.twice()
    if twice:
        return [
            Fault(
                where=f"{name}, line {at[1]}, {'.'.join(path)}",
                got=f"written again (first in line {at[0]})",
                wants="written once",
                mend="Keep one of them.",
            )
            for path, at in twice
        ]
    place = re.search(r"\s*\(at line (\d+), column \d+\)", message)
    where = f"{name}, line {place[1]}" if place else name
    reason = (message.replace(place[0], "") if place else message).rstrip(".")
    reason = reason[:1].lower() + reason[1:]
    mend = "Texts and values with a unit stand in quotation marks."
    return [Fault(where=where, got=f"not TOML ({reason})", wants="TOML", mend=mend)]
