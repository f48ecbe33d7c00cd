"""Simulated records as the study of the floor records sees them: how often a faulty plate is named, and when."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.cascade.spread import SideRun

__all__ = ["Drawn", "Rates", "Watched"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """Runs of one frame, each asked after some numbers of shifts (k,).

    ``found`` runs in which the faulty boundary is named (k,), ``false`` other boundaries named in all runs (k,),
    ``expected`` the chance in closed form (k,).
    """

    spindle: int
    state: str
    shifts: tuple[int, ...]
    runs: int
    found: tuple[int, ...]
    false: tuple[int, ...]
    expected: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """One of the runs: the side with the faulty plate, its first spindle, and what the study says of the frame."""

    side: SideRun
    first: int
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """Breaks of one state of the plates: drawn and expected, per second of one spindle [1/s]; the largest cluster."""

    name: str
    drawn: float
    expected: float
    largest: int
