"""The demonstration's description, read: what is usual, and what is planted."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any, Final

__all__ = ["DESCRIPTION", "FrameStory", "Planted", "Story", "read_story"]

DESCRIPTION: Final = Path(__file__).parent / "description.toml"
"""The file that says what is planted."""

_SHIFT_US: Final = 8 * 3_600_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameStory:
    """One frame: its yarn, usual breaks per 1000 spindle-hours, hours of a doff, days of a set of travellers."""

    name: str
    yarn: str
    rate: float
    doff_hours: float
    traveller_days: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Planted:
    """The faults: spindles (frame, number) and their rate, the boundary, the travellers' rise, the dry shift."""

    spindles: tuple[tuple[str, int], ...]
    spindle_times: float
    separator_frame: str
    separator_between: tuple[int, int]
    separator_chance: float
    separator_delay_s: float
    traveller_frame: str
    traveller_times: float
    dry_shift: int
    dry_name: str
    dry_times: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """Six weeks as they are drawn: first moment (µs UTC), days, frames, spreads (CV), and what is planted if any."""

    start_us: int
    days: int
    zone: str
    shift_names: tuple[str, ...]
    frames: tuple[FrameStory, ...]
    spindle_spread: float
    shift_spread: float
    frame_shift_spread: float
    planted: Planted | None

    @property
    def shifts(self) -> int:
        """Number of shifts of 8 h."""
        return 3 * self.days


def read_story(*, clean: bool = False) -> Story:
    """Read the description that comes with the program, with its planted faults or without."""
    told = tomllib.loads(DESCRIPTION.read_text(encoding="utf-8"))
    start_us = _micros(datetime.combine(_day(told["first_day"]), time(6), UTC))
    return Story(
        start_us=start_us,
        days=told["days"],
        zone=told["zone"],
        shift_names=tuple(told["shift_names"]),
        frames=tuple(
            FrameStory(
                name=name, yarn=one["yarn"], rate=one["breaks_per_1000_spindle_hours"], doff_hours=one["doff_hours"],
                traveller_days=one["traveller_days"],
            )
            for name, one in told["frames"].items()
        ),
        spindle_spread=told["spindle_spread"],
        shift_spread=told["shift_spread"],
        frame_shift_spread=told["frame_shift_spread"],
        planted=None if clean else _planted(told["planted"], start_us),
    )  # fmt: skip


def _planted(told: dict[str, Any], start_us: int) -> Planted:
    separator, dry = told["separator"], told["dry_shift"]
    first, second = separator["between"]
    return Planted(
        spindles=tuple((frame, number) for frame, number in told["spindles"]["places"]),
        spindle_times=told["spindles"]["times"],
        separator_frame=separator["frame"],
        separator_between=(first, second),
        separator_chance=separator["chance"],
        separator_delay_s=separator["delay_s"],
        traveller_frame=told["traveller_age"]["frame"],
        traveller_times=told["traveller_age"]["times"],
        dry_shift=(_micros(dry["start"].replace(tzinfo=UTC)) - start_us) // _SHIFT_US,
        dry_name=f"{dry['start']:%Y-%m-%d %H:%M}",
        dry_times=dry["times"],
    )


def _day(value: date) -> date:
    return value


def _micros(moment: datetime) -> int:
    return round(moment.timestamp()) * 1_000_000
