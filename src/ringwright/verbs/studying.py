"""The verbs about break records and trials that the doors may ask for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path

    import ibis
    import ibis.expr.types as ir

    from ringwright.findings.finding import Answer
    from ringwright.mill import Frame, Mill
    from ringwright.study.records import FrameShape, Records
    from ringwright.study.trial import ShiftSpread, TrialPlan

# Each verb imports what it needs as it is called: the libraries of statistics take seconds to load.
# ruff: noqa: PLC0415

__all__ = [
    "DEMO",
    "Asked",
    "Study",
    "judge_trial",
    "plan_trial",
    "questions",
    "spread_of",
    "stated_spread",
    "study",
    "write_demo",
]

DEMO = "demo"
_MEMORY = "1GB"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked of the records: where they are ("demo" or a store), the mill, questions, frames, how times came."""

    records: str
    mill: str
    questions: tuple[str, ...] = ()
    frames: tuple[str, ...] = ()
    at_patrol: bool = False
    clean: bool = False
    seed: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """The answers, where the records came from in words, and breaks by frame that fell in no recorded running time."""

    answers: tuple[Answer, ...]
    origin: str
    outside: dict[str, int]


@dataclass(frozen=True, slots=True)
class _Gathered:
    records: Records
    shapes: dict[str, FrameShape]
    breaks: ir.Table
    engine: ibis.BaseBackend
    origin: str


def questions() -> dict[str, str]:
    """Give the questions by the word that asks for each."""
    from ringwright.study.whole import QUESTIONS

    return QUESTIONS


def study(asked: Asked) -> Study:
    """Answer questions from the records of a mill; Refusal for unknown questions, frames or a store that is not one."""
    from ringwright.study.sides import sides_of_records
    from ringwright.study.whole import QUESTIONS, answer_all

    _known(asked.questions, QUESTIONS, "the question")
    got = _gathered(asked)
    sides = sides_of_records(got.records, got.engine, got.shapes)
    wanted = asked.questions or tuple(QUESTIONS)
    answers = answer_all(got.records, got.shapes, sides, wanted, at_patrol=asked.at_patrol)
    return Study(answers=tuple(answers), origin=got.origin, outside=dict(got.records.outside))


def _known(given: Collection[str], known: Collection[str], what: str) -> None:
    from ringwright.refusal import Fault, Refusal, nearest

    faults = [
        Fault(where=what, got=f'"{name}"', wants="one that is known", mend=nearest(name, known))
        for name in given
        if name not in known
    ]
    if faults:
        raise Refusal(faults)


def _gathered(asked: Asked) -> _Gathered:
    """Open the records and count them by cell, spindle and cop."""
    from ringwright.refusal import Fault, Refusal
    from ringwright.study.engine import open_engine
    from ringwright.study.records import gather, read_stretches
    from ringwright.verbs.app import open_mill

    mill = open_mill(asked.mill)
    _known(asked.frames, mill.frames, "the frame")
    shapes = {name: _shape(frame) for name, frame in mill.frames.items() if not asked.frames or name in asked.frames}
    engine = open_engine(_MEMORY)
    if asked.records == DEMO:
        breaks, running, origin = _demo_tables(asked, mill)
    else:
        breaks, running, origin = _store_tables(asked, mill, engine)
    stretches = read_stretches(running, engine, shapes)
    if not stretches:
        mend = "Take in its running time with: ringwright take"
        wants = "at least one stretch, as rates need time"
        raise Refusal(Fault(where=f"the running time of {mill.name}", got="not in the records", wants=wants, mend=mend))
    records = gather(breaks, stretches, engine, shapes, mill.shift_length)
    return _Gathered(records, shapes, breaks, engine, origin)


def _demo_tables(asked: Asked, mill: Mill) -> tuple[ir.Table, ir.Table, str]:
    from ringwright.floor_demo.scenario import read_story
    from ringwright.floor_demo.simulate import simulate
    from ringwright.study.engine import table_in_memory

    story = read_story(clean=asked.clean)
    frame = next(iter(mill.frames.values()))
    drawn = simulate(story, frame.spindles, frame.sides, asked.seed)
    planted = "no fault planted" if asked.clean else "faults planted"
    origin = (
        f"invented records of the imaginary mill Alder Vale Spinning, drawn by chance (seed {asked.seed}), {planted}"
    )
    return table_in_memory(drawn.breaks), table_in_memory(drawn.running), origin


def _store_tables(asked: Asked, mill: Mill, engine: ibis.BaseBackend) -> tuple[ir.Table, ir.Table, str]:
    from ringwright.refusal import Fault, Refusal
    from ringwright.store.place import store_mill
    from ringwright.store.store import open_store
    from ringwright.study.engine import table_of_files

    with open_store(asked.records) as held:
        held.settle()
        paths = {table: held.paths(table, store_mill(mill.name)) for table in ("breaks", "running")}
    faults = [
        Fault(where=f"{asked.records}, {table} of {mill.name}", got="empty", wants="records taken in before",
              mend="Take them in with: ringwright take")
        for table, found in paths.items()
        if not found
    ]  # fmt: skip
    if faults:
        raise Refusal(faults)
    breaks, running = (table_of_files(engine, paths[table]) for table in ("breaks", "running"))
    return breaks, running, f"records of {mill.name} in {asked.records}"


def _shape(frame: Frame) -> FrameShape:
    """Tell how the drive groups the spindles; about 50 to a belt of a group drive is common practice."""
    from ringwright.study.drive_groups import tapes_of
    from ringwright.study.records import FrameShape

    of_one = {"four-spindle tape": (4, "tape"), "group belts": (50, "belt")}.get(frame.drive.kind)
    groups = None if of_one is None else tapes_of(frame.spindles, frame.sides, of_one[0])
    called = "group" if of_one is None else of_one[1]
    return FrameShape(spindles=frame.spindles, sides=frame.sides, groups=groups, group_called=called)


def write_demo(folder: str, *, clean: bool = False, seed: int = 1) -> list[Path]:
    """Write the demonstration's records (Parquet), their sources and its description; gives the paths."""
    import io

    import pyarrow.parquet as pq

    from ringwright.floor_demo.scenario import DESCRIPTION, read_story
    from ringwright.floor_demo.simulate import simulate
    from ringwright.report.folder import write_files
    from ringwright.verbs.app import open_mill

    frame = next(iter(open_mill(DEMO).frames.values()))
    drawn = simulate(read_story(clean=clean), frame.spindles, frame.sides, seed)
    files = {}
    for name, table in (("breaks", drawn.breaks), ("running", drawn.running)):
        text = io.BytesIO()
        pq.write_table(table, text, compression="zstd")
        files[f"{name}.parquet"] = text.getvalue()
        files[f"{name}.source.toml"] = (DESCRIPTION.parent / f"{name}.source.toml").read_bytes()
    if not clean:
        files[DESCRIPTION.name] = DESCRIPTION.read_bytes()
    return write_files(folder, files)


def spread_of(asked: Asked) -> ShiftSpread:
    """Find how the shifts of a mill's records scatter, for planning; shifts that stand out are left out."""
    from ringwright.study.cells import by_shift
    from ringwright.study.shifts import odd_shifts
    from ringwright.study.trial import shift_spread

    cells = _gathered(asked).records.cells
    odd = odd_shifts(cells)
    return shift_spread([by_shift(one, odd) for one in cells])


def stated_spread(common: float, own: float, breaks: float) -> ShiftSpread:
    """Give a scatter of shifts (CV) as a person states it, with the breaks of one frame in one shift."""
    from ringwright.study.trial import ShiftSpread

    return ShiftSpread(common=common, own=own, breaks=breaks)


def plan_trial(ratio: float, spread: ShiftSpread, power: float, level: float) -> TrialPlan:
    """Plan how many shifts a trial needs."""
    from ringwright.study.trial import plan_trial as planned

    return planned(ratio, spread, power, level)


def judge_trial(path: str, old: str | None, wanted: float) -> Answer:
    """Judge the trial in a CSV file of shifts; the first setting in it is the old one unless it is named."""
    from ringwright.study.trial_rows import read_trial
    from ringwright.study.trial_verdict import judge_trial as judged

    rows = read_trial(path)
    return judged(rows, old or rows[0].setting, wanted)
