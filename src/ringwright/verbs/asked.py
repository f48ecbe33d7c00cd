"""What may be asked of break records: which records, mill, frames, time, and the engine that counts them."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DEMO", "Asked"]

DEMO = "demo"
"""The word that stands for the demonstration's records in place of a store."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked of the records: where they are ("demo" or a store), the mill, questions, frames, how times came.

    ``since`` and ``until`` bound the time by the mill's clock ("2026-03-02" or "2026-03-02 06:00"), empty for no bound.
    ``engine`` counts: "duckdb", or "spark" at ``master``; ``memory`` is its limit, as "1GB".
    """

    records: str
    mill: str
    questions: tuple[str, ...] = ()
    frames: tuple[str, ...] = ()
    at_patrol: bool = False
    clean: bool = False
    seed: int = 1
    since: str = ""
    until: str = ""
    engine: str = "duckdb"
    master: str = "local[*]"
    memory: str = "1GB"
