"""The slower answers: the whole doff, the room to each limit, and the card, each for what is tried."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ringwright.judgement import Room, judge
from ringwright.mill import Mill
from ringwright.report.card import Card
from ringwright.report.doff_figures import speed_course, tension_course
from ringwright.report.tension_chart import SpeedCourse, TensionCourse
from ringwright.setting.choice import Trial
from ringwright.setting.doff import Doff, solve_doff
from ringwright.verbs import app
from ringwright.workbench.followed import Followed

__all__ = ["Course", "Room", "Rooms", "card_of", "course_of", "doff_of", "rooms_of"]

_FOLLOWED = Followed()
"""Kept in the process that answers for the rooms, so that a slider's next step finds most limits known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """Tension and speed through a doff; the limit (N) is on the tension at the triangle, None where none is stated."""

    tension: TensionCourse
    speed: SpeedCourse
    limit: float | None
    peak: float
    """Highest tension at the triangle [N], nan where no balloon is steady."""
    minutes: float
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rooms:
    """The room to each limit, nearest first, and what must be known to read them."""

    rooms: tuple[Room, ...]
    notes: tuple[str, ...]
    band: str


def doff_of(mill: Mill, frame: str, yarn: str, trial: Trial) -> Doff:
    """Solve a whole doff as the command line does."""
    return solve_doff(mill, frame, yarn, trial)


def course_of(mill: Mill, frame: str, yarn: str, trial: Trial) -> Course:
    """Solve a whole doff and take its course."""
    doff = solve_doff(mill, frame, yarn, trial)
    share = mill.limits.get("strength_share")
    tension = tension_course(doff, "A")
    high = [value for value in tension.triangle_high if value == value]  # noqa: PLR0124 - leaves out nan
    return Course(
        tension=tension,
        speed=speed_course(doff),
        limit=None if share is None else share.value * mill.yarns[yarn].strength,
        peak=max(high, default=float("nan")),
        minutes=doff.problem.doff_time / 60,
        notes=doff.notes,
    )


def rooms_of(mill: Mill, frame: str, yarn: str, trial: Trial) -> Rooms:
    """Hold a setting against its limits."""
    judgement = judge(mill, frame, yarn, trial, follow=_FOLLOWED)
    return Rooms(rooms=judgement.rooms, notes=judgement.notes, band=judgement.band)


def card_of(mill: Mill, frame: str, yarn: str, trial: Trial) -> Card:
    """Make the setting card, the same document as the command line's."""
    return app.card(mill, frame, yarn, trial)


def named(course: Course, name: str) -> Course:
    """Give the course under another name, for a chart of two."""
    return replace(course, tension=replace(course.tension, name=name))
