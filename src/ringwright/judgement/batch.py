"""The limits of chosen places of several doffs asked for once, and answers put back where they belong."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields, replace

import numpy as np

from ringwright.physics.position import LimitMasses, Positions, Threads, threads
from ringwright.physics.real import Array
from ringwright.setting.doff import Doff
from ringwright.setting.places import Counts
from ringwright.setting.problem import positions

__all__ = ["Follow", "in_one_go", "spread", "threads_at"]

Follow = Callable[[Positions], LimitMasses]
"""How the branches of positions are followed to their limits: ``limit_masses``, or one that remembers."""


def in_one_go(follow: Follow, doffs: Sequence[Doff], at: Sequence[Counts]) -> list[LimitMasses]:
    """Follow the branches of the places ``at`` of each doff together; give one answer for each doff.

    The mass at which the separator is touched is not looked for: no room is told in it.
    """
    asked = [positions(doff.choice, doff.places.take(index)) for doff, index in zip(doffs, at, strict=True)]
    together = Positions(
        **{field.name: np.concatenate([getattr(part, field.name) for part in asked]) for field in fields(Positions)}
    )
    answer = follow(replace(together, gauge=np.full(len(together), np.nan)))
    ends = np.cumsum([len(index) for index in at])[:-1]
    columns = {field.name: np.split(getattr(answer, field.name), ends) for field in fields(LimitMasses)}
    return [LimitMasses(**{name: parts[number] for name, parts in columns.items()}) for number in range(len(doffs))]


def threads_at(doff: Doff, at: Counts) -> Threads:
    """Give the points along the yarn at places of a solved doff."""
    return threads(positions(doff.choice, doff.places.take(at)), solutions=doff.solutions.take(at))


def spread(values: Array, at: Counts, count: int) -> Array:
    """Put the values of the places ``at`` among all ``count`` places of a doff; nan at the others."""
    over = np.full(count, np.nan)
    over[at] = values
    return over
