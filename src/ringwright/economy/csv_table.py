"""Read a small table that a person keeps in a spreadsheet: columns by name, the unit in heading or cell."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from ringwright.refusal import Fault, Refusal, nearest
from ringwright.units import parse

__all__ = ["Asked", "Csv", "Line", "csv_of", "read_table", "text_of"]


@dataclass(frozen=True, slots=True)
class Asked:
    """A column that a table may have: its quantity ("" for words), whether it must be there, and what it may hold."""

    quantity: str = ""
    needed: bool = True
    words: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    range: str = ""
    """The range in words, with units."""


@dataclass(slots=True)
class Line:
    """One line of the table: where it stands, its SI numbers and its words by column."""

    where: str
    numbers: dict[str, float] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Csv:
    """The text of a CSV file, and the name by which its faults are told."""

    text: str
    name: str


def csv_of(given: str | Csv) -> Csv:
    """Read a CSV file from its path, or take its text as it is; Refusal if it cannot be read."""
    return given if isinstance(given, Csv) else Csv(text_of(given), given)


def text_of(path: str, wants: str = "a CSV file that can be read") -> str:
    """Read a file as UTF-8 text; Refusal if that cannot be done."""
    try:
        return Path(path).read_bytes().decode("utf-8-sig")
    except OSError as error:
        got = (error.strerror or "not readable").lower()
        raise Refusal(Fault(where=path, got=got, wants=wants, mend="Check the path.")) from None
    except UnicodeDecodeError:
        raise Refusal(Fault(where=path, got="not UTF-8 text", wants="text in UTF-8")) from None


def read_table(
    text: str, name: str, asked: Mapping[str, Asked], judge: Callable[[Line], list[Fault]] | None = None
) -> list[Line]:
    """Read CSV with a heading; Refusal with every fault of every line, those that ``judge`` finds among them.

    A heading is a column's name, perhaps with its unit after a comma or in brackets: "tension, cN"; a cell may have
    its own unit. Commas or semicolons part the cells. An empty cell of a column that need not be there is left out.
    """
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    numbers = [i for i, line in enumerate(text.splitlines(), 1) if line.strip() and not line.lstrip().startswith("#")]
    if len(lines) < 2:
        wants = f"a heading with {', '.join(asked)} and at least one line of values"
        raise Refusal(Fault(where=name, got="empty" if not lines else "a heading alone", wants=wants))
    mark = ";" if lines[0].count(";") > lines[0].count(",") and ";" in lines[0] else ","
    rows = list(csv.reader(io.StringIO("\n".join(lines)), delimiter=mark, skipinitialspace=True))
    columns, faults = _heading(rows[0], name, asked)
    read = [
        _line(row, f"{name}, line {at}", columns, asked, faults) for at, row in zip(numbers[1:], rows[1:], strict=False)
    ]
    faults += [fault for line in read for fault in (judge(line) if judge else [])]
    if faults:
        raise Refusal(faults)
    return read


_HEADING = re.compile(r"^\s*([^,(\[]+?)\s*(?:[,(\[]\s*([^)\]]+?)\s*[)\]]?)?\s*$")


def _heading(cells: Sequence[str], name: str, asked: Mapping[str, Asked]) -> tuple[list[tuple[str, str]], list[Fault]]:
    columns, faults = [], []
    for cell in cells:
        found = _HEADING.match(cell)
        word, unit = (found[1].lower(), found[2] or "") if found else (cell, "")
        if word not in asked:
            wants = f"one of {', '.join(asked)}"
            faults.append(Fault(where=f"{name}, the heading", got=f'"{cell}"', wants=wants, mend=nearest(word, asked)))
        columns.append((word, unit))
    there = [word for word, _ in columns]
    faults += [
        Fault(where=f"{name}, the heading", got=f"without a column {word}", wants=f"a heading with {word}")
        for word, one in asked.items()
        if one.needed and word not in there
    ]
    if len(there) != len(set(there)):
        faults.append(Fault(where=f"{name}, the heading", got="a column twice", wants="each column once"))
    if faults:
        raise Refusal(faults)
    return columns, faults


def _line(
    row: Sequence[str], where: str, columns: Sequence[tuple[str, str]], asked: Mapping[str, Asked], faults: list[Fault]
) -> Line:
    line = Line(where)
    if len(row) != len(columns):
        faults.append(Fault(where=where, got=f"{len(row)} cells", wants=f"{len(columns)} cells, as the heading has",
                            mend="A heading with a comma in it stands in quotation marks."))  # fmt: skip
        return line
    for cell, (word, unit) in zip(row, columns, strict=True):
        one, at = asked[word], f"{where}, {word}"
        if not cell.strip():
            if one.needed:
                faults.append(Fault(where=at, got="empty", wants="filled in"))
        elif not one.quantity:
            _word(cell.strip().lower(), at, word, one, line, faults)
        else:
            _number(cell.strip(), unit, (at, word), one, line, faults)
    return line


def _word(cell: str, at: str, word: str, one: Asked, line: Line, faults: list[Fault]) -> None:
    if one.words and cell not in one.words:
        faults.append(Fault(where=at, got=f'"{cell}"', wants=f"one of {', '.join(one.words)}"))
    line.words[word] = cell


def _number(cell: str, unit: str, at: tuple[str, str], one: Asked, line: Line, faults: list[Fault]) -> None:
    where, word = at
    bare = re.fullmatch(r"[-+\d.,eE\s]+", cell) is not None
    try:
        value = parse(f"{cell} {unit}" if bare and unit else cell, one.quantity, where)
    except Refusal as refusal:
        faults.extend(refusal.faults)
        return
    if (one.low is not None and value < one.low) or (one.high is not None and value > one.high):
        faults.append(Fault(where=where, got=f'"{cell}"', wants=one.range))
    line.numbers[word] = value
