"""Numbers as a source writes them, read as a whole column; what is no number is told, never guessed."""

from __future__ import annotations

from hashlib import blake2b

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

__all__ = ["event_ids", "read_decimals", "read_whole", "sort_codes"]

Ints = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

_DECIMAL = r"^[+-]?(?:[0-9]{1,15}(?:\.[0-9]{0,30})?|\.[0-9]{1,30})(?:[eE][+-]?[0-9]{1,2})?$"


def read_whole(texts: pa.StringArray) -> tuple[Ints, Mask]:
    """Read whole numbers, also written as 12.0; gives 0 and False where the text is none."""
    reads = np.asarray(pc.match_substring_regex(texts, r"^[0-9]{1,9}(?:\.0{1,9})?$"))
    clean = pc.if_else(pa.array(reads), texts, "0")
    return np.asarray(clean.cast(pa.float64())).astype(np.int64), reads


def read_decimals(texts: pa.StringArray, decimal: str) -> tuple[npt.NDArray[np.float64], Mask]:
    """Read numbers with a decimal sign; nan where there is none, and then True only if the text is empty."""
    if decimal == ",":
        point = pc.match_substring(texts, ".")
        texts = pc.if_else(point, "?", pc.replace_substring(texts, ",", "."))
    number = np.asarray(pc.match_substring_regex(texts, _DECIMAL))
    empty = np.asarray(pc.equal(texts, ""))
    values = np.asarray(pc.if_else(pa.array(number), texts, "0").cast(pa.float64())).copy()
    values[~number] = np.nan
    return values, number | empty


def event_ids(machines: pa.StringArray, spindles: Ints, t_us: Ints) -> Ints:
    """Make the number of each event from machine, spindle and time: the same event always gets the same number.

    Numbers of 63 bits, well mixed (the finalizer of splitmix64: Steele, Lea, Flood 2014, from memory). Two different
    events of 25 million share one with a chance of about 3 in 100 000 (half of n squared over 2 to the 63).
    """
    coded = machines.dictionary_encode()
    seeds = [int.from_bytes(blake2b(str(name).encode(), digest_size=8).digest(), "big") for name in coded.dictionary]
    seed = np.array(seeds, np.uint64)[np.asarray(coded.indices)] if len(machines) else np.zeros(0, np.uint64)
    mixed = _mix(_mix(seed ^ t_us.astype(np.uint64)) + spindles.astype(np.uint64))
    return (mixed >> np.uint64(1)).astype(np.int64)


def _mix(held: npt.NDArray[np.uint64]) -> npt.NDArray[np.uint64]:
    """Spread every bit over all bits."""
    held = held + np.uint64(0x9E3779B97F4A7C15)
    held = (held ^ (held >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    held = (held ^ (held >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return held ^ (held >> np.uint64(31))


def sort_codes(texts: pa.ChunkedArray | pa.StringArray) -> Ints:
    """Give whole numbers that sort as the texts do, by code point."""
    whole = texts.combine_chunks() if isinstance(texts, pa.ChunkedArray) else texts
    coded = whole.dictionary_encode()
    names = coded.dictionary.to_pylist()
    rank = np.empty(len(names), np.int64)
    rank[sorted(range(len(names)), key=names.__getitem__)] = np.arange(len(names))
    return rank[np.asarray(coded.indices)] if len(whole) else np.zeros(0, np.int64)
