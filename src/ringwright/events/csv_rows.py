"""Rows of a CSV file, block by block: one record a line, so that a broken line cannot swallow the next ones."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

import numpy as np
import numpy.typing as npt
import pyarrow.compute as pc

from ringwright.events.block import MARKS, Block, SetAside, heading_places, trimmed, write_marked
from ringwright.events.csv_cells import Cut, Cutter
from ringwright.events.csv_lines import CsvLines, cut
from ringwright.events.source import Source
from ringwright.refusal import Fault, Refusal

__all__ = ["CsvRows"]


class CsvRows:
    """A CSV file of a source; give ``blocks`` to check, then ``originals`` of the rows that were set aside."""

    def __init__(self, path: Path, source: Source) -> None:
        self.path = path
        self.source = source
        self.size = path.stat().st_size
        self.header = b""
        self._encoding = "utf-8" if source.encoding == "utf-16" else source.encoding
        self._lines = self._open()
        self._marked = False
        mark = re.escape(source.separator)
        # A spreadsheet may take the quotation marks off a reason that does not need them.
        self._marks = rf'^[0-9]*{mark}(?:"[^"]*"|[^"{mark}]*){mark}'

    @property
    def sha256(self) -> str:
        """Give the SHA-256 of the file, known when all blocks were read."""
        return self._lines.sha256

    @property
    def done(self) -> int:
        """Give the number of bytes read so far."""
        return self._lines.done

    def blocks(self) -> Iterator[Block]:
        """Give the rows block by block; Refusal if the header does not have the stated columns."""
        cutter = None
        for number, lines in self._lines.blocks():
            block, first = lines, number
            if cutter is None:
                header, _, block = lines.partition(b"\n")
                cutter, first = self._read_header(header.rstrip(b"\r")), 2
            if block:
                yield self._block(cutter, block, first)
        if cutter is None:
            raise Refusal(Fault(where=self.path.name, got="empty", wants="a CSV file with a line of headings"))

    def write_set_aside(self, file: BinaryIO, reasons: dict[int, str]) -> None:
        """Write the rows set aside; Refusal if the file is no longer the one that was read."""
        wanted = np.array(sorted(reasons), np.int64)
        write_marked(file, self.source, self.header, self.originals(wanted), reasons)

    def originals(self, wanted: npt.NDArray[np.int64]) -> Iterator[tuple[int, bytes]]:
        """Give the lines of the given numbers (ascending) as they stand in the file, without marks of an earlier take.

        Refusal if the file is no longer the one that was read.
        """
        again = self._open()
        for number, block in again.blocks():
            lines = cut(block)
            low, high = np.searchsorted(wanted, [number, number + len(lines)])
            for line in wanted[low:high].tolist():
                yield line, self._own(lines[line - number].as_py())
        if self.sha256 != again.sha256:
            raise Refusal(Fault(where=self.path.name, got="changed while it was read", wants="left alone until done"))

    def _open(self) -> CsvLines:
        return CsvLines(self.path, may_be_wide=self.source.encoding == "utf-16")

    def _own(self, line: bytes) -> bytes:
        """Take the marks of an earlier take off a line."""
        return re.sub(self._marks.encode(), b"", line, count=1) if self._marked else line

    def _read_header(self, line: bytes) -> Cutter:
        """Read the headings and find the stated columns."""
        text = line.decode(self._encoding, errors="replace").replace("\0", "?")
        separator = self.source.separator
        try:
            headings = [one.strip() for one in next(csv.reader([text], delimiter=separator), [])]
        except csv.Error:
            headings = []
        self._marked = tuple(headings[:2]) == MARKS
        if self._marked:
            headings, line = headings[2:], line.split(separator.encode(), 2)[2]
        self.header = line
        places = heading_places(headings, self.source.columns.stated(), f"{self.path.name}, line 1")
        return Cutter(separator, len(headings), places, self._encoding)

    def _block(self, cutter: Cutter, block: bytes, first: int) -> Block:
        """Cut a block into cells, quickly where its lines are plain."""
        made = None if self._marked else cutter.cut_block(block)
        if made is None:
            made = self._with_care(cutter, block)
        set_aside = [SetAside(first + at, reason) for at, reason in made.reasons.items()]
        return Block(made.rows + first, {name: trimmed(column) for name, column in made.cells.items()}, set_aside)

    def _with_care(self, cutter: Cutter, block: bytes) -> Cut:
        lines = cut(block)
        if self._marked:
            lines = pc.replace_substring_regex(lines, pattern=self._marks, replacement="", max_replacements=1)
        return cutter.cut_lines(lines)
