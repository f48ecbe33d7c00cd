"""Read the text of a round of readings: good rows are understood, each bad one is set aside with its reason."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from ringwright.refusal import Fault, Refusal, nearest
from ringwright.units import parse
from ringwright.units.reading import units_as_written

__all__ = ["AsideLine", "Column", "RoundRow", "RoundTable", "read_round_table"]

UNIT: Final = "unit"
"""The column that may state a row's unit."""

LONGEST: Final = 400
MOST_LINES: Final = 200_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column that a round may have: its quantity ("" for words), and what it may hold, with the range in words.

    ``whole`` columns hold whole numbers without a unit. Limits are SI and belong to the range.
    """

    quantity: str = ""
    whole: bool = False
    needed: bool = True
    words: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    range: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AsideLine:
    """A line of a round that could not be used: its number in the text, the line itself, and why, in a sentence."""

    line: int
    text: str
    reason: str


@dataclass(slots=True, kw_only=True)
class RoundRow:
    """A row that was understood: its line, its text, SI numbers and words by column, and the units it was read in."""

    line: int
    text: str
    numbers: dict[str, float] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundTable:
    """The rows understood, those set aside, and what is odd about the whole though nothing is wrong with a row."""

    name: str
    rows: tuple[RoundRow, ...]
    set_aside: tuple[AsideLine, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Heading:
    """The heading: columns in order with their unit ("" for none), the sign between cells, and where it stands."""

    columns: tuple[tuple[str, str], ...]
    mark: str
    line: int


def read_round_table(text: str, name: str, columns: Mapping[str, Column]) -> RoundTable:
    """Read the text of a round: a heading, then a row for each reading; lines that begin with # are remarks.

    A heading is the columns' names, each perhaps with its unit in brackets, "dx (mm)"; else each cell has its unit, or
    a column ``unit`` gives the row's. Commas, semicolons or tabs part the cells. Refusal if the heading cannot be used
    or there is no row; a row that cannot be used is set aside.
    """
    lines = [(at, line) for at, line in enumerate(text.splitlines(), 1) if line.strip() and line.lstrip()[0] != "#"]
    if len(lines) < 2 or len(lines) > MOST_LINES:
        got = {0: "empty", 1: "a heading alone"}.get(len(lines), f"of {len(lines)} lines")
        wants = f"a heading with {', '.join(columns)} and from 1 to {MOST_LINES} rows"
        raise Refusal(Fault(where=name, got=got, wants=wants))
    heading = _heading(*lines[0], name, columns)
    rows, set_aside = [], []
    for at, line in lines[1:]:
        row = RoundRow(line=at, text=line)
        faults = _fill(row, name, heading, columns)
        if faults:
            set_aside.append(AsideLine(line=at, text=line, reason=" ".join(str(fault) for fault in faults)))
        else:
            rows.append(row)
    return RoundTable(name=name, rows=tuple(rows), set_aside=tuple(set_aside), notes=_mixed(rows, name))


_HEAD: Final = re.compile(r"^\s*(.+?)\s*(?:[(\[]\s*([^)\]]+?)\s*[)\]]|,\s*([^,]+?))?\s*$")


def _heading(at: int, line: str, name: str, asked: Mapping[str, Column]) -> _Heading:
    mark = max(";\t,", key=line.count) if any(sign in line for sign in ";\t,") else ","
    if ";" in line:  # a comma may then part a name from its unit
        mark = ";"
    columns, faults, where = [], [], f"{name}, line {at} (the heading)"
    for cell in _cells(line, mark):
        found = _HEAD.match(cell)
        word, unit = (found[1].lower(), found[2] or found[3] or "") if found else (cell.strip().lower(), "")
        if word not in {*asked, UNIT}:
            wants = f"a heading with {', '.join(asked)}"
            faults.append(Fault(where=where, got=f'with "{cell.strip()[:40]}"', wants=wants, mend=nearest(word, asked)))
        elif unit and asked[word].quantity:
            faults += _unit_faults(unit, asked[word].quantity, f"{where}, {word}")
        columns.append((word, unit))
    there = [word for word, _ in columns]
    faults += [
        Fault(where=where, got=f"without a column {word}", wants=f"a heading with {word}")
        for word, one in asked.items()
        if one.needed and word not in there
    ]
    if len(there) != len(set(there)):
        faults.append(Fault(where=where, got="with a column twice", wants="a heading with each column once"))
    if faults:
        raise Refusal(faults)
    return _Heading(tuple(columns), mark, at)


def _unit_faults(unit: str, quantity: str, where: str) -> list[Fault]:
    try:
        parse(f"1 {unit}", quantity, where)
    except Refusal as refusal:
        return [Fault(where=f.where, got=f'in "{unit}"', wants=f"in {units_as_written(quantity)}", mend=f.mend)
                for f in refusal.faults]  # fmt: skip
    return []


def _cells(line: str, mark: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=mark, skipinitialspace=True, strict=True))
    except (csv.Error, StopIteration):
        return [line]


def _fill(row: RoundRow, name: str, heading: _Heading, asked: Mapping[str, Column]) -> list[Fault]:
    """Read the cells of a row into it; gives the faults."""
    where = f"{name}, line {row.line}"
    if len(row.text) > LONGEST:
        return [Fault(where=where, got=f"{len(row.text)} signs long", wants=f"at most {LONGEST} signs long")]
    cells = _cells(row.text, heading.mark)
    if len(cells) != len(heading.columns):
        named = ", ".join(word for word, _ in heading.columns)
        wants = f"a row of {len(heading.columns)} cells ({named})"
        mend = "Commas part the cells here, so write decimals with a point." if heading.mark == "," else ""
        return [Fault(where=where, got=f"a row of {len(cells)}", wants=wants, mend=mend)]
    given = {word: cell.strip() for (word, _), cell in zip(heading.columns, cells, strict=True)}
    own = given.pop(UNIT, "")
    faults: list[Fault] = []
    for word, unit in heading.columns:
        if word == UNIT:
            continue
        at, one = f"{where}, {word}", asked[word]
        if not given[word]:
            if one.needed:
                faults.append(Fault(where=at, got="empty", wants=f"filled in{_of(one)}"))
        elif one.whole or one.quantity:
            faults += _number(row, word, given[word], one, (at, unit, own, heading.mark))
        else:
            faults += _word(row, word, given[word], one, at)
    return faults + (_two_units(row, where, asked) if not faults else [])


def _of(one: Column) -> str:
    return f", {one.range}" if one.range else ""


def _word(row: RoundRow, word: str, cell: str, one: Column, at: str) -> list[Fault]:
    known = {text.lower(): text for text in one.words}
    if one.words and cell.lower() not in known:
        wants = f"one of {', '.join(one.words)}"
        return [Fault(where=at, got=f'"{cell[:40]}"', wants=wants, mend=nearest(cell, one.words))]
    row.words[word] = known.get(cell.lower(), cell)
    return []


def _number(row: RoundRow, word: str, cell: str, one: Column, place: tuple[str, str, str, str]) -> list[Fault]:
    at, head, own, mark = place
    wants = one.range or ("a whole number" if one.whole else "a number")
    if one.whole:
        if not re.fullmatch(r"\+?\d{1,9}(\.0+)?", cell):
            return [Fault(where=at, got=f'"{cell[:40]}"', wants=wants)]
        value, unit = float(cell), ""
    else:
        text, unit, faults = _with_unit(cell, one, (at, head, own, mark))
        if faults:
            return faults
        try:
            value = parse(text, one.quantity, at)
        except Refusal as refusal:
            return list(refusal.faults)
    if (one.low is not None and value < one.low) or (one.high is not None and value > one.high):
        return [Fault(where=at, got=f'"{cell[:40]}"' + (f" in {unit}" if unit and unit not in cell else ""),
                      wants=wants, mend="Check the number and its unit." if one.quantity else "")]  # fmt: skip
    row.numbers[word] = value
    row.units[word] = unit
    return []


_BARE: Final = re.compile(r"[+\-\u2212]?[\d.,\s]+(?:[eE][+-]?\d+)?")
_FIGURE: Final = re.compile(r"^[+\-\u2212]?[\d.,]*\d")


def _with_unit(cell: str, one: Column, place: tuple[str, str, str, str]) -> tuple[str, str, list[Fault]]:
    """Give a cell with its unit, the unit alone, and what is wrong with either."""
    at, head, own, mark = place
    figure = _FIGURE.match(cell)
    if figure and "," in figure[0] and mark != ",":
        plain = _decimal_comma(figure[0])
        if plain is None:
            ways = figure[0].replace(",", ""), figure[0].replace(",", ".")
            wants = f"written so that it reads one way, as {ways[0]} or {ways[1]}"
            return "", "", [Fault(where=at, got=f'"{cell[:40]}"', wants=wants)]
        cell = plain + cell[figure.end():]
    if _BARE.fullmatch(cell):
        unit = own or head
        if own and head and not _same(own, head, one.quantity):
            return "", "", [_mixed_fault(at, f'in "{own}"', head)]
        return f"{cell} {unit}".strip(), unit, []
    unit = cell[_FIGURE.match(cell).end():].strip() if _FIGURE.match(cell) else ""  # type: ignore[union-attr]
    for stated in (head, own):
        if stated and unit and not _same(unit, stated, one.quantity):
            return "", "", [_mixed_fault(at, f'"{cell[:40]}"', stated)]
    return cell, unit, []


def _mixed_fault(at: str, got: str, head: str) -> Fault:
    mend = "Write the number in that unit, or take the unit out of the heading and give each row its own."
    return Fault(where=at, got=got, wants=f"in {head}, as is stated for it", mend=mend)


def _same(one: str, other: str, quantity: str) -> bool:
    """Say whether two words name the same unit; a word that names none is told when the number is read."""
    try:
        return parse(f"1 {one}", quantity, "") == parse(f"1 {other}", quantity, "")
    except Refusal:
        return True


def _decimal_comma(figure: str) -> str | None:
    """Read a figure with a comma; None where it could be thousands as well as decimals."""
    if re.fullmatch(r"[+\-\u2212]?(0|\d+),(\d+)", figure) is None:
        return None
    whole, part = figure.split(",")
    doubtful = len(part) == 3 and whole.lstrip("+-\u2212") not in {"0", "00"}
    return None if doubtful else f"{whole}.{part}"


def _two_units(row: RoundRow, where: str, asked: Mapping[str, Column]) -> list[Fault]:
    """Refuse a row whose numbers of one quantity stand in two units."""
    for quantity in dict.fromkeys(one.quantity for one in asked.values() if one.quantity):
        units = sorted({unit for word, unit in row.units.items() if unit and asked[word].quantity == quantity})
        if any(not _same(units[0], unit, quantity) for unit in units):
            mend = "Write all of the row in one unit."
            return [Fault(where=where, got=f"in {' and '.join(units)}", wants="in one unit", mend=mend)]
    return []


def _mixed(rows: Sequence[RoundRow], name: str) -> tuple[str, ...]:
    """Tell when rows stand in different units, though each says which."""
    many = Counter(unit for row in rows for unit in set(row.units.values()) if unit)
    if len(many) < 2:
        return ()
    told = ", ".join(f"{count} in {unit}" for unit, count in many.most_common())
    return (f"{name} mixes units, each as its row says: {told}. Check that each was meant.",)
