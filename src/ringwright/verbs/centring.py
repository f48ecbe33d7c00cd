"""The verbs about centring that the doors may ask for: judge a round, keep it, list the rounds kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ringwright.centring.found import Found, TakenRound
    from ringwright.mill import Mill
    from ringwright.report.sheets.sheet import Sheet
    from ringwright.store import Round
    from ringwright.store.ticks import Tick
    from ringwright.worklist.centring_tasks import FrameRound
    from ringwright.worklist.follow_up import FollowUp

# Each verb imports what it needs as it is called, so that no other command waits for it.
# ruff: noqa: PLC0415

__all__ = [
    "AskedCentring", "Centred", "aside_csv", "centring", "centring_of", "centring_since", "frame_and_yarn",
    "frame_rounds", "judge", "kept_rounds", "line_faults", "rounds_of", "rounds_of_demo", "store_there",
    "with_in_time",
]  # fmt: skip

DEMO = "demo"
KIND = "centring"
TYPED = "the text typed"


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedCentring:
    """What is asked: a file of readings or a text, and a store that has or takes rounds.

    ``keep`` is the store that takes this round, ``rounds`` the store whose rounds are looked at; ``when`` is the day or
    moment of reading, empty for now. Without readings the last round of the store is judged, or the demo's. A text
    comes with the ``name`` of its file, if it has one. ``frame_alone`` asks for no round at all.
    """

    readings: str = ""
    text: str = ""
    name: str = ""
    frame_alone: bool = False
    keep: str = ""
    rounds: str = ""
    when: str = ""
    by: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Centred:
    """The answer: what was found, its sheet, and what became of the round in the store ("" where none was asked)."""

    found: Found
    sheet: Sheet
    kept: str = ""


def centring(where: str, names: tuple[str, str], asked: AskedCentring) -> Centred:
    """Judge a round of centring of a frame and yarn; ``names`` may leave the yarn empty for the frame's first setting.

    Refusal where nothing can be judged or kept; rows that cannot be used are set aside and told on the sheet.
    """
    from ringwright.verbs.app import open_mill

    return centring_of(open_mill(where), where, names, asked)


def centring_of(mill: Mill, where: str, names: tuple[str, str], asked: AskedCentring) -> Centred:
    """Judge a round for a mill that was opened already, ``where`` being its place or the word demo; as ``centring``."""
    frame, yarn = frame_and_yarn(mill, *names)
    rounds, kept = _rounds(mill, where, frame, asked)
    return judge(mill, (frame, yarn), rounds, kept)


def judge(mill: Mill, names: tuple[str, str], rounds: Sequence[TakenRound], kept: str = "") -> Centred:
    """Judge the last of some rounds of a frame and yarn, the earlier ones telling its drift."""
    from ringwright.centring.found import find
    from ringwright.report.sheets.centring import centring_sheet

    found = find(mill, *names, rounds)
    return Centred(found=found, sheet=centring_sheet(found), kept=kept)


def with_in_time(centred: Centred, spindle: int) -> Centred:
    """Add to the sheet what a run through time says of a spindle, first of all; Refusal if it was not read."""
    from dataclasses import replace

    from ringwright.report.sheets.centring_in_time import in_time_rows

    rows = in_time_rows(centred.found, spindle)
    most = f"{rows[0].name} {rows[0].value} {rows[0].unit} ({rows[0].note})."
    sheet = centred.sheet
    return replace(centred, sheet=replace(sheet, answer=f"{most} {sheet.answer}", rows=(*rows, *sheet.rows)))


def frame_and_yarn(mill: Mill, frame: str, yarn: str) -> tuple[str, str]:
    """Give frame and yarn, the yarn of the frame's first setting where none is named; Refusal for an unknown name."""
    from ringwright.mill import setting_for
    from ringwright.refusal import Fault, Refusal, nearest

    if frame not in mill.frames:
        wants = "the name of a frame of this mill"
        raise Refusal(Fault(where="frame", got=f'"{frame}"', wants=wants, mend=nearest(frame, mill.frames)))
    set_on_it = [one.yarn for one in mill.settings.values() if one.frame == frame]
    if not yarn and not set_on_it:
        wants, mend = "set with a yarn", f"Write a [setting.{frame}-YARN] table."
        raise Refusal(Fault(where=f"frame {frame}", got="without a setting", wants=wants, mend=mend))
    setting_for(mill, frame, yarn or set_on_it[0])
    return frame, yarn or set_on_it[0]


def _rounds(mill: Mill, where: str, frame: str, asked: AskedCentring) -> tuple[list[TakenRound], str]:
    """Give the rounds to judge, first to last, the last being the one asked about; and what became of it."""
    from ringwright.refusal import Fault, Refusal
    given = _given(mill, frame, asked)
    store = asked.keep or asked.rounds
    if given is None:
        rounds = kept_rounds(mill, store, frame) if store else rounds_of_demo(mill, frame) if where == DEMO else []
        if not rounds:
            got = f"without a round of {frame}" if store else "not given"
            mend = "Give a file with --readings, or a store that holds rounds with --rounds."
            raise Refusal(Fault(where=store or "the readings", got=got, wants="readings of this frame", mend=mend))
        return rounds, ""
    kept = _keep(mill, frame, given, asked) if asked.keep else ""
    there = kept_rounds(mill, store, frame) if store else []
    return [*(one for one in there if one.read_us < given.read_us), given], kept


def _given(mill: Mill, frame: str, asked: AskedCentring) -> TakenRound | None:
    """Read what was given as a round, None if nothing was."""
    from datetime import UTC, datetime
    from pathlib import Path

    from ringwright.centring.found import TakenRound
    from ringwright.centring.readings import ReadingsTaken, read_centring
    from ringwright.economy.csv_table import text_of
    from ringwright.events.when import read_when

    if not asked.readings and not asked.text.strip() and not asked.frame_alone:
        return None
    name = Path(asked.readings).name if asked.readings else asked.name or TYPED
    text = text_of(asked.readings) if asked.readings else asked.text
    read_us = read_when(asked.when, "--when") if asked.when else round(datetime.now(UTC).timestamp()) * 1_000_000
    nothing = ReadingsTaken(name=name, readings=(), set_aside=(), notes=())
    taken = nothing if asked.frame_alone else read_centring(text, name, mill.frames[frame])
    return TakenRound(taken=taken, read_us=read_us, origin=name, text=text)


def _keep(mill: Mill, frame: str, given: TakenRound, asked: AskedCentring) -> str:
    """Keep a round in the store; gives what became of it in a sentence."""
    from ringwright.refusal import Fault, Refusal
    from ringwright.store import Round, open_store

    if not asked.by.strip():
        raise Refusal(Fault(where="--by", got="empty", wants="the name of who read the round, to keep it"))
    if not given.taken.readings:
        first = f" ({given.taken.set_aside[0].reason})" if given.taken.set_aside else ""
        got, wants = f"without a usable row{first}", "a round with one usable row at least, to keep it"
        raise Refusal(Fault(where=given.taken.name, got=got, wants=wants))
    rows = tuple(
        {"line": one.line, "spindle": one.spindle, "part": one.part, "along": one.along, "out": one.out,
         "weight": one.weight}
        for one in given.taken.readings
    )  # fmt: skip
    made = Round(kind=KIND, frame=frame, read_us=given.read_us, by=asked.by.strip(), note=asked.note.strip(),
                 source=given.taken.name if asked.readings or asked.name else "typed", text=given.text, readings=rows,
                 set_aside=given.taken.set_aside)  # fmt: skip
    with open_store(asked.keep, new=True) as store:
        kept, new = store.keep_round(mill.name, made)
    what = f"{len(rows)} rows understood, {len(made.set_aside)} set aside with their lines"
    if not new:
        return f"This round is known already, as round {kept.number} in {asked.keep}."
    return f"Kept as round {kept.number} in {asked.keep}: {what}."


def kept_rounds(mill: Mill, store: str, frame: str) -> list[TakenRound]:
    """Give the rounds of centring of a frame that a store keeps, as they were understood when they were kept."""
    from ringwright.store import open_store

    with open_store(store) as opened:
        return [_taken(one) for one in opened.rounds(mill.name, KIND, frame)]


def _taken(one: Round) -> TakenRound:
    from ringwright.centring.found import TakenRound
    from ringwright.centring.readings import Reading, ReadingsTaken

    lines = one.text.splitlines()
    readings = tuple(Reading(text=lines[row["line"] - 1], **row) for row in one.readings)
    name = f"round {one.number} of {one.day} ({one.source})"
    taken = ReadingsTaken(name=name, readings=readings, set_aside=one.set_aside, notes=())
    return TakenRound(taken=taken, read_us=one.read_us, origin=f"{name}, read by {one.by}", text=one.text)


def rounds_of_demo(mill: Mill, frame: str) -> list[TakenRound]:
    """Give the demonstration's invented rounds of a frame, first to last; none where there is none."""
    from ringwright.centring.found import TakenRound
    from ringwright.centring.readings import read_centring
    from ringwright.events.when import read_when
    from ringwright.floor_demo.centring import demo_rounds

    return [
        TakenRound(taken=read_centring(one.text, one.name, mill.frames[frame]), read_us=read_when(one.day, one.name),
                   origin=f"{one.name}, invented", text=one.text)
        for one in demo_rounds(frame)
    ]  # fmt: skip


def rounds_of(mill: Mill, where: str, store: str, frame: str) -> list[TakenRound]:
    """Give the rounds of a frame that a store keeps or, for the word demo, the demonstration's own."""
    if store == DEMO:
        return rounds_of_demo(mill, frame) if where == DEMO else []
    return kept_rounds(mill, store, frame)


def frame_rounds(mill: Mill, where: str, records: str, frames: Sequence[str]) -> list[FrameRound]:
    """Judge the last round of each frame for the work list, from a store or, for the word demo, the demo's own."""
    from datetime import UTC, datetime

    from ringwright.centring.found import find
    from ringwright.worklist.centring_tasks import FrameRound

    found = []
    now_us = None if records == DEMO else round(datetime.now(UTC).timestamp()) * 1_000_000
    for name in frames:
        if not any(one.frame == name for one in mill.settings.values()):
            continue
        rounds = rounds_of(mill, where, records, name)
        if not rounds:
            continue
        told = find(mill, *frame_and_yarn(mill, name, ""), rounds)
        more = "" if records == DEMO else f" --rounds {records}"
        found.append(FrameRound(judged=told.judged, read_us=told.read_us, drifts=told.drifts, now_us=now_us,
                                command=f"ringwright centring {where} --frame {name}{more}"))  # fmt: skip
    return found


def centring_since(mill: Mill, store: str, tick: Tick) -> FollowUp:
    """Hold a ticked task of centring to the last round that was read since."""
    from ringwright.centring.found import judged_round
    from ringwright.centring.words import day_after
    from ringwright.worklist.centring_tasks import follow_up_of_round

    later = [one for one in kept_rounds(mill, store, tick.frame) if one.read_us > tick.done_us]
    spindles = [int(one) for one in tick.spindles.split()]
    if not later or tick.frame not in mill.frames:
        return follow_up_of_round(spindles, None, "")
    last = later[-1]
    return follow_up_of_round(spindles, judged_round(last.taken, mill.frames[tick.frame]), day_after(last.read_us, 0.0))


def store_there(folder: str) -> bool:
    """Say whether a folder is a store already; one that is to be made with its first round is not."""
    from pathlib import Path

    from ringwright.store.ledger import LEDGER

    return bool(folder) and (Path(folder) / LEDGER).exists()


def line_faults(text: str, mill: Mill, frame: str) -> tuple[str, ...]:
    """Hold one typed reading, under its heading, against what a row must be; gives a sentence for each fault."""
    from ringwright.centring.readings import read_centring

    return tuple(one.reason for one in read_centring(text, "the reading", mill.frames[frame]).set_aside)


def aside_csv(centred: Centred) -> str:
    """Write every row set aside, with its line and reason, as CSV."""
    import csv
    import io

    made = io.StringIO()
    writer = csv.writer(made, lineterminator="\n")
    writer.writerow(("line", "row", "why"))
    writer.writerows((one.line, one.text, one.reason) for one in centred.found.judged.round.set_aside)
    return made.getvalue()
