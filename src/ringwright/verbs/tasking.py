"""The verbs about the work list that the doors may ask for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isnan
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ringwright.findings.finding import Answer
    from ringwright.mill import Frame, Mill
    from ringwright.refusal import Fault
    from ringwright.report.worklist_view import ListToShow, TickRow
    from ringwright.store.ticks import Tick
    from ringwright.study.records import FrameShape
    from ringwright.verbs.studying import Asked
    from ringwright.worklist.follow_up import FollowUp
    from ringwright.worklist.task import FrameFacts, WorkList

# Each verb imports what it needs as it is called: the libraries of statistics take seconds to load.
# ruff: noqa: PLC0415

__all__ = [
    "Done",
    "ShiftList",
    "Ticking",
    "Unticking",
    "history",
    "tick",
    "to_show",
    "untick",
    "work_list",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """A ticked task, and what the records say since."""

    tick: Tick
    since: FollowUp


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftList:
    """The list of a mill: what is to do, the last tick of each task done, where the records came from, the mill."""

    mill: str
    origin: str
    work: WorkList
    done: tuple[Done, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticking:
    """What a person says of a task done; ``when`` is a moment with its zone ("2026-04-01 06:40+02:00"), empty: now."""

    key: str
    note: str
    by: str
    when: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unticking:
    """What a person says who takes the last tick of a task back: its key, why, and who it is."""

    key: str
    note: str
    by: str


def work_list(asked: Asked) -> ShiftList:
    """Make the list from the records and the settings of a mill; Refusal as the studies refuse."""
    from ringwright.judgement import judge
    from ringwright.verbs.app import open_mill
    from ringwright.worklist.listing import make_list

    mill = open_mill(asked.mill)
    answers, origin, missing = _answers(asked, mill)
    wanted = [name for name in mill.frames if not asked.frames or name in asked.frames]
    facts = {name: _facts(mill, name) for name in wanted}
    rooms = {
        name: (one.frame, judge(mill, one.frame, one.yarn).rooms)
        for name, one in mill.settings.items()
        if one.frame in wanted
    }
    work = _with_creels(mill, wanted, facts, make_list(answers, rooms, facts, mill.shift_length / 3600))
    work = _with_speeds(asked, mill, wanted, facts, work)
    work = _with_centring(asked, mill, wanted, facts, work)
    work = replace(work, missing=(*missing, *work.missing))
    return ShiftList(mill=mill.name, origin=origin, work=work, done=_done(asked, mill, wanted))


def _answers(asked: Asked, mill: Mill) -> tuple[tuple[Answer, ...], str, tuple[str, ...]]:
    """Ask the studies; gives their answers, where the records came from, and what is missing.

    A store that holds rounds of readings and no records yet has no answers, and says so.
    """
    from ringwright.verbs.floor import known
    from ringwright.verbs.studying import study

    if not _has_rounds_alone(asked, mill):
        found = study(asked)
        return found.answers, found.origin, ()
    known(asked.frames, mill.frames, "the frame")
    line = f"End breaks: too early for any study, as {asked.records} holds no break records; take some in."
    return (), f"rounds of readings in {asked.records}, without break records", (line,)


def _has_rounds_alone(asked: Asked, mill: Mill) -> bool:
    """Say whether a store holds rounds of readings, but neither break records nor running time."""
    from ringwright.store import open_store
    from ringwright.store.place import store_mill
    from ringwright.verbs.studying import DEMO

    if asked.records == DEMO:
        return False
    with open_store(asked.records) as store:
        slug = store_mill(mill.name)
        records = any(store.paths(table, slug) for table in ("breaks", "moments", "running"))
        return not records and bool(store.rounds(mill.name))


def _with_creels(mill: Mill, wanted: list[str], facts: dict[str, FrameFacts], work: WorkList) -> WorkList:
    """Add what the creels ask for: the wanted frames' brakes, and the renewals of the mill's week."""
    from ringwright.creel.unwound import unwound
    from ringwright.creel.week import week
    from ringwright.worklist.creel_tasks import with_creels

    there = [one for one in mill.settings.values() if one.frame in wanted]
    found = {
        name: [unwound(mill, name, one.yarn) for one in there if one.frame == name]
        for name in dict.fromkeys(one.frame for one in there)
    }
    run = week(mill, there[0].frame, there[0].yarn) if there else None
    return with_creels(work, found, run, facts)


def _with_speeds(
    asked: Asked, mill: Mill, wanted: list[str], facts: dict[str, FrameFacts], work: WorkList
) -> WorkList:  # fmt: skip
    """Add what the last round of spindle speeds of each wanted frame asks for."""
    from ringwright.verbs.driving import speed_answers
    from ringwright.worklist.speed_tasks import with_speeds

    return with_speeds(work, speed_answers(mill, asked.records, wanted), facts)


def _with_centring(
    asked: Asked, mill: Mill, wanted: list[str], facts: dict[str, FrameFacts], work: WorkList
) -> WorkList:  # fmt: skip
    """Add what the last round of centring of each wanted frame asks for."""
    from ringwright.verbs.centring import frame_rounds
    from ringwright.worklist.centring_tasks import with_centring

    return with_centring(work, frame_rounds(mill, asked.mill, asked.records, wanted), facts)


def _facts(mill: Mill, name: str) -> FrameFacts:
    """Tell a frame's size and cautions; those about dust take the fibres of all yarns that the mill sets on it."""
    from ringwright.judgement.cautions import cautions
    from ringwright.worklist.task import FrameFacts

    frame = mill.frames[name]
    yarns = [one.yarn for one in mill.settings.values() if one.frame == name] or list(mill.yarns)
    known = [one for yarn in yarns for one in cautions(frame, mill.yarns[yarn])]
    return FrameFacts(name=name, spindles=frame.spindles, sides=frame.sides, cautions=tuple(dict.fromkeys(known)))


def to_show(found: ShiftList, asked: Asked) -> ListToShow:
    """Give the list as reports take it."""
    from ringwright.report.worklist_view import DoneRow, ListToShow

    patrol = " --stamped patrol" if asked.at_patrol else ""
    done = tuple(
        DoneRow(
            key=one.tick.key, what=one.tick.what, by=one.tick.by, note=one.tick.note, since=one.since,
            when=_told(one.tick.done_us),
        )
        for one in found.done
    )  # fmt: skip
    command = f"{asked.records} --mill {asked.mill}{patrol}"
    return ListToShow(mill=found.mill, origin=found.origin, command=command, work=found.work, done=done)


def tick(asked: Asked, given: Ticking, known: ShiftList | None = None) -> Tick:
    """Note in the store that a task of the list was done; Refusal that names every fault of what was given.

    ``known`` is the list that the person looked at; without it the list is made anew, which takes a whole study.
    """
    from ringwright.refusal import Fault, Refusal, nearest
    from ringwright.store import open_store
    from ringwright.store.ticks import Tick

    mill = _mill_of_a_store(asked)
    faults = _unfilled(given.note, given.by)
    done_us = _moment(given.when, faults)
    tasks = {one.key: one for one in (known or work_list(asked)).work.tasks}
    if given.key not in tasks:
        wants = "the key of a task on the list"
        faults.append(Fault(where="--tick", got=f'"{given.key}"', wants=wants, mend=nearest(given.key, tasks)))
    if faults:
        raise Refusal(faults)
    task = tasks[given.key]
    made = Tick(
        mill=mill, key=task.key, kind=task.kind, what=task.what, frame=task.frame,
        spindles=" ".join(str(one) for one in task.spindles), done_us=done_us, by=given.by.strip(),
        target=None if isnan(task.target) else task.target,
        note=given.note.strip(),
    )  # fmt: skip
    with open_store(asked.records) as store, store.ledger.change():
        store.ledger.add_tick(made)
    return made


def untick(asked: Asked, given: Unticking) -> Tick:
    """Take the last standing tick of a task back; it stays in the ledger, marked. Refusal that names every fault.

    The task need not be on the list any more. Gives the tick as it is now; an earlier tick of the task counts again.
    """
    from datetime import UTC, datetime

    from ringwright.refusal import Fault, Refusal, nearest
    from ringwright.store import open_store
    from ringwright.store.ticks import TakenBack

    mill = _mill_of_a_store(asked)
    faults = _unfilled(given.note, given.by)
    at_us = round(datetime.now(tz=UTC).timestamp()) * 1_000_000
    back = TakenBack(mill=mill, key=given.key, at_us=at_us, by=given.by.strip(), note=given.note.strip())
    with open_store(asked.records) as store, store.ledger.change():
        standing = {one.key: one for one in store.ledger.ticks(mill) if one.stands}
        if given.key not in standing:
            wants = "the key of a task that is ticked"
            mend = nearest(given.key, standing) if standing else "No task of this mill is ticked."
            faults.append(Fault(where="--untick", got=f'"{given.key}"', wants=wants, mend=mend))
        if faults:
            raise Refusal(faults)
        store.ledger.take_back_tick(back)
    return replace(standing[given.key], taken_back_us=at_us, taken_back_by=back.by, taken_back_note=back.note)


def history(asked: Asked) -> tuple[TickRow, ...]:
    """List every tick of a mill's store, first to last, those taken back too."""
    from ringwright.report.worklist_view import TickRow
    from ringwright.store import open_store

    mill = _mill_of_a_store(asked)
    with open_store(asked.records) as store:
        ticks = store.ledger.ticks(mill)
    return tuple(
        TickRow(
            key=one.key, what=one.what, when=_told(one.done_us), by=one.by, note=one.note,
            taken_back="" if one.taken_back_us is None
            else f"{_told(one.taken_back_us)} by {one.taken_back_by}: {one.taken_back_note}",
        )
        for one in ticks
    )  # fmt: skip


def _told(moment_us: int) -> str:
    """Write a moment for a person."""
    from datetime import UTC, datetime

    return f"{datetime.fromtimestamp(moment_us / 1e6, UTC):%Y-%m-%d %H:%M} UTC"


def _mill_of_a_store(asked: Asked) -> str:
    """Give the mill's name as the store writes it; Refusal for the demo, which has no store to keep a tick in."""
    from ringwright.refusal import Fault, Refusal
    from ringwright.store.place import store_mill
    from ringwright.verbs.app import open_mill
    from ringwright.verbs.studying import DEMO

    if asked.records == DEMO:
        mend = "Take the demo's records into a store first (ringwright study demo --write, then ringwright take)."
        raise Refusal(Fault(where="the records", got="the word demo", wants="a store, to keep the tick", mend=mend))
    return store_mill(open_mill(asked.mill).name)


def _unfilled(note: str, by: str) -> list[Fault]:
    """Give a fault for each of the two that a person must write."""
    from ringwright.refusal import Fault

    return [
        Fault(where=where, got="empty", wants="filled in")
        for where, text in (("--note", note), ("--by", by))
        if not text.strip()
    ]


def _moment(text: str, faults: list[Fault]) -> int:
    """Read a moment with its zone as µs UTC, now if empty; a fault is added if it has none or is yet to come."""
    from datetime import UTC, datetime

    from ringwright.refusal import Fault

    now = datetime.now(tz=UTC)
    wants = 'a moment that has passed, with its zone, as "2026-04-01 06:40+02:00"'
    try:
        read = datetime.fromisoformat(text.strip()) if text.strip() else now
    except ValueError:
        read = None
    if read is None or read.tzinfo is None or read > now:
        faults.append(Fault(where="--when", got=f'"{text}"', wants=wants))
        return 0
    return round(read.timestamp()) * 1_000_000


def _done(asked: Asked, mill: Mill, wanted: list[str]) -> tuple[Done, ...]:
    """Read the ticks of these frames (and of the whole mill) and hold each task's last one to the records since."""
    from ringwright.store import open_store
    from ringwright.store.place import store_mill
    from ringwright.verbs.studying import DEMO

    if asked.records == DEMO:
        return ()
    with open_store(asked.records) as store:
        every = store.ledger.ticks(store_mill(mill.name))
    ticks = [one for one in every if one.stands and one.frame in {*wanted, ""}]
    last = {one.key: one for one in ticks}
    if not last:
        return ()
    from ringwright.verbs.centring import centring_since
    from ringwright.verbs.ticked import TickedRecords
    from ringwright.worklist.follow_up import FollowUp

    by_records = any(not one.kind.startswith("centring") for one in last.values())
    shapes = {name: _shape(mill.frames[name]) for name in wanted}
    bare = _has_rounds_alone(asked, mill)
    held = TickedRecords(asked, mill.name, shapes, mill.shift_length) if by_records and not bare else None
    earlier = {
        key: max((t.done_us for t in ticks if t.key == key and t.done_us < one.done_us), default=0)
        for key, one in last.items()
    }

    def since(key: str, one: Tick) -> FollowUp:
        if one.kind.startswith("centring"):
            return centring_since(mill, asked.records, one)
        if held is None:
            return FollowUp(sentence="Nothing to compare: no break records are taken in.", sureness=None, cannot_say="")
        return held.since(one, earlier[key])

    return tuple(Done(tick=one, since=since(key, one)) for key, one in last.items())


def _shape(frame: Frame) -> FrameShape:
    from ringwright.study.records import FrameShape

    return FrameShape(spindles=frame.spindles, sides=frame.sides)
