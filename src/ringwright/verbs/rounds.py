"""The verbs about the rounds of readings that a store keeps: list them, and take one back that was kept by mistake."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ringwright.verbs.centring import DEMO, KIND, frame_and_yarn, rounds_of

if TYPE_CHECKING:
    from ringwright.mill import Mill
    from ringwright.report.sheets.rounds import RoundRow
    from ringwright.report.sheets.sheet import Sheet
    from ringwright.store import Round

# Each verb imports what it needs as it is called, so that no other command waits for it.
# ruff: noqa: PLC0415

__all__ = ["TakingBack", "list_rounds", "round_rows", "take_back_round"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TakingBack:
    """What a person says who takes a round back: its number as text, why, and who it is."""

    number: str
    note: str
    by: str


def list_rounds(where: str, store: str, frame: str = "", kind: str = "") -> Sheet:
    """List the rounds of a mill that a store keeps, or the demo's for the word demo, with the drift of centring."""
    from ringwright.centring.found import drifts_of
    from ringwright.report.sheets.rounds import FrameDrift, rounds_sheet
    from ringwright.verbs.app import open_mill

    mill = open_mill(where)
    if frame:
        frame_and_yarn(mill, frame, "")
    held = _listed(mill, where, store)
    rows = [row for row in held if (not frame or row.frame == frame) and (not kind or row.kind == kind)]
    drift = {}
    for name in dict.fromkeys(row.frame for row in rows if row.kind == KIND and row.frame in mill.frames):
        rounds = rounds_of(mill, where, store, name)
        if rounds:
            drifts = drifts_of(mill.frames[name], rounds) if len(rounds) > 1 else ()
            drift[name] = FrameDrift(drifts=drifts, read_us=rounds[-1].read_us)
    return rounds_sheet(mill.name, store, rows, drift)


def round_rows(where: str, store: str) -> list[RoundRow]:
    """List every round of a mill, those taken back too, first to last."""
    from ringwright.verbs.app import open_mill

    return _listed(open_mill(where), where, store)


def _listed(mill: Mill, where: str, store: str) -> list[RoundRow]:
    """List the rounds of a store, or of the demo, as rows."""
    from ringwright.report.sheets.rounds import RoundRow
    from ringwright.store import open_store

    if store == DEMO:
        held = [(frame, one) for frame in mill.frames for one in rounds_of(mill, where, store, frame)]
        return [
            RoundRow(number=number, kind=KIND, frame=frame, day=one.taken.name.rpartition("_")[2].removesuffix(".csv"),
                     by="invented", source=one.taken.name, rows=len(one.taken.readings),
                     set_aside=len(one.taken.set_aside), note="")
            for number, (frame, one) in enumerate(held, 1)
        ]  # fmt: skip
    with open_store(store) as opened:
        return [_row(one) for one in opened.rounds(mill.name, every=True)]


def _row(one: Round) -> RoundRow:
    from datetime import UTC, datetime

    from ringwright.report.sheets.rounds import RoundRow

    back = ""
    if one.taken_back_us is not None:
        moment = datetime.fromtimestamp(one.taken_back_us / 1e6, UTC)
        back = f"{moment:%Y-%m-%d %H:%M} UTC by {one.taken_back_by}: {one.taken_back_note}"
    return RoundRow(number=one.number, kind=one.kind, frame=one.frame, day=one.day, by=one.by, source=one.source,
                    rows=len(one.readings), set_aside=len(one.set_aside), note=one.note, taken_back=back)  # fmt: skip


def take_back_round(where: str, store: str, given: TakingBack) -> str:
    """Take a round back that was kept by mistake; gives what was done in a sentence. Refusal with every fault.

    The round stays in the store, marked with who took it back and why, and counts for nothing any more; the same
    readings may be kept again.
    """
    from datetime import UTC, datetime

    from ringwright.refusal import Fault, Refusal
    from ringwright.store import open_store, store_mill
    from ringwright.store.rounds import RoundBack
    from ringwright.verbs.app import open_mill

    if store == DEMO:
        raise Refusal(Fault(where="the store", got="the demonstration", wants="one in which rounds were kept"))
    mill = open_mill(where)
    faults = [
        Fault(where=at, got="empty", wants="filled in")
        for at, text in (("--note", given.note), ("--by", given.by))
        if not text.strip()
    ]
    at_us = round(datetime.now(tz=UTC).timestamp()) * 1_000_000
    with open_store(store) as opened, opened.ledger.change():
        standing = {str(one.number): one for one in opened.rounds(mill.name)}
        number = given.number.strip()
        if number not in standing:
            held = ", ".join(list(standing)[-12:])
            mend = f"These stand: {held}." if held else "No round of this mill stands."
            wants = "the number of a round that stands"
            faults.append(Fault(where="--take-back", got=f'"{number}"', wants=wants, mend=mend))
        if faults:
            raise Refusal(faults)
        back = RoundBack(mill=store_mill(mill.name), number=int(number), at_us=at_us, by=given.by.strip(),
                         note=given.note.strip())  # fmt: skip
        opened.ledger.take_back_round(back)
    one = standing[number]
    return f"Took round {number} back ({one.kind} of {one.frame}, read on {one.day}). It stays in the store, marked."
