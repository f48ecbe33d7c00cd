"""Who watches a long search: hears of its progress, and may ask it to end with what it has."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["NOBODY", "STOPPED", "Watch"]

STOPPED = "it was stopped by hand"
"""Why a search ended that its watcher stopped."""


def _silent(_words: str) -> None:
    """Tell nobody."""


def _go_on() -> bool:
    """Never ask to end."""
    return False


@dataclass(frozen=True, slots=True)
class Watch:
    """``tell`` hears in words how far the search is; ``stopped`` is asked between its steps whether to end."""

    tell: Callable[[str], None] = _silent
    stopped: Callable[[], bool] = _go_on


NOBODY = Watch()
