"""A trial as it was run: which setting was on which frame from when to when; its breaks are those of the records."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from ringwright.refusal import Fault, Refusal
from ringwright.study.cells import Cells, by_shift
from ringwright.study.period import Period, read_period
from ringwright.study.trial_rows import read_lines
from ringwright.study.trial_verdict import ShiftRow

__all__ = ["HEADINGS", "Run", "read_runs", "rows_of_runs"]

HEADINGS: Final = ("frame", "setting", "from", "to")
"""The columns of the file; others are left alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One frame's time with one setting, by the mill's clock; ``line`` of the file ``path`` says so."""

    frame: str
    setting: str
    period: Period
    path: str
    line: int


def read_runs(path: str, text: str | None = None) -> list[Run]:
    """Read which setting ran when, from a file or a ``text`` that is called so; Refusal that names every line."""
    faults: list[Fault] = []
    runs: list[Run] = []
    for line, texts in read_lines(path, HEADINGS, faults, text):
        try:
            period = read_period(texts["from"], texts["to"])
        except Refusal as refusal:
            faults += [
                Fault(where=f"{path}, line {line}, {one.where.removeprefix('--')}", got=one.got, wants=one.wants)
                for one in refusal.faults
            ]
            continue
        one = Run(frame=texts["frame"], setting=texts["setting"], period=period, path=path, line=line)
        twice = next((other for other in runs if _overlap(one, other)), None)
        if twice:
            got = f"{one.frame} with {one.setting} at a time that line {twice.line} has too"
            faults.append(Fault(where=f"{path}, line {line}", got=got, wants="a time of its own for each setting"))
        runs.append(one)
    if not runs and not faults:
        faults.append(Fault(where=path, got="without rows", wants="a row for each frame and setting"))
    if faults:
        raise Refusal(faults)
    return runs


def _overlap(one: Run, other: Run) -> bool:
    if one.frame != other.frame:
        return False
    starts = [run.period.from_minute or 0 for run in (one, other)]
    ends = [2**40 if run.period.to_minute is None else run.period.to_minute for run in (one, other)]
    return starts[0] < ends[1] and starts[1] < ends[0]


def rows_of_runs(runs: Sequence[Run], frames: Sequence[Cells], shift_h: float) -> list[ShiftRow]:
    """Give breaks and running time of the whole shifts of each run; shifts with little running are left out.

    Refusal for a run without any such shift, and where more than one yarn was spun in the shifts of the trial: then a
    difference of the yarns would pass for one of the settings.
    """
    tables = {cells.frame: (cells, by_shift(cells)) for cells in frames}
    rows: list[ShiftRow] = []
    faults: list[Fault] = []
    yarns: set[str] = set()
    for run in runs:
        cells, table = tables[run.frame]
        held = [k for k, n in enumerate(table.shift.tolist()) if _within(cells.shift_names[n], shift_h, run.period)]
        if not held:
            got = f"{run.frame} with {run.setting} {run.period.words}, in which no whole shift is recorded"
            faults.append(Fault(where=f"{run.path}, line {run.line}", got=got, wants="at least one whole shift"))
        yarns |= {cells.yarns[k] for k in np.unique(cells.yarn[np.isin(cells.shift, table.shift[held])]).tolist()}
        rows += [
            ShiftRow(
                shift=cells.shift_names[int(table.shift[k])], frame=run.frame, setting=run.setting,
                breaks=int(table.breaks[k]), exposure=float(table.exposure[k]),
            )
            for k in held
        ]  # fmt: skip
    if len(yarns) > 1:
        wants = "one yarn, else a difference of the yarns passes for one of the settings"
        faults.append(Fault(where="the shifts of the trial", got=f"yarns {', '.join(sorted(yarns))}", wants=wants))
    if faults:
        raise Refusal(faults)
    return rows


def _within(shift: str, shift_h: float, period: Period) -> bool:
    """Say whether a shift, named by its local start, lies whole in a period."""
    begin = read_period(shift, "").from_minute or 0
    end = period.to_minute
    return (period.from_minute or 0) <= begin and (end is None or begin + round(shift_h * 60) <= end)
