"""Findings and answers: how sure, how much, where, and what the data cannot tell."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

from ringwright.findings.picture import Picture

__all__ = ["LIKELY", "SURE", "Answer", "Estimate", "Finding", "Sureness", "sureness_of"]

SURE: Final = 0.001
LIKELY: Final = 0.01
"""Chances of a false alarm, where nothing is there, behind the words sure and likely of a single test."""


class Sureness(Enum):
    """How far to trust an answer; the value is the word a person reads."""

    SURE = "sure"
    LIKELY = "likely"
    MAY_BE_CHANCE = "may be chance"
    TOO_EARLY = "too early to tell"


def sureness_of(p: float, *, sure: float = SURE, likely: float = LIKELY) -> Sureness:
    """Put a p-value, already adjusted for how many were asked, into a word."""
    if p <= sure:
        return Sureness.SURE
    return Sureness.LIKELY if p <= likely else Sureness.MAY_BE_CHANCE


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A number with the interval that holds it with a stated chance (0.95 unless said), its unit and what it is."""

    value: float
    low: float
    high: float
    unit: str
    meaning: str
    chance: float = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing found: its kind, where it is, how much, how sure, in one sentence.

    ``kind`` is "spindle", "separator", "traveller age", "hours since doff", "place in the cop", "shift", "change",
    "drive group", "slow spindle" or "slow group"; ``shift`` names the shift of a finding about one; ``p`` is
    the adjusted chance behind the word.
    """

    kind: str
    frame: str
    sentence: str
    estimate: Estimate
    sureness: Sureness
    p: float
    side: int | None = None
    spindles: tuple[int, ...] = ()
    shift: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The answer to one question about one frame (or about all frames, where ``frame`` is empty)."""

    question: str
    frame: str
    sentence: str
    sureness: Sureness
    data_used: str
    cannot_say: str
    estimate: Estimate | None = None
    findings: tuple[Finding, ...] = ()
    picture: Picture | None = None
