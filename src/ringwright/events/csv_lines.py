"""The lines of a CSV file, block by block, with the file's SHA-256."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from ringwright.refusal import Fault, Refusal

__all__ = ["CsvLines", "cut"]

BLOCK: Final = 8 << 20
ENDLESS: Final = 64 << 20
"""A file with so many bytes and no line end is no CSV file."""

_MARK: Final = b"\xef\xbb\xbf"  # some programs begin UTF-8 files with it


class CsvLines:
    """The lines of a file; ``done`` counts the bytes read, ``sha256`` is known when all were read."""

    def __init__(self, path: Path, *, may_be_wide: bool) -> None:
        self.path = path
        self.done = 0
        self.sha256 = ""
        self._may_be_wide = may_be_wide

    def blocks(self) -> Iterator[tuple[int, bytes]]:
        """Give (number of the first line, whole lines with their ends); UTF-16 comes as UTF-8.

        Refusal if the file has no line ends.
        """
        digest, rest, number = hashlib.sha256(), b"", 1
        with self.path.open("rb") as file:
            for chunk in self._chunks(file, digest):
                fresh = number == 1 and not rest
                whole, end, rest = (rest + (chunk.removeprefix(_MARK) if fresh else chunk)).rpartition(b"\n")
                if len(rest) > ENDLESS:
                    at = number + whole.count(b"\n") + len(end)
                    raise Refusal(_endless(f"{self.path.name}, line {at}"))
                if end:
                    yield number, whole + end
                    number += whole.count(b"\n") + 1
        if rest:
            yield number, rest + b"\n"
        self.sha256 = digest.hexdigest()

    def _chunks(self, file: BinaryIO, digest: hashlib._Hash) -> Iterator[bytes]:
        """Read the file, a UTF-16 file at once and any other piece by piece."""
        # A file of rows set aside is UTF-8 whatever its source was.
        if self._may_be_wide and file.peek(2)[:2] in {b"\xff\xfe", b"\xfe\xff"}:  # type: ignore[attr-defined]
            whole = file.read()
            digest.update(whole)
            self.done += len(whole)
            yield whole.decode("utf-16", errors="replace").encode()
            return
        while chunk := file.read(BLOCK):
            digest.update(chunk)
            self.done += len(chunk)
            yield chunk


def cut(block: bytes) -> pa.BinaryArray:
    """Cut a block that ends with a line end into its lines, without their ends."""
    ends = np.flatnonzero(np.frombuffer(block, np.uint8) == ord("\n")) + 1
    offsets = np.zeros(len(ends) + 1, np.int32)
    offsets[1:] = ends
    # Trimming is defined for texts only; it looks at bytes, so that it does no harm to bytes that are no text.
    lines = pa.StringArray.from_buffers(len(ends), pa.py_buffer(offsets), pa.py_buffer(block))
    return pc.ascii_rtrim(lines, characters="\r\n").view(pa.binary())


def _endless(where: str) -> Fault:
    return Fault(where=where, got=f"over {ENDLESS >> 20} MB without a line end", wants="a CSV file, one record a line")
