"""A block of a source's rows: the cells of its stated columns, and the rows that could not be cut into cells."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import BinaryIO, Final

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from ringwright.events.source import Source
from ringwright.refusal import Fault, Refusal, nearest

__all__ = ["MARKS", "Block", "SetAside", "heading_places", "trimmed", "write_marked"]

MARKS: Final = ("set_aside_line", "set_aside_reason")
"""Headings of the two columns that a file of rows set aside has in front of the source's own."""


@dataclass(frozen=True, slots=True)
class SetAside:
    """A row that is not taken: its line in the file (its row in a Parquet file), and why."""

    line: int
    reason: str


@dataclass(frozen=True, slots=True)
class Block:
    """Rows of a source: line of each, cells by our own column names (trimmed, "" if empty), rows set aside already."""

    lines: npt.NDArray[np.int64]
    cells: Mapping[str, pa.StringArray]
    set_aside: list[SetAside] = field(default_factory=list)


def heading_places(headings: list[str], wanted: Mapping[str, str], where: str) -> dict[str, int]:
    """Find the place of each stated heading; Refusal that names every one that is not there or there twice."""
    faults, places = [], {}
    for name, heading in wanted.items():
        found = [place for place, there in enumerate(headings) if there == heading]
        if len(found) == 1:
            places[name] = found[0]
            continue
        got = f'without a column "{heading}"' if not found else f'with {len(found)} columns "{heading}"'
        wants = f"a file with one such column, as columns.{name} of the source says"
        faults.append(Fault(where=where, got=got, wants=wants, mend=nearest(heading, [h[:40] for h in headings[:60]])))
    if faults:
        raise Refusal(faults)
    return places


def trimmed(texts: pa.StringArray) -> pa.StringArray:
    """Take the blanks off both ends; texts have no nulls."""
    return pc.utf8_trim_whitespace(texts) if _may_have_blanks(texts) else texts


def _may_have_blanks(texts: pa.StringArray) -> bool:
    """Tell quickly whether any text may begin or end with a blank; blanks of Unicode end with a byte over 127."""
    held, offsets = texts.buffers()[2], texts.buffers()[1]
    if held is None or not len(texts):
        return False
    ends = np.frombuffer(offsets, np.int32)[texts.offset : texts.offset + len(texts) + 1]
    full = ends[1:] > ends[:-1]
    signs = np.frombuffer(held, np.uint8)
    outer = np.concatenate([signs[ends[:-1][full]], signs[ends[1:][full] - 1]])
    return bool(((outer <= ord(" ")) | (outer > 126)).any())


def write_marked(
    file: BinaryIO, source: Source, header: bytes, rows: Iterable[tuple[int, bytes]], reasons: Mapping[int, str]
) -> None:
    """Write rows set aside as they stood, with line and reason before them, so that they can be mended and taken."""
    mark, encoding = source.separator, "utf-8" if source.encoding == "utf-16" else source.encoding
    file.write(mark.join(MARKS).encode() + mark.encode() + header + b"\n")
    for line, text in rows:
        told = reasons[line].replace('"', "'")
        file.write(f'{line}{mark}"{told}"{mark}'.encode(encoding, errors="replace") + text + b"\n")
