"""Cut lines of a CSV file into the cells of the stated columns; a line that cannot be cut is told, with the reason."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc
from pyarrow.csv import ConvertOptions, ParseOptions, ReadOptions, read_csv

__all__ = ["Cut", "Cutter"]

Cells = Mapping[str, pa.StringArray]

LONGEST: Final = 1 << 20
"""A line of more bytes than this is set aside: no record of a break is so long."""

_RETURN: Final = "\ue000"  # a sign of Unicode's private use, that no source writes
_QUOTES: Final = "a quotation mark is opened and not closed, or closed in the middle of a column"
_TOO_LONG: Final = f"a column has more than {csv.field_size_limit()} signs"


@dataclass(frozen=True, slots=True)
class Cut:
    """The cells of the lines that could be cut, the places of those lines, and why others could not be."""

    cells: Cells
    rows: npt.NDArray[np.int64]
    reasons: Mapping[int, str]


@dataclass(frozen=True, slots=True)
class Cutter:
    """How lines are cut: separator, number of columns, and the places of the stated columns by our own names."""

    separator: str
    width: int
    places: Mapping[str, int]
    encoding: str

    def cut_block(self, block: bytes) -> Cut | None:
        """Cut a block of plain lines quickly: None if any line needs care (quotes, bad bytes, blanks, wrong width)."""
        if self.encoding != "utf-8" or b'"' in block or b"\0" in block:
            return None
        names = [str(place) for place in range(self.width)]
        wanted = [str(place) for place in self.places.values()]
        try:
            table = read_csv(
                pa.BufferReader(block),
                ReadOptions(use_threads=False, block_size=len(block) + 1, column_names=names),
                ParseOptions(delimiter=self.separator, quote_char=False, ignore_empty_lines=False),
                ConvertOptions(
                    include_columns=wanted, column_types=dict.fromkeys(wanted, pa.string()), strings_can_be_null=False
                ),
            )
        except pa.ArrowInvalid:
            return None
        if len(table) != block.count(b"\n"):
            return None
        cells = {name: table[str(place)].combine_chunks() for name, place in self.places.items()}
        return Cut(cells, np.arange(len(table), dtype=np.int64), {})

    def cut_lines(self, raw: pa.BinaryArray) -> Cut:
        """Cut lines with care; blank lines are no records and have neither cells nor a reason."""
        texts, reasons = self._texts(raw)
        blank = np.asarray(pc.fill_null(pc.match_substring_regex(texts, r"^[\s\v]*$"), fill_value=True))
        rows = np.flatnonzero(~blank)
        texts = texts.take(pa.array(rows))
        lists = pc.split_pattern(texts, self.separator)
        quoted = np.asarray(pc.match_substring(texts, '"'))
        plain = np.asarray(pc.equal(pc.list_value_length(lists), self.width)) & ~quoted
        if quoted.any():
            plain |= quoted & np.asarray(pc.match_substring_regex(texts, self._simply_quoted()))
        parsed: dict[int, list[str]] = {}
        for at in np.flatnonzero(~plain).tolist():
            row, reason = self._parsed(texts[at].as_py())
            if reason:
                reasons[int(rows[at])] = reason
            else:
                parsed[at] = row
        good = plain.copy()
        good[list(parsed)] = True
        cells = self._woven(lists.filter(pa.array(plain)).flatten(), plain, parsed, strip=bool(quoted.any()))
        return Cut(cells, rows[good], reasons)

    def _texts(self, raw: pa.BinaryArray) -> tuple[pa.StringArray, dict[int, str]]:
        """Decode lines; one that cannot be becomes null and has a reason."""
        if self.encoding == "utf-8" and np.asarray(pc.binary_length(raw)).max(initial=0) <= LONGEST:
            held = raw.buffers()[2]
            try:
                texts = raw.cast(pa.string())
            except pa.ArrowInvalid:
                pass
            else:
                if held is None or not (np.frombuffer(held, np.uint8) == 0).any():
                    return texts, {}
        out: list[str | None] = []
        reasons = {}
        for at, line in enumerate(raw.to_pylist()):
            reason = _undecodable(line, self.encoding)
            out.append(None if reason else line.decode(self.encoding))
            if reason:
                reasons[at] = reason
        return pa.array(out, pa.string()), reasons

    def _simply_quoted(self) -> str:
        """Give the pattern of a line whose cells are quoted whole or not at all, without quote or separator inside."""
        sign = re.escape(self.separator)
        cell = f'(?:"[^"{sign}]*"|[^"{sign}]*)'
        return f"^{cell}(?:{sign}{cell}){{{self.width - 1}}}$"

    def _parsed(self, text: str) -> tuple[list[str], str]:
        """Read one line by itself: its cells, or the reason why it cannot be read."""
        row = text.split(self.separator)
        if '"' in text:
            try:
                # A bare carriage return is no line end here, but the reader would take it for one.
                (row,) = csv.reader([text.replace("\r", _RETURN)], delimiter=self.separator, strict=True)
            except csv.Error as error:
                return [], _TOO_LONG if "limit" in str(error) else _QUOTES
            row = [cell.replace(_RETURN, "\r") for cell in row]
        if len(row) == self.width:
            return row, ""
        return [], f"the line has {len(row)} columns; the line of headings has {self.width}"

    def _woven(
        self, flat: pa.StringArray, plain: npt.NDArray[np.bool_], parsed: Mapping[int, list[str]], *, strip: bool
    ) -> Cells:
        """Pick the stated columns out of the plain lines' cells and put the lines read one by one between them."""
        at = np.concatenate([np.flatnonzero(plain), np.fromiter(parsed, np.int64, len(parsed))])
        order = pa.array(np.argsort(at))
        cells = {}
        for name, place in self.places.items():
            column = flat.take(pa.array(np.arange(int(plain.sum()), dtype=np.int64) * self.width + place))
            if strip:
                column = pc.utf8_trim(column, characters='"')
            if parsed:
                others = pa.array([row[place] for row in parsed.values()], pa.string())
                column = pa.concat_arrays([column, others]).take(order)
            cells[name] = column
        return cells


def _undecodable(line: bytes, encoding: str) -> str:
    """Tell why a line is no text; "" if it is."""
    if len(line) > LONGEST:
        return f"the line has {len(line)} bytes; a record has at most {LONGEST}"
    if b"\0" in line:
        return f"a zero byte stands at byte {line.index(0) + 1} of the line"
    try:
        line.decode(encoding)
    except UnicodeDecodeError as error:
        return f"not {encoding} text at byte {error.start + 1} of the line"
    return ""
