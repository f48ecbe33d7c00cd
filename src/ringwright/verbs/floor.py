"""The records of a mill opened for the studies: an engine, its tables, and the counts that every answer rests on."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import ibis
import ibis.expr.types as ir

from ringwright.floor_demo.scenario import read_story
from ringwright.floor_demo.simulate import simulate
from ringwright.mill import Frame, Mill
from ringwright.refusal import Fault, Refusal, nearest
from ringwright.store.place import store_mill
from ringwright.store.store import open_store
from ringwright.study.drive_groups import tapes_of
from ringwright.study.engine import open_engine, table_in_memory, table_of_files
from ringwright.study.period import breaks_within, read_period, stretches_within
from ringwright.study.records import BREAK_COLUMNS, RUNNING_COLUMNS, FrameShape, Records, gather, read_stretches
from ringwright.verbs.app import open_mill
from ringwright.verbs.asked import DEMO, Asked

__all__ = ["Opened", "engine_for", "known", "open_records", "shape_of", "store_tables"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """Counts of a mill's records, its frames as studies know them, the engine, the origin in words, the shift (h)."""

    records: Records
    shapes: dict[str, FrameShape]
    engine: ibis.BaseBackend
    origin: str
    shift_h: float


def open_records(asked: Asked, mill: Mill | None = None) -> Opened:
    """Open the records and count them by cell, spindle and cop; Refusal that says what is missing or unknown.

    ``mill`` stands in for the one asked for by name where it is open already.
    """
    mill, period = mill or open_mill(asked.mill), read_period(asked.since, asked.until)
    known(asked.frames, mill.frames, "the frame")
    shapes = {name: shape_of(frame) for name, frame in mill.frames.items() if not asked.frames or name in asked.frames}
    engine = engine_for(asked)
    if asked.records == DEMO:
        breaks, running, origin = _demo_tables(asked, mill)
    else:
        breaks, running = store_tables(asked.records, mill.name, engine)
        origin = f"records of {mill.name} in {asked.records}"
    stretches = read_stretches(running, engine, shapes)
    if not period.whole:
        breaks, origin = breaks_within(breaks, period), f"{origin}, {period.words}"
        stretches = [one for one in (stretches_within(part, period) for part in stretches) if (one.kind == "run").any()]
    if not stretches:
        mend = "Take in its running time with: ringwright take" if period.whole else "Ask for another time."
        wants = "at least one stretch, as rates need time"
        where = f"the running time of {mill.name}" + (f" {period.words}" if period.words else "")
        raise Refusal(Fault(where=where, got="not in the records", wants=wants, mend=mend))
    records = gather(breaks, stretches, engine, shapes, mill.shift_length)
    return Opened(records=records, shapes=shapes, engine=engine, origin=origin, shift_h=mill.shift_length / 3600)


def known(given: Collection[str], held: Collection[str], what: str) -> None:
    """Refuse names that are not known, each with the nearest that is."""
    faults = [
        Fault(where=what, got=f'"{name}"', wants="one that is known", mend=nearest(name, held))
        for name in given
        if name not in held
    ]
    if faults:
        raise Refusal(faults)


def engine_for(asked: Asked) -> ibis.BaseBackend:
    """Open the engine that is asked for."""
    if asked.engine == "duckdb":
        return open_engine(asked.memory)
    from ringwright.study.spark import open_spark  # noqa: PLC0415 - only with the extra

    return open_spark(asked.memory, asked.master)


def _demo_tables(asked: Asked, mill: Mill) -> tuple[ir.Table, ir.Table, str]:
    story = read_story(clean=asked.clean)
    frame = next(iter(mill.frames.values()))
    drawn = simulate(story, frame.spindles, frame.sides, asked.seed)
    planted = "no fault planted" if asked.clean else "faults planted"
    origin = (
        f"invented records of the imaginary mill Alder Vale Spinning, drawn by chance (seed {asked.seed}), {planted}"
    )
    return table_in_memory(drawn.breaks), table_in_memory(drawn.running), origin


def store_tables(store: str, mill: str, engine: ibis.BaseBackend) -> tuple[ir.Table, ir.Table]:
    """Give the breaks and the running time of a mill in a store to the engine; Refusal for what is not there."""
    with open_store(store) as held:
        held.settle()
        columns = {"breaks": BREAK_COLUMNS, "running": RUNNING_COLUMNS}
        paths = {table: held.whole_paths(table, store_mill(mill), names) for table, names in columns.items()}
    faults = [
        Fault(where=f"{store}, {table} of {mill}", got="empty", wants="records taken in before",
              mend="Take them in with: ringwright take")
        for table, found in paths.items()
        if not found
    ]  # fmt: skip
    if faults:
        raise Refusal(faults)
    return table_of_files(engine, paths["breaks"]), table_of_files(engine, paths["running"])


def shape_of(frame: Frame) -> FrameShape:
    """Tell how the drive groups the spindles; about 50 to a belt of a group drive is common practice."""
    of_one = {"four-spindle tape": (4, "tape"), "group belts": (50, "belt")}.get(frame.drive.kind)
    groups = None if of_one is None else tapes_of(frame.spindles, frame.sides, of_one[0])
    called = "group" if of_one is None else of_one[1]
    return FrameShape(spindles=frame.spindles, sides=frame.sides, groups=groups, group_called=called)
