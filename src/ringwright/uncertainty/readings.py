"""Tension readings taken at the frame, and the places of the doff at which they were taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ringwright.economy.csv_table import Asked, Line, read_table
from ringwright.refusal import Fault, Refusal
from ringwright.setting.places import DoffProblem, Places, Sampling, lay_out
from ringwright.units import parse, show

__all__ = ["Reading", "places_of", "read_readings"]

At = Literal["guide", "triangle"]
GRID = Sampling(strokes=2000, places=120)
COLUMNS = {
    "minute": Asked("time", needed=False, low=0.0, range="0 min or later"),
    "share": Asked("share", needed=False, low=0.0, high=1.0, range="a share of the doff's yarn from 0 to 100 %"),
    "stroke": Asked(),
    "at": Asked(needed=False, words=("guide", "triangle")),
    "tension": Asked("force", low=5e-3, high=20.0, range="a tension from 0.5 cN to 2 000 cN"),
    "traveller": Asked("mass", needed=False, low=5e-6, high=6.3e-4, range="a traveller mass from 5 mg to 630 mg"),
    "speed": Asked("rotation", needed=False, low=100.0, high=3200.0, range="a spindle speed from 1 000 to 30 000 rpm"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading: where and when it was taken, and the tension [N]; None for what was as set."""

    where: str
    tension: float
    stroke: float
    """Share of the way up the stroke, 0 foot to 1 top."""
    at: At = "guide"
    time: float | None = None
    """Since the start of the doff [s]; else ``share`` is given."""
    share: float | None = None
    traveller: float | None = None
    speed: float | None = None
    """Spindle speed when it was taken [rad/s]."""


def read_readings(text: str, name: str) -> list[Reading]:
    """Read readings from CSV; Refusal with every fault.

    Columns: tension; minute or share of the doff's yarn; stroke (foot, top, or the share of the way up); at (guide,
    the standing place, or triangle); and where they were not as set, traveller and speed.
    """
    return [_reading(line) for line in read_table(text, name, COLUMNS, _faults)]


def _faults(line: Line) -> list[Fault]:
    """Give the faults of a line that no single cell shows."""
    n, faults = line.numbers, []
    if ("minute" in n) == ("share" in n):
        got = "both given" if "minute" in n else "both left out"
        faults.append(Fault(where=f"{line.where}, minute and share", got=got, wants="one of them"))
    word = line.words.get("stroke")
    if word is not None and _stroke(word) is None:
        wants = "foot, top, or the share of the way up, as 60 %"
        faults.append(Fault(where=f"{line.where}, stroke", got=f'"{word}"', wants=wants))
    return faults


def _reading(line: Line) -> Reading:
    n = line.numbers
    return Reading(
        where=line.where, tension=n["tension"], stroke=_stroke(line.words["stroke"]) or 0.0, time=n.get("minute"),
        share=n.get("share"), at="triangle" if line.words.get("at") == "triangle" else "guide",
        traveller=n.get("traveller"), speed=n.get("speed"),
    )  # fmt: skip


def _stroke(word: str) -> float | None:
    """Read the place in the stroke as the share of the way up; None if it is none."""
    if word in {"foot", "top"}:
        return float(word == "top")
    try:
        value = parse(word, "share", "")
    except Refusal:
        return None
    return value if 0 <= value <= 1 else None


def places_of(problem: DoffProblem, readings: Sequence[Reading]) -> Places:
    """Give the place of each reading, the nearest of a fine layout; Refusal for readings after the doff's end.

    Foot and top are met exactly, places between to within 1 % of the stroke.
    """
    grid = lay_out(problem, GRID)
    row = int(np.sum(grid.stroke == grid.stroke[0]))
    first = grid.ring_height[:row]
    up = (first[: int(np.argmax(first)) + 1] - first[0]) / (first.max() - first[0])
    faults, index = [], []
    for reading in readings:
        column = int(np.argmin(np.abs(up - reading.stroke)))
        if reading.time is not None and reading.time > problem.doff_time * (1 + 1e-9):
            got, last = (show(t, "time", "min") for t in (reading.time, problem.doff_time))
            mend = "Give the minute counted from the start of this doff."
            faults.append(
                Fault(where=f"{reading.where}, minute", got=got, wants=f"within the doff's {last}", mend=mend)
            )
        track, wanted = (grid.share, reading.share) if reading.time is None else (grid.time, reading.time)
        index.append(column + row * int(np.argmin(np.abs(track[column::row] - (wanted or 0.0)))))
    if faults:
        raise Refusal(faults)
    return grid.take(np.array(index, dtype=np.int_))
