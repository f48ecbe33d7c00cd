"""Two people changed the same sheet: what each changed, and where they meet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ringwright.editing.leaves import Path
from ringwright.editing.proposal import ValueChange

__all__ = ["Conflict", "Merge", "merge"]


@dataclass(frozen=True, slots=True)
class Conflict:
    """One value that both changed, to different things."""

    path: Path
    was: str
    theirs: str
    mine: str

    @property
    def key(self) -> str:
        """The key as a fault names it."""
        return ".".join(self.path)


@dataclass(frozen=True, slots=True)
class Merge:
    """What the other changed, what I changed, the values that both changed otherwise, and the sheet with all that fits.

    ``together`` holds mine where only I changed a value, theirs wherever they did; conflicts are still to be chosen.
    """

    theirs: tuple[ValueChange, ...]
    mine: tuple[ValueChange, ...]
    conflicts: tuple[Conflict, ...]
    together: Mapping[Path, str]


def merge(was: Mapping[Path, str], mine: Mapping[Path, str], now: Mapping[Path, str]) -> Merge:
    """Merge what I typed over ``was`` with what the files say now.

    A key that the files no longer have counts as emptied by the other; one that I did not see counts as not mine.
    """
    theirs, own, conflicts = [], [], []
    together = dict(now)
    for path in {**was, **now}:
        old, new = was.get(path, "").strip(), now.get(path, "").strip()
        typed = mine.get(path, old).strip() if path in was else old
        if new != old:
            theirs.append(ValueChange(path, old, new))
        if typed != old:
            own.append(ValueChange(path, old, typed))
            if new == old:
                together[path] = typed
            elif new != typed:
                conflicts.append(Conflict(path, old, new, typed))
    return Merge(tuple(theirs), tuple(own), tuple(conflicts), together)
