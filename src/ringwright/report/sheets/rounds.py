"""The sheet of the rounds that are kept: which there are, and for centring the drift and when the next is due."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ringwright.centring.drift import Drift
from ringwright.centring.words import COMMON_PRACTICE, day_after, due_of, due_words
from ringwright.report.sheets.centring_tables import drift_table
from ringwright.report.sheets.sheet import Row, Sheet, Table
from ringwright.units.showing import show_number

__all__ = ["FrameDrift", "RoundRow", "rounds_sheet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundRow:
    """One round as it is listed; ``rows`` were understood, ``set_aside`` were not.

    ``taken_back`` says when, by whom and why it was taken back; empty for a round that stands.
    """

    number: int
    kind: str
    frame: str
    day: str
    by: str
    source: str
    rows: int
    set_aside: int
    note: str
    taken_back: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameDrift:
    """The drift of a frame's parts (none with one round only), and when its last round was read (µs UTC)."""

    drifts: tuple[Drift, ...]
    read_us: int


def rounds_sheet(mill: str, where: str, rounds: Sequence[RoundRow], drift: Mapping[str, FrameDrift]) -> Sheet:
    """List the rounds kept for a mill; ``drift`` is by frame, of rounds of centring that stand."""
    standing = sum(not one.taken_back for one in rounds)
    back = f"; {len(rounds) - standing} taken back" if standing < len(rounds) else ""
    told = [f"{frame}: {due_words(one.drifts, one.read_us)}" for frame, one in drift.items()]
    head = f"{standing} {'round' if standing == 1 else 'rounds'} kept in {where}{back}."
    return Sheet(
        title=f"Rounds of readings, {mill}",
        answer=" ".join((head, *told)) if rounds else f"No round is kept in {where}.",
        rows=tuple(_due(frame, one) for frame, one in drift.items()),
        tables=(_listed(rounds), *(drift_table(one.drifts, one.read_us, f"Centring, {frame}: drift from round to round")
                                   for frame, one in drift.items() if one.drifts)),
        notes=("A round is kept as it was given, text and all, beside the rows as they were understood.",),
        sources=("Time between rounds where there is one only: common practice, from memory, no source.",),
    )  # fmt: skip


def _due(frame: str, one: FrameDrift) -> Row:
    name, first = f"Next round of centring, {frame}", due_of(one.drifts)
    if first is None:
        note = f"one round only says nothing of drift; {COMMON_PRACTICE}"
        return Row(name=name, value="not known", unit="", origin="common practice, from memory", note=note)
    ends = [day_after(one.read_us, wait) for wait in (first.wait, first.wait_low, first.wait_high)]
    return Row(name=name, value=ends[0], unit="", origin="computed", raw=first.wait,
               note=f"{ends[1]} to {ends[2]} (95 %), for the {first.part}s")  # fmt: skip


def _listed(rounds: Sequence[RoundRow]) -> Table:
    """List the rounds; the column of those taken back stands only where one was."""
    columns: tuple[str, ...] = ("round", "kind", "frame", "read on", "by", "from", "rows", "set aside", "note")
    rows: list[tuple[str, ...]] = [
        (str(one.number), one.kind, one.frame, one.day, one.by, one.source, show_number(one.rows),
         show_number(one.set_aside), one.note)
        for one in rounds
    ]  # fmt: skip
    if any(one.taken_back for one in rounds):
        columns = (*columns, "taken back")
        rows = [(*row, one.taken_back) for row, one in zip(rows, rounds, strict=True)]
    return Table(title="Rounds", columns=columns, rows=tuple(rows), origin="measured", numbers=(0, 6, 7))
