"""The physics asked once for chosen places of several doffs, and its answers put back where they belong."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields
from typing import TypeVar

import numpy as np

from ringwright.physics.position import LimitMasses, Positions, Solutions, Threads
from ringwright.physics.real import Array
from ringwright.setting.doff import Doff
from ringwright.setting.places import Counts
from ringwright.setting.problem import positions

__all__ = ["in_one_go", "spread"]

Answer = TypeVar("Answer", LimitMasses, Solutions, Threads)


def in_one_go(ask: Callable[[Positions], Answer], doffs: Sequence[Doff], at: Sequence[Counts]) -> list[Answer]:
    """Ask the physics about the places ``at`` of each doff together; give one answer for each doff."""
    asked = [positions(doff.choice, doff.places.take(index)) for doff, index in zip(doffs, at, strict=True)]
    together = Positions(
        **{field.name: np.concatenate([getattr(part, field.name) for part in asked]) for field in fields(Positions)}
    )
    answer = ask(together)
    ends = np.cumsum([len(index) for index in at])[:-1]
    columns = {field.name: np.split(getattr(answer, field.name), ends, axis=-1) for field in fields(answer)}
    return [type(answer)(**{name: parts[number] for name, parts in columns.items()}) for number in range(len(doffs))]


def spread(values: Array, at: Counts, count: int) -> Array:
    """Put the values of the places ``at`` among all ``count`` places of a doff; nan at the others."""
    over = np.full(count, np.nan)
    over[at] = values
    return over
