"""The verbs about break records that the doors may ask for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ringwright.verbs.asked import DEMO, Asked

if TYPE_CHECKING:
    from pathlib import Path

    from ringwright.findings.finding import Answer, Estimate
    from ringwright.mill import Mill

# Each verb imports what it needs as it is called: the libraries of statistics take seconds to load.
# ruff: noqa: PLC0415

__all__ = [
    "DEMO",
    "Asked",
    "Study",
    "questions",
    "shift_counts",
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
    from ringwright.study.questions import QUESTIONS

    return QUESTIONS


def study(asked: Asked, progress: Progress = lambda *_: None) -> Study:
    """Answer questions from the records of a mill; Refusal for unknown questions, frames or a store that is not one."""
    from ringwright.study.break_rates import mill_rate
    from ringwright.study.questions import QUESTIONS
    from ringwright.study.sides import sides_of_records
    from ringwright.study.whole import answer_all
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
