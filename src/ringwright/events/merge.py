"""Join new events to known ones: repeats are recognised, contradictions set aside, and the whole is sorted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from ringwright.events.block import SetAside
from ringwright.events.number import event_ids, sort_codes

__all__ = ["Merged", "identified", "merge", "months_of"]

Ints = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

_SAME = {"breaks": ("machine", "spindle", "t_us"), "moments": ("machine", "kind", "t_us")}
_CONTENT = {
    "breaks": ("cop_share", "yarn", "cause", "operator"),
    "moments": ("until_us", "speed", "yarn", "shift"),
}
_ORDER = {"breaks": "spindle", "moments": "kind"}


@dataclass(frozen=True, slots=True)
class Merged:
    """The whole table; the new rows that are in it now, those that were known already, and those set aside."""

    table: pa.Table
    taken: int
    known: int
    set_aside: list[SetAside]


def identified(table: pa.Table) -> pa.Table:
    """Put our own number on each event of a table of breaks or moments."""
    if "spindle" in table.column_names:
        part = np.asarray(table["spindle"]).astype(np.int64)
    else:  # a frame may stop and doff at the same moment
        part = np.array([sum(map(ord, kind)) for kind in table["kind"].to_pylist()], np.int64)
    ids = event_ids(table["machine"].combine_chunks(), part, np.asarray(table["t_us"]).astype(np.int64))
    place = table.schema.get_field_index("event_id")
    return table.set_column(place, table.schema.field(place), pa.array(ids))


def months_of(t_us: Ints) -> Ints:
    """Give year and month (UTC) as one whole number, as 202603."""
    months = t_us.astype("datetime64[us]").astype("datetime64[M]").astype(np.int64)
    return (1970 + months // 12) * 100 + months % 12 + 1


def merge(known: pa.Table, new: pa.Table) -> Merged:
    """Join new rows (with their ``line``) to the known rows of a table (breaks or moments, as in the store)."""
    name = "breaks" if "spindle" in new.column_names else "moments"
    lines = np.asarray(new["line"]).astype(np.int64)
    fresh = new.select(known.column_names)
    both = pa.concat_tables([known, fresh.cast(known.schema)])
    keeper = _first_of_each(np.asarray(both["event_id"]))
    rows = np.arange(len(known), len(both))
    again = rows[keeper[rows] != rows]
    against = _contradictions(both, again, keeper[again], name)
    against |= _ids_used_twice(both, np.flatnonzero(keeper == np.arange(len(both))), len(known))
    for row in again[np.isin(keeper[again], list(against))].tolist():
        against.setdefault(row, f"the same event stands in line {lines[keeper[row] - len(known)]}, which is set aside")
    out = np.zeros(len(both), bool)
    out[list(against)] = True
    drop = out.copy()
    drop[again] = True
    set_aside = [SetAside(int(lines[row - len(known)]), reason) for row, reason in sorted(against.items())]
    taken = len(fresh) - int(drop[len(known) :].sum())
    whole = both.filter(pa.array(~drop)) if drop.any() else both
    return Merged(_sorted(whole, name), taken, len(fresh) - taken - len(set_aside), set_aside)


def _first_of_each(ids: Ints) -> Ints:
    """Give for each row the first row with the same number."""
    order = np.argsort(ids, kind="stable")
    begins = np.r_[True, np.diff(ids[order]) != 0] if len(ids) else np.zeros(0, bool)
    keeper = np.empty(len(ids), np.int64)
    keeper[order] = order[begins][np.cumsum(begins) - 1]
    return keeper


def _contradictions(both: pa.Table, again: Ints, keepers: Ints, name: str) -> dict[int, str]:
    """Find repeats that say something else than the row taken first."""
    if not len(again):
        return {}
    old, new = both.take(pa.array(keepers)), both.take(pa.array(again))
    found: dict[int, str] = {}
    for column in _SAME[name]:
        for at in np.flatnonzero(~np.asarray(pc.equal(old[column], new[column]))).tolist():
            found[int(again[at])] = "the event shares its number with another one by chance; change its time by 1 us"
    for column in _CONTENT[name]:
        same = pc.fill_null(pc.equal(old[column], new[column]), fill_value=False)
        differs = np.asarray(pc.and_(pc.is_valid(new[column]), pc.invert(same)))
        for at in np.flatnonzero(differs).tolist():
            there, here = _plain(old[column][at].as_py()), _plain(new[column][at].as_py())
            told = f"the event is known with {column} {there}, here it has {here}"
            found.setdefault(int(again[at]), told)
    return found


def _plain(value: Any) -> str:  # noqa: ANN401 - a cell of any column
    """Show a value in a reason."""
    if value is None:
        return "empty"
    return f"{value:.6g}" if isinstance(value, float) else f"'{str(value)[:40]}'"


def _ids_used_twice(both: pa.Table, firsts: Ints, known: int) -> dict[int, str]:
    """Find new events whose source's id was taken already for another event; ``firsts`` are the rows that stay."""
    if both["source_id"][known:].null_count == len(both) - known:
        return {}
    held = both.select(["source", "source_id"]).take(pa.array(firsts)) if len(firsts) < len(both) else both
    ids = held["source_id"].combine_chunks()
    codes = np.asarray(pc.fill_null(ids.dictionary_encode().indices, -1)).astype(np.int64)
    sources = np.asarray(held["source"].combine_chunks().dictionary_encode().indices).astype(np.int64)
    earlier = _first_of_each(np.where(codes < 0, -1, sources * len(both) + codes))
    twice = np.flatnonzero((codes >= 0) & (earlier != np.arange(len(firsts))) & (firsts >= known))
    told = "was already taken for another event"
    return {int(firsts[at]): f"the id {_plain(ids[at].as_py())} {told}" for at in twice.tolist()}


def _sorted(table: pa.Table, name: str) -> pa.Table:
    """Sort by machine, time and spindle or kind."""
    last = table[_ORDER[name]]
    minor = np.asarray(last) if name == "breaks" else sort_codes(last)
    order = np.lexsort((minor, np.asarray(table["t_us"]), sort_codes(table["machine"])))
    return table if (np.diff(order) == 1).all() else table.take(pa.array(order))
