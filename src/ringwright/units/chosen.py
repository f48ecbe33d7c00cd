"""The units that a reader chose in place of the usual ones: chosen once at the door, followed by all that is written.

Values stay SI; only words, figures and axes follow. What keeps words must not outlive the choice: keep the numbers, and
write them when they are asked for.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from types import MappingProxyType
from typing import Final

__all__ = ["SWITCHED", "chosen", "chosen_step", "chosen_units", "written_in"]

SWITCHED: Final = MappingProxyType({"tex": "Ne", "t/m": "tpi", "mm": "in"})
"""Unit as it is usually written, and what a reader may choose in its place."""
_FINER: Final = MappingProxyType({"t/m": 0.0254, "mm": 1 / 25.4})
"""Size of a step of the usual unit in the other one; a count has none, as it runs the other way."""
_WHOLE_TWIST: Final = 5.0
"""From so many turns to the inch on the trade writes one decimal less: 20.3 tpi, but 0.08 tpi of missing twist."""

_chosen: ContextVar[tuple[str, ...]] = ContextVar("chosen units", default=())


@contextmanager
def written_in(units: Collection[str]) -> Iterator[None]:
    """Write all that is written inside in these units ("Ne", "tpi", "in"); others among them are left out."""
    mark = _chosen.set(tuple(one for one in SWITCHED.values() if one in units))
    try:
        yield
    finally:
        _chosen.reset(mark)


def chosen_units() -> tuple[str, ...]:
    """Give the units chosen in place of the usual ones."""
    return _chosen.get()


def chosen(symbol: str) -> str:
    """Give the unit in which a value of this unit is to be written."""
    other = SWITCHED.get(symbol, "")
    return other if other in _chosen.get() else symbol


def chosen_step(symbol: str, step: float, number: float) -> float:
    """Give the step to which a number is rounded in the unit chosen for ``symbol``, about as fine as ``step`` there."""
    if chosen(symbol) == symbol or symbol not in _FINER:
        return step
    finer = 10.0 ** math.floor(math.log10(step * _FINER[symbol]) + 1e-9)
    return 10 * finer if symbol == "t/m" and abs(number) >= _WHOLE_TWIST else finer
