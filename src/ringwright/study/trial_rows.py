"""A trial as a person writes it down: a CSV file with one line for each frame and shift."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from ringwright.refusal import Fault, Refusal, nearest
from ringwright.study.trial_verdict import ShiftRow

__all__ = ["HEADINGS", "read_lines", "read_trial"]

HEADINGS: Final = ("shift", "frame", "setting", "breaks", "spindle_hours")
"""The columns of a trial's file; others are left alone."""


def read_trial(path: str, text: str | None = None) -> list[ShiftRow]:
    """Read the shifts of a trial from a file, or from a ``text`` that is called so; Refusal that names every line."""
    faults: list[Fault] = []
    rows: list[ShiftRow] = []
    seen: dict[tuple[str, str], int] = {}
    for line, texts in read_lines(path, HEADINGS, faults, text):
        key = (texts["shift"], texts["frame"])
        if key in seen:
            got = f"a second row for {key[1]} at {key[0]} (first in line {seen[key]})"
            faults.append(Fault(where=f"{path}, line {line}", got=got, wants="the only row of its frame and shift"))
        seen.setdefault(key, line)
        row = _row(texts, f"{path}, line {line}", faults)
        if row:
            rows.append(row)
    if not rows and not faults:
        faults.append(Fault(where=path, got="without rows", wants="a table with a row for each frame and shift"))
    if faults:
        raise Refusal(faults)
    return rows


def read_lines(
    path: str, headings: Sequence[str], faults: list[Fault], text: str | None = None
) -> Iterator[tuple[int, dict[str, str]]]:
    """Give the lines of a CSV file with their numbers, as texts by heading; what is wrong is added to the faults.

    A ``text`` stands in for the file, which then only names it. A line with an empty cell is left out. Refusal at once
    for a file that cannot be read or lacks a heading.
    """
    lines = (_text_of(path) if text is None else text).splitlines()
    heading = lines[0] if lines else ""
    separator = "\t" if "\t" in heading else ";" if ";" in heading and "," not in heading else ","
    reader = csv.DictReader(lines, delimiter=separator)
    there = [heading.strip() for heading in reader.fieldnames or []]
    missing = [name for name in headings if name not in there]
    if missing:
        wants = f"a table with the headings {', '.join(headings)}"
        raise Refusal([Fault(where=path, got=f"without {name}", wants=wants, mend=nearest(name, there))
                       for name in missing])  # fmt: skip
    reader.fieldnames = there
    try:
        for cells in reader:
            texts = {name: str(cells.get(name) or "").strip() for name in headings}
            where = f"{path}, line {reader.line_num}"
            names = [name for name, text in texts.items() if not text]
            empty = [Fault(where=f"{where}, {name}", got="empty", wants="filled in") for name in names]
            faults += empty
            if not empty:
                yield reader.line_num, texts
    except csv.Error as error:
        faults.append(Fault(where=f"{path}, line {reader.line_num}", got=f"not readable ({error})", wants="CSV"))


def _text_of(path: str) -> str:
    try:
        return Path(path).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = (getattr(error, "strerror", None) or "not UTF-8 text").lower()
        raise Refusal(Fault(where=path, got=f"not readable ({reason})", wants="a CSV file that you may read")) from None


def _row(texts: dict[str, str], where: str, faults: list[Fault]) -> ShiftRow | None:
    """Read one row; what is wrong is added to the faults."""
    values: dict[str, float] = {}
    before = len(faults)
    for name, low, high in (("breaks", 0, 1e6), ("spindle_hours", 1e-9, 1e7)):
        try:
            values[name] = float(texts[name])
        except ValueError:
            values[name] = float("nan")
        if not (low <= values[name] <= high and (name != "breaks" or values[name].is_integer())):
            what = "a whole number from 0 to 1000000" if name == "breaks" else "a number above 0 and up to 10000000"
            faults.append(Fault(where=f"{where}, {name}", got=f'"{texts[name][:40]}"', wants=what))
    if len(faults) > before:
        return None
    return ShiftRow(
        shift=texts["shift"], frame=texts["frame"], setting=texts["setting"], breaks=int(values["breaks"]),
        exposure=values["spindle_hours"] / 1000,
    )  # fmt: skip
