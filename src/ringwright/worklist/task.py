"""A task for the shift and the list that holds it."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.findings.finding import Sureness
from ringwright.judgement.cautions import Caution

__all__ = ["Effect", "FrameFacts", "Task", "WorkList", "task_key"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameFacts:
    """What the list must know of a frame: its spindles and sides, and the cautions for work on it."""

    name: str
    spindles: int
    sides: int
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """Breaks of one shift above the ordinary that the cause makes: computed, with its interval and what it rests on.

    ``assumed`` is what was assumed besides, empty where nothing was.
    """

    value: float
    low: float
    high: float
    rests_on: str
    assumed: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One thing to do: what and where, why, how sure, and what can hurt.

    ``key`` is that of the finding or room behind it; ``evidence`` its sentence with the numbers; ``question`` the
    study's word that shows all of it, empty for a room; ``target`` the ratio of rates that a full cure would make
    (nan where none can be said); ``limit_passed`` marks a setting beyond a limit; ``turn``, from 1, orders tasks that
    are each a walk of their own along the frame.
    """

    key: str
    kind: str
    what: str
    when: str
    look_at: str
    evidence: str
    sureness: Sureness
    cautions: tuple[Caution, ...]
    frame: str = ""
    side: int | None = None
    spindles: tuple[int, ...] = ()
    question: str = ""
    effect: Effect | None = None
    target: float = float("nan")
    limit_passed: bool = False
    turn: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkList:
    """Tasks in the order in which to do them, what is missing where it is too early for one, and what holds always."""

    tasks: tuple[Task, ...]
    missing: tuple[str, ...]
    always: tuple[Caution, ...]


def task_key(kind: str, frame: str, spindles: tuple[int, ...] = (), shift: str = "") -> str:
    """Make the lasting key of a finding, as "F2-separator-215-216"; the same in every study of the same place."""
    ends = (spindles[0], spindles[-1]) if len(spindles) > 1 else spindles
    parts = [frame, *kind.split(), *(str(k) for k in ends), *shift.replace(":", "").split()]
    return "-".join(part for part in parts if part)
