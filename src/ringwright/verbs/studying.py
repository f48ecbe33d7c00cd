"""The verbs about break records and trials that the doors may ask for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ringwright.verbs.asked import DEMO, Asked

if TYPE_CHECKING:
    from pathlib import Path

    from ringwright.findings.finding import Answer, Estimate
    from ringwright.mill import Mill
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
    "shift_counts",
    "spread_of",
    "stated_spread",
    "study",
    "write_demo",
]

Progress = Callable[[int, int, str], None]
"""Hears of steps done, all steps, and what is being done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """The answers, where the records came from in words, and breaks by frame that fell in no recorded running time.

    ``rate`` is that of all the frames together, None where nothing ran.
    """

    answers: tuple[Answer, ...]
    origin: str
    outside: dict[str, int]
    rate: Estimate | None = None


def questions() -> dict[str, str]:
    """Give the questions by the word that asks for each."""
    from ringwright.study.whole import QUESTIONS

    return QUESTIONS


def study(asked: Asked, progress: Progress = lambda *_: None) -> Study:
    """Answer questions from the records of a mill; Refusal for unknown questions, frames or a store that is not one."""
    from ringwright.study.break_rates import mill_rate
    from ringwright.study.sides import sides_of_records
    from ringwright.study.whole import QUESTIONS, answer_all
    from ringwright.verbs.floor import known, open_records

    known(asked.questions, QUESTIONS, "the question")
    wanted = asked.questions or tuple(QUESTIONS)
    steps = len(wanted) + 1
    progress(0, steps, "counting")
    got = open_records(asked)
    sides = sides_of_records(got.records, got.engine, got.shapes)
    answers = answer_all(
        got.records, got.shapes, sides, wanted, at_patrol=asked.at_patrol,
        begun=lambda done, word: progress(done + 1, steps, QUESTIONS[word]),
    )  # fmt: skip
    progress(steps, steps, "")
    rate = mill_rate(got.records.cells)
    return Study(answers=tuple(answers), origin=got.origin, outside=dict(got.records.outside), rate=rate)


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
    from ringwright.verbs.floor import open_records

    cells = open_records(asked).records.cells
    odd = odd_shifts(cells)
    return shift_spread([by_shift(one, odd) for one in cells])


def shift_counts(asked: Asked, mill: Mill, yarn: str) -> tuple[list[tuple[int, float]], str]:
    """Give breaks and running time (spindle hours) of each shift in which the one frame asked for ran a yarn.

    The second of the answer says where the records came from. Refusal as the studies refuse.
    """
    import numpy as np

    from ringwright.verbs.floor import open_records

    got = open_records(asked, mill)
    (cells,) = got.records.cells
    part = cells.yarn == (cells.yarns.index(yarn) if yarn in cells.yarns else -1)
    shifts, place = np.unique(cells.shift[part], return_inverse=True)
    breaks = np.bincount(place, cells.breaks[part], len(shifts)).astype(int)
    hours = 1000 * np.bincount(place, cells.exposure[part], len(shifts))
    return list(zip(breaks.tolist(), hours.tolist(), strict=True)), got.origin


def stated_spread(common: float, own: float, breaks: float) -> ShiftSpread:
    """Give a scatter of shifts (CV) as a person states it, with the breaks of one frame in one shift."""
    from ringwright.study.trial import ShiftSpread

    return ShiftSpread(common=common, own=own, breaks=breaks)


def plan_trial(ratio: float, spread: ShiftSpread, power: float, level: float) -> TrialPlan:
    """Plan how many shifts a trial needs."""
    from ringwright.study.trial import plan_trial as planned

    return planned(ratio, spread, power, level)


def judge_trial(path: str, old: str | None, wanted: float, asked: Asked | None = None) -> Answer:
    """Judge a trial; the first setting in the file is the old one unless it is named.

    The file is a CSV table of shifts with their breaks; or, with ``asked``, one of which setting ran on which frame
    from when to when, and the breaks are those of the records.
    """
    from ringwright.study.trial_rows import read_trial
    from ringwright.study.trial_verdict import judge_trial as judged

    if asked is None:
        rows = read_trial(path)
        return judged(rows, old or rows[0].setting, wanted)
    from ringwright.study.trial_plan import read_runs, rows_of_runs
    from ringwright.verbs.floor import known, open_records

    runs = read_runs(path)
    frames = tuple(dict.fromkeys(run.frame for run in runs))
    got = open_records(replace(asked, frames=frames))
    known(frames, [cells.frame for cells in got.records.cells], "the frame with records")
    rows = rows_of_runs(runs, got.records.cells, got.shift_h)
    return judged(rows, old or runs[0].setting, wanted)
