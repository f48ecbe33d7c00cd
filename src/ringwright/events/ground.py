"""What the records of a mill are held against: its frames and yarns, and what the source's words mean there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from ringwright.events.reasons import Reasons, shown
from ringwright.events.source import Source
from ringwright.mill.mill import Mill
from ringwright.refusal import Fault, Refusal, nearest

__all__ = ["Ground", "ground_of", "read_machines", "read_text", "read_word"]

Ints = npt.NDArray[np.int64]

_LONGEST = 200


@dataclass(frozen=True, slots=True)
class Ground:
    """Frames by place in ``frames``: spindles, sides and lift (m) of each; the source's words for frames and yarns."""

    frames: tuple[str, ...]
    spindles: Ints
    sides: Ints
    lifts: npt.NDArray[np.float64]
    machine_words: Mapping[str, str]
    yarn_words: Mapping[str, str]


def ground_of(mill: Mill, source: Source) -> Ground:
    """Gather what rows are held against; Refusal if the source names frames or yarns that the mill does not have."""
    faults = []
    known: list[tuple[str, Mapping[str, str], Iterable[str]]] = [
        ("machines", source.machines, mill.frames),
        ("yarns", source.yarns, mill.yarns),
    ]
    for table, words, there in known:
        for word, name in words.items():
            if name not in there:
                where = f"source {source.name}, {table}.{word}"
                wants = f"the name of one of the {table} of the mill {mill.name}"
                faults.append(Fault(where=where, got=f'"{name}"', wants=wants, mend=nearest(name, there)))
    if not mill.frames:
        faults.append(Fault(where=mill.name, got="without frames", wants="a mill with at least one frame"))
    if faults:
        raise Refusal(faults)
    frames = list(mill.frames.values())
    return Ground(
        frames=tuple(frame.name for frame in frames),
        spindles=np.array([frame.spindles for frame in frames], np.int64),
        sides=np.array([frame.sides for frame in frames], np.int64),
        lifts=np.array([frame.build.lift for frame in frames]),
        machine_words={name: name for name in mill.frames} | source.machines,
        yarn_words={name: name for name in mill.yarns} | source.yarns,
    )


def read_machines(texts: pa.StringArray, ground: Ground, reasons: Reasons) -> Ints:
    """Give the place of each row's frame; 0 where it is unknown, and then there is a reason."""
    words = ground.machine_words
    places = pa.array([ground.frames.index(name) for name in words.values()], pa.int64())
    found = places.take(pc.index_in(texts, value_set=pa.array(list(words), pa.string())))
    missing = np.asarray(pc.equal(texts, ""))
    reasons.add(missing, lambda _: "the machine is missing")
    known = ", ".join(list(words)[:8]) + (" and others" if len(words) > 8 else "")
    unknown = np.asarray(found.is_null()) & ~missing
    reasons.add(unknown, lambda row: f"the machine {shown(texts, row)} is not a frame of the mill; known: {known}")
    return np.asarray(pc.fill_null(found, 0))


def read_word(
    texts: pa.StringArray, words: Mapping[str, str], reasons: Reasons, what: str, *, keep: bool
) -> pa.StringArray:
    """Put our word for the source's; an unknown one is kept or set aside; an empty one becomes null."""
    if not words:
        return read_text(texts, reasons, what) if keep else _none_known(texts, reasons, what)
    found = pa.array(list(words.values())).take(pc.index_in(texts, value_set=pa.array(list(words), pa.string())))
    if keep:
        return pc.coalesce(found, read_text(texts, reasons, what))
    unknown = np.asarray(found.is_null()) & np.asarray(pc.not_equal(texts, ""))
    told = "is not known; add it to the mill or to the source"
    reasons.add(unknown, lambda row: f"the {what} {shown(texts, row)} {told}")
    return found


def _none_known(texts: pa.StringArray, reasons: Reasons, what: str) -> pa.StringArray:
    """Set every word aside where none is known."""
    reasons.add(np.asarray(pc.not_equal(texts, "")), lambda row: f"the {what} {shown(texts, row)} is not known")
    return pa.nulls(len(texts), pa.string())


def read_text(texts: pa.StringArray, reasons: Reasons, what: str) -> pa.StringArray:
    """Take a text as it stands, if it is short and has no signs that steer a terminal; an empty one becomes null."""
    if _is_plain(texts):
        return pc.if_else(pc.equal(texts, ""), pa.scalar(None, pa.string()), texts)
    fits = np.asarray(pc.match_substring_regex(texts, rf"^\P{{Cc}}{{0,{_LONGEST}}}$"))
    reasons.add(~fits, lambda row: f"the {what} {shown(texts, row)} has over {_LONGEST} signs or a control sign")
    return pc.if_else(pc.equal(texts, ""), pa.scalar(None, pa.string()), texts)


def _is_plain(texts: pa.StringArray) -> bool:
    """Tell quickly whether all texts are short and free of control signs (those of Unicode begin with byte C2)."""
    held, offsets = texts.buffers()[2], texts.buffers()[1]
    if held is None or not len(texts):
        return True
    ends = np.frombuffer(offsets, np.int32)[texts.offset : texts.offset + len(texts) + 1]
    signs = np.frombuffer(held, np.uint8)[ends[0] : ends[-1]]
    short = bool(np.diff(ends).max() <= _LONGEST)
    return short and not ((signs < 32) | (signs == 127) | (signs == 0xC2)).any()
