"""Rows of a Parquet file, block by block, as the texts that a CSV file would hold, so that one check serves both."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, Final

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from ringwright.events.block import Block, SetAside, heading_places, trimmed, write_marked
from ringwright.events.source import Source
from ringwright.refusal import Fault, Refusal

__all__ = ["ParquetRows"]

BATCH: Final = 131_072


class ParquetRows:
    """A Parquet file of a source; give ``blocks`` to check, then ``originals`` of the rows that were set aside."""

    def __init__(self, path: Path, source: Source) -> None:
        self.path = path
        self.source = source
        self.size = path.stat().st_size
        self.sha256 = ""
        self.done = 0
        self.header = b""

    def blocks(self) -> Iterator[Block]:
        """Give the rows block by block; Refusal if the file is no Parquet file or lacks a stated column."""
        self.sha256 = self._digest()
        first, places = 1, dict[str, int]()
        for batch in self._batches():
            self.done = min(self.size, self.done + batch.nbytes // 4)  # about; a Parquet file is packed
            names = batch.schema.names
            if not self.header:
                places = heading_places(names, self.source.columns.stated(), self.path.name)
                self.header = _line(names, self.source.separator)
            numbers = np.arange(first, first + len(batch), dtype=np.int64)
            first += len(batch)
            columns = {name: _texts(batch.column(place)) for name, place in places.items()}
            good = np.ones(len(batch), bool)
            for column in columns.values():
                good &= np.asarray(column.is_valid())
            bad = [SetAside(int(line), "a column holds bytes that are not text") for line in numbers[~good]]
            kept = pa.array(good)
            yield Block(numbers[good], {name: trimmed(one.filter(kept)) for name, one in columns.items()}, bad)

    def write_set_aside(self, file: BinaryIO, reasons: dict[int, str]) -> None:
        """Write the rows set aside; Refusal if the file is no longer the one that was read."""
        wanted = np.array(sorted(reasons), np.int64)
        write_marked(file, self.source, self.header, self.originals(wanted), reasons)

    def originals(self, wanted: npt.NDArray[np.int64]) -> Iterator[tuple[int, bytes]]:
        """Give the rows of the given numbers (ascending) as lines of a CSV file; Refusal if the file was changed."""
        if self._digest() != self.sha256:
            raise Refusal(Fault(where=self.path.name, got="changed while it was read", wants="left alone until done"))
        first = 1
        for batch in self._batches():
            low, high = np.searchsorted(wanted, [first, first + len(batch)])
            rows = batch.take(pa.array(wanted[low:high] - first))
            for line, row in zip(wanted[low:high].tolist(), _rows(rows), strict=True):
                yield line, _line(row, self.source.separator)
            first += len(batch)

    def _digest(self) -> str:
        """Give the SHA-256 of the file."""
        with self.path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()

    def _batches(self) -> Iterator[pa.RecordBatch]:
        """Read the batches; a file that is damaged is a Refusal."""
        try:
            with pq.ParquetFile(self.path) as file:
                empty = pa.RecordBatch.from_pylist([], schema=file.schema_arrow)
                yield empty
                yield from file.iter_batches(BATCH, use_threads=False)
        except (pa.ArrowException, OSError) as error:
            got = f"not a whole Parquet file ({str(error).splitlines()[0][:120]})"
            raise Refusal(Fault(where=self.path.name, got=got, wants="a Parquet file")) from None


def _texts(column: pa.Array) -> pa.StringArray:
    """Turn a column into texts; empty values become "", bytes that are no text become null."""
    if pa.types.is_timestamp(column.type) and column.type.tz:
        column = pc.strftime(column.cast(pa.timestamp("us", "UTC")), format="%Y-%m-%dT%H:%M:%SZ")
    if pa.types.is_floating(column.type):
        column = column.cast(pa.float64())
    if pa.types.is_binary(column.type) or pa.types.is_large_binary(column.type):
        return pa.array([_as_text(one) for one in column.to_pylist()], pa.string())
    try:
        return pc.fill_null(column.cast(pa.string()), "")
    except pa.ArrowInvalid:
        return pa.array([None] * len(column), pa.string())
    except pa.ArrowNotImplementedError:
        return pa.array(["" if one is None else str(one) for one in column.to_pylist()], pa.string())


def _as_text(held: bytes | None) -> str | None:
    """Decode bytes; None if they are no text."""
    try:
        return "" if held is None else held.decode()
    except UnicodeDecodeError:
        return None


def _rows(batch: pa.RecordBatch) -> Iterator[list[str]]:
    """Give the rows as texts."""
    columns = [[one or "" for one in _texts(column).to_pylist()] for column in batch.columns]
    return (list(row) for row in zip(*columns, strict=True))


def _line(cells: list[str], separator: str) -> bytes:
    """Write one line of CSV without its end; line ends inside a cell become blanks, as a record is one line."""
    text = io.StringIO()
    clean = [cell.replace("\r", " ").replace("\n", " ").replace("\0", " ") for cell in cells]
    csv.writer(text, delimiter=separator, lineterminator="").writerow(clean)
    return text.getvalue().encode()
