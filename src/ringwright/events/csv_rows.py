"""Rows of a CSV file, block by block: one record a line, so that a broken line cannot swallow the next ones."""

from __future__ import annotations

import csv
import hashlib
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from ringwright.events.block import MARKS, Block, SetAside, heading_places, trimmed
from ringwright.events.source import Source
from ringwright.refusal import Fault, Refusal

__all__ = ["CsvRows"]

Cells = Mapping[str, pa.StringArray]

BLOCK: Final = 8 << 20
LONGEST: Final = 1 << 20
"""A line of more bytes than this is set aside: no record of a break is so long."""

ENDLESS: Final = 64 << 20
"""A file with so many bytes and no line end is no CSV file."""


_MARK: Final = b"\xef\xbb\xbf"  # some programs begin UTF-8 files with it
_QUOTES: Final = "a quotation mark is opened and not closed, or closed in the middle of a column"
_TOO_LONG: Final = f"a column has more than {csv.field_size_limit()} signs"


class CsvRows:
    """A CSV file of a source; give ``blocks`` to check, then ``originals`` of the rows that were set aside."""

    def __init__(self, path: Path, source: Source) -> None:
        self.path = path
        self.source = source
        self.size = path.stat().st_size
        self.sha256 = ""
        self.done = 0
        mark = re.escape(source.separator)
        self._marks = rf'^[0-9]*{mark}(?:"[^"]*"|[^"{mark}]*){mark}'
        self.header = b""
        self._places: dict[str, int] = {}
        self._width = 0
        self._marked = False

    def blocks(self) -> Iterator[Block]:
        """Give the rows block by block; Refusal if the header does not have the stated columns."""
        for number, lines in self._raw_blocks():
            header = 1 if number == 1 else 0
            if header:
                self._read_header(lines[0].as_py())
            if len(lines) > header:
                yield self._block(lines[header:], number + header)
        if not self._width:
            raise Refusal(Fault(where=self.path.name, got="empty", wants="a CSV file with a line of headings"))

    def originals(self, wanted: npt.NDArray[np.int64]) -> Iterator[tuple[int, bytes]]:
        """Give the lines of the given numbers (ascending) as they stand in the file, without marks of an earlier take.

        Refusal if the file is no longer the one that was read.
        """
        before = self.sha256
        for number, lines in self._raw_blocks():
            low, high = np.searchsorted(wanted, [number, number + len(lines)])
            for line in wanted[low:high].tolist():
                yield line, self._own(lines[line - number].as_py())
        if self.sha256 != before:
            raise Refusal(Fault(where=self.path.name, got="changed while it was read", wants="left alone until done"))

    def _own(self, line: bytes) -> bytes:
        """Take the marks of an earlier take off a line."""
        return re.sub(self._marks.encode(), b"", line, count=1) if self._marked else line

    def _raw_blocks(self) -> Iterator[tuple[int, pa.BinaryArray]]:
        """Give (number of the first line, lines without their ends), UTF-16 turned to UTF-8; notes the SHA-256."""
        digest, rest, number = hashlib.sha256(), b"", 1
        wide = self._is_wide()
        with self.path.open("rb") as file:
            if wide:
                text = file.read()
                digest.update(text)
                chunks = [text.decode("utf-16", errors="replace").encode()]
            else:
                chunks = iter(lambda: file.read(BLOCK), b"")  # type: ignore[assignment]
            for chunk in chunks:
                if not wide:
                    digest.update(chunk)
                self.done += len(chunk)
                fresh = number == 1 and not rest
                whole, end, rest = (rest + (chunk.removeprefix(_MARK) if fresh else chunk)).rpartition(b"\n")
                if len(rest) > ENDLESS:
                    raise Refusal(_endless(f"{self.path.name}, line {number + whole.count(10) + 1}"))
                if end:
                    lines = _cut(whole + end)
                    yield number, lines
                    number += len(lines)
        if rest:
            yield number, _cut(rest + b"\n")
        self.sha256 = digest.hexdigest()

    def _is_wide(self) -> bool:
        """Tell whether the file is UTF-16; a file of rows set aside is UTF-8 whatever its source was."""
        with self.path.open("rb") as file:
            return self.source.encoding == "utf-16" and file.read(2) in {b"\xff\xfe", b"\xfe\xff"}

    def _read_header(self, line: bytes) -> None:
        """Read the headings and find the stated columns."""
        text = _decoded(line, self.source.encoding)
        headings = [one.strip() for one in next(csv.reader([text], delimiter=self.source.separator), [])]
        self._marked = tuple(headings[:2]) == MARKS
        if self._marked:
            headings = headings[2:]
            line = line.split(self.source.separator.encode(), 2)[2]
        self.header, self._width = line, len(headings)
        self._places = heading_places(headings, self.source.columns.stated(), f"{self.path.name}, line 1")

    def _block(self, raw: pa.BinaryArray, first: int) -> Block:
        """Cut lines into cells."""
        numbers = np.arange(first, first + len(raw), dtype=np.int64)
        if self._marked:
            raw = pc.replace_substring_regex(raw, pattern=self._marks, replacement="", max_replacements=1)
        texts, set_aside = self._texts(raw, numbers)
        empty = np.asarray(pc.match_substring_regex(texts, r"^\s*$"))
        kept = np.asarray(texts.is_valid()) & ~empty
        numbers, texts = numbers[kept], texts.filter(pa.array(kept))
        cells, good, reasons = self._cells(texts)
        set_aside += [SetAside(int(numbers[at]), reason) for at, reason in reasons.items()]
        return Block(numbers[good], {name: trimmed(column) for name, column in cells.items()}, set_aside)

    def _texts(self, raw: pa.BinaryArray, numbers: npt.NDArray[np.int64]) -> tuple[pa.StringArray, list[SetAside]]:
        """Decode lines; one that cannot be becomes null and is set aside with the reason."""
        encoding = "utf-8" if self.source.encoding == "utf-16" else self.source.encoding
        lengths = np.asarray(pc.binary_length(raw))
        if encoding == "utf-8" and lengths.max(initial=0) <= LONGEST:
            try:
                texts = raw.cast(pa.string())
            except pa.ArrowInvalid:
                pass
            else:
                if not _has_zero(raw):
                    return texts, []
        out: list[str | None] = []
        set_aside = []
        for number, line in zip(numbers.tolist(), raw.to_pylist(), strict=True):
            reason = _undecodable(line, encoding)
            out.append(None if reason else line.decode(encoding))
            if reason:
                set_aside.append(SetAside(number, reason))
        return pa.array(out, pa.string()), set_aside

    def _cells(self, texts: pa.StringArray) -> tuple[Cells, npt.NDArray[np.bool_], dict[int, str]]:
        """Cut texts into the stated columns; tells which rows could be cut, and of the others why not."""
        mark, width = self.source.separator, self._width
        lists = pc.split_pattern(texts, mark)
        good = np.asarray(pc.equal(pc.list_value_length(lists), width))
        quoted = np.asarray(pc.match_substring(texts, '"'))
        plain = good & ~quoted
        if quoted.any():
            simple = _simply_quoted(mark, width)
            plain |= quoted & np.asarray(pc.match_substring_regex(texts, simple))
        hard = np.flatnonzero(~plain)
        reasons: dict[int, str] = {}
        parsed = {at: self._parsed(texts[at].as_py(), reasons, at) for at in hard.tolist()}
        good = plain.copy()
        good[[at for at, row in parsed.items() if row]] = True
        flat = (lists if plain.all() else lists.filter(pa.array(plain))).flatten()
        rows = int(plain.sum())
        order = np.cumsum(good) - 1
        cells = {}
        for name, place in self._places.items():
            column = flat.take(pa.array(np.arange(rows, dtype=np.int64) * width + place))
            if quoted.any():
                column = pc.utf8_trim(column, characters='"')
            if len(hard) > len(reasons):
                column = _woven(column, order[plain], {order[at]: row[place] for at, row in parsed.items() if row})
            cells[name] = column
        return cells, good, reasons

    def _parsed(self, text: str, reasons: dict[int, str], at: int) -> list[str]:
        """Read one line with quotation marks, or tell why it cannot be read; gives [] then."""
        try:
            (row,) = csv.reader([text], delimiter=self.source.separator, strict=True)
        except csv.Error as error:
            reasons[at] = _TOO_LONG if "limit" in str(error) else _QUOTES
            return []
        if len(row) == self._width:
            return row
        reasons[at] = f"the line has {len(row)} columns; the line of headings has {self._width}"
        return []


def _cut(block: bytes) -> pa.BinaryArray:
    """Cut a block that ends with a line end into its lines, without their ends."""
    ends = np.flatnonzero(np.frombuffer(block, np.uint8) == 10) + 1
    offsets = np.zeros(len(ends) + 1, np.int32)
    offsets[1:] = ends
    # Trimming is defined for texts only; it looks at bytes, so that it does no harm to bytes that are no text.
    lines = pa.StringArray.from_buffers(len(ends), pa.py_buffer(offsets), pa.py_buffer(block))
    return pc.ascii_rtrim(lines, characters="\r\n").view(pa.binary())


def _has_zero(lines: pa.BinaryArray) -> bool:
    """Tell whether a zero byte stands in any line."""
    held = lines.buffers()[2]
    return held is not None and bool((np.frombuffer(held, np.uint8) == 0).any())


def _endless(where: str) -> Fault:
    return Fault(where=where, got=f"over {ENDLESS >> 20} MB without a line end", wants="a CSV file, one record a line")


def _decoded(line: bytes, encoding: str) -> str:
    """Decode the line of headings; what cannot be decoded becomes a mark that no heading has."""
    return line.decode("utf-8" if encoding == "utf-16" else encoding, errors="replace")


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


def _simply_quoted(mark: str, width: int) -> str:
    """Give the pattern of a line whose cells are quoted whole or not at all, and hold neither quote nor separator."""
    sign = re.escape(mark)
    cell = f'(?:"[^"{sign}]*"|[^"{sign}]*)'
    return f"^{cell}(?:{sign}{cell}){{{width - 1}}}$"


def _woven(plain: pa.StringArray, at: npt.NDArray[np.int64], others: Mapping[int, str]) -> pa.StringArray:
    """Put the cells of lines read one by one back between the others."""
    whole = pa.concat_arrays([plain, pa.array(list(others.values()), pa.string())])
    places = np.concatenate([at, np.fromiter(others, np.int64, len(others))])
    return whole.take(pa.array(np.argsort(places)))
