"""A round of spindle speeds as read with a stroboscope: good rows are kept, the others set aside in words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from ringwright.events.round_table import AsideLine, Column, RoundRow, read_round_table
from ringwright.events.when import read_when
from ringwright.mill import Frame
from ringwright.refusal import Refusal
from ringwright.units import from_unit, show

__all__ = ["SpeedReading", "SpeedRound", "read_speeds"]

AGREE: Final = 0.01
"""Readings of one spindle that differ by more than this share contradict each other: our own estimate."""
STILL: Final = (1 / 4, 1 / 3, 1 / 2, 2 / 3, 3 / 2, 2.0, 3.0)
"""Flash rates, in turns of the spindle, at which one mark may stand still too: n / m of the speed."""
NEAR_STILL: Final = 0.03
LEAST, MOST = from_unit(500, "rotation", "rpm"), from_unit(60000, "rotation", "rpm")


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedReading:
    """One reading: its line in the text, the spindle (from 1), its speed [rad/s], and when (µs UTC, or None)."""

    line: int
    spindle: int
    speed: float
    when_us: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedRound:
    """A round on one frame: the readings used, the rows set aside with their reasons, and what is odd about it."""

    frame: str
    readings: tuple[SpeedReading, ...]
    set_aside: tuple[AsideLine, ...]
    notes: tuple[str, ...]

    @property
    def by_spindle(self) -> dict[int, float]:
        """The speed of each spindle read [rad/s]: the median where it was read more than once."""
        all_of: dict[int, list[float]] = {}
        for one in self.readings:
            all_of.setdefault(one.spindle, []).append(one.speed)
        return {spindle: float(np.median(speeds)) for spindle, speeds in sorted(all_of.items())}


def read_speeds(text: str, name: str, frame: Frame, expected: float) -> SpeedRound:
    """Read a round of one frame from CSV; ``expected`` is the mean speed that the drive should give [rad/s].

    Columns: spindle, speed (with its unit in the heading or the cell; a heading "rpm" is understood), and if wanted
    frame and moment. Set aside: rows that cannot be read, another frame's, spindles that are not there, readings that
    contradict, and those at a simple fraction of the speed, where a stroboscope stands still as well. Raises Refusal
    where the heading cannot be used.
    """
    n = int(frame.spindles)
    told = f"from {show(LEAST, 'rotation', 'rpm')} to {show(MOST, 'rotation', 'rpm')}"
    columns = {
        "frame": Column(needed=False),
        "spindle": Column(whole=True, low=1, high=n, range=f"a spindle of {frame.name}, from 1 to {n}"),
        "speed": Column(quantity="rotation", low=LEAST, high=MOST, range=f"a spindle speed {told}"),
        "moment": Column(needed=False),
    }
    table = read_round_table(_heading(text), name, columns)
    aside: list[AsideLine] = [
        AsideLine(line=one.line, text=_line(text, one.line), reason=one.reason) for one in table.set_aside
    ]
    good = [one for row in table.rows if (one := _reading(row, name, frame.name, expected, aside)) is not None]
    kept = _agreeing(good, {row.line: row for row in table.rows}, name, aside)
    return SpeedRound(
        frame=frame.name, readings=tuple(kept), set_aside=tuple(sorted(aside, key=lambda one: one.line)),
        notes=table.notes,
    )  # fmt: skip


def _heading(text: str) -> str:
    """Understand a heading "rpm" as the speed in rpm."""
    lines = text.splitlines()
    for k, line in enumerate(lines):
        if line.strip() and not line.lstrip().startswith("#"):
            lines[k] = re.sub(r"(^|[,;\t])\s*rpm\s*(?=$|[,;\t])", r"\1speed (rpm)", line, count=1, flags=re.IGNORECASE)
            break
    return "\n".join(lines)


def _line(text: str, at: int) -> str:
    return text.splitlines()[at - 1]


def _reading(row: RoundRow, name: str, frame: str, expected: float, aside: list[AsideLine]) -> SpeedReading | None:
    """Judge one row by itself; what cannot be used goes aside."""
    where, reason, when = f"{name}, line {row.line}", "", None
    given = row.words.get("frame", frame)
    speed = row.numbers["speed"]
    if given.casefold() != frame.casefold():
        reason = f'{where}, frame is "{given}"; this round is of {frame}, so the row was left out.'
    if moment := row.words.get("moment", ""):
        try:
            when = read_when(moment, f"{where}, moment")
        except Refusal as refusal:
            reason = reason or str(refusal)
    still = next((one for one in STILL if abs(speed / expected / one - 1) < NEAR_STILL), None)
    if not reason and still is not None:
        reason = (
            f"{where}, speed is {show(speed, 'rotation', 'rpm')}, {_fraction(still)} of the "
            f"{show(round(expected, 1), 'rotation', 'rpm')} expected, where a stroboscope shows the mark still as "
            f"well; read spindle {row.numbers['spindle']:.0f} again from above the speed downwards."
        )
    if reason:
        aside.append(AsideLine(line=row.line, text=row.text, reason=reason))
        return None
    return SpeedReading(line=row.line, spindle=int(row.numbers["spindle"]), speed=speed, when_us=when)


def _fraction(share: float) -> str:
    return {1 / 4: "a quarter", 1 / 3: "a third", 1 / 2: "half", 2 / 3: "two thirds", 3 / 2: "one and a half times",
            2.0: "twice", 3.0: "three times"}[share]  # fmt: skip


def _agreeing(
    good: list[SpeedReading], rows: Mapping[int, RoundRow], name: str, aside: list[AsideLine]
) -> list[SpeedReading]:
    """Set aside all readings of a spindle that contradict each other."""
    kept: list[SpeedReading] = []
    by_spindle: dict[int, list[SpeedReading]] = {}
    for one in good:
        by_spindle.setdefault(one.spindle, []).append(one)
    for spindle, several in by_spindle.items():
        speeds = [one.speed for one in several]
        if max(speeds) <= min(speeds) * (1 + AGREE):
            kept += several
            continue
        said = ", ".join(f"{show(one.speed, 'rotation', 'rpm')} in line {one.line}" for one in several)
        reason = f"{name}: spindle {spindle} was read as {said}; these contradict, so none was used. Read it again."
        aside += [AsideLine(line=one.line, text=rows[one.line].text, reason=reason) for one in several]
    return sorted(kept, key=lambda one: one.line)
