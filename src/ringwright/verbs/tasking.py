"""The verbs about the work list that the doors may ask for."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ringwright.mill import Frame, Mill
    from ringwright.refusal import Fault
    from ringwright.report.worklist_view import ListToShow
    from ringwright.store.ticks import Tick
    from ringwright.study.records import FrameShape
    from ringwright.verbs.studying import Asked
    from ringwright.worklist.follow_up import FollowUp
    from ringwright.worklist.task import FrameFacts, WorkList

# Each verb imports what it needs as it is called: the libraries of statistics take seconds to load.
# ruff: noqa: PLC0415

__all__ = ["Done", "ShiftList", "Ticking", "tick", "to_show", "work_list"]


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


def work_list(asked: Asked) -> ShiftList:
    """Make the list from the records and the settings of a mill; Refusal as the studies refuse."""
    from ringwright.judgement import judge
    from ringwright.verbs.app import open_mill
    from ringwright.verbs.studying import study
    from ringwright.worklist.listing import make_list

    mill, found = open_mill(asked.mill), study(asked)
    wanted = [name for name in mill.frames if not asked.frames or name in asked.frames]
    facts = {name: _facts(mill, name) for name in wanted}
    rooms = {
        name: (one.frame, judge(mill, one.frame, one.yarn).rooms)
        for name, one in mill.settings.items()
        if one.frame in wanted
    }
    work = make_list(found.answers, rooms, facts, mill.shift_length / 3600)
    return ShiftList(mill=mill.name, origin=found.origin, work=work, done=_done(asked, mill, wanted))


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
    from datetime import UTC, datetime

    from ringwright.report.worklist_view import DoneRow, ListToShow

    patrol = " --stamped patrol" if asked.at_patrol else ""
    done = tuple(
        DoneRow(
            key=one.tick.key, what=one.tick.what, by=one.tick.by, note=one.tick.note, since=one.since,
            when=f"{datetime.fromtimestamp(one.tick.done_us / 1e6, UTC):%Y-%m-%d %H:%M} UTC",
        )
        for one in found.done
    )  # fmt: skip
    command = f"{asked.records} --mill {asked.mill}{patrol}"
    return ListToShow(mill=found.mill, origin=found.origin, command=command, work=found.work, done=done)


def tick(asked: Asked, given: Ticking) -> Tick:
    """Note in the store that a task of the list was done; Refusal that names every fault of what was given."""
    from ringwright.refusal import Fault, Refusal, nearest
    from ringwright.store import open_store
    from ringwright.store.place import store_mill
    from ringwright.store.ticks import Tick
    from ringwright.verbs.app import open_mill
    from ringwright.verbs.studying import DEMO

    if asked.records == DEMO:
        mend = "Take the demo's records into a store first (ringwright study demo --write, then ringwright take)."
        raise Refusal(Fault(where="the records", got="the word demo", wants="a store, to keep the tick", mend=mend))
    faults = [
        Fault(where=where, got="empty", wants="filled in")
        for where, text in (("--note", given.note), ("--by", given.by))
        if not text.strip()
    ]
    done_us = _moment(given.when, faults)
    tasks = {one.key: one for one in work_list(asked).work.tasks}
    if given.key not in tasks:
        wants = "the key of a task on the list"
        faults.append(Fault(where="--tick", got=f'"{given.key}"', wants=wants, mend=nearest(given.key, tasks)))
    if faults:
        raise Refusal(faults)
    task = tasks[given.key]
    made = Tick(
        mill=store_mill(open_mill(asked.mill).name), key=task.key, kind=task.kind, what=task.what, frame=task.frame,
        spindles=" ".join(str(one) for one in task.spindles), done_us=done_us, by=given.by.strip(),
        target=None if isnan(task.target) else task.target,
        note=given.note.strip(),
    )  # fmt: skip
    with open_store(asked.records) as store, store.ledger.change():
        store.ledger.add_tick(made)
    return made


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
        ticks = [one for one in store.ledger.ticks(store_mill(mill.name)) if one.frame in {*wanted, ""}]
    last = {one.key: one for one in ticks}
    if not last:
        return ()
    from ringwright.verbs.ticked import TickedRecords

    held = TickedRecords(asked, mill.name, {name: _shape(mill.frames[name]) for name in wanted}, mill.shift_length)
    earlier = {
        key: max((t.done_us for t in ticks if t.key == key and t.done_us < one.done_us), default=0)
        for key, one in last.items()
    }
    return tuple(Done(tick=one, since=held.since(one, earlier[key])) for key, one in last.items())


def _shape(frame: Frame) -> FrameShape:
    from ringwright.study.records import FrameShape

    return FrameShape(spindles=frame.spindles, sides=frame.sides)
