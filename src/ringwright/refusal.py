"""How bad input is told to the person who typed it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import SequenceMatcher, get_close_matches

__all__ = ["Fault", "Refusal", "nearest"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong with the input: where it stands, what was found, what is wanted, and how to mend it."""

    where: str
    got: str
    wants: str
    mend: str = ""

    def __str__(self) -> str:
        """Read the fault as one sentence, with its mend after it where there is one."""
        sentence = f"{self.where} is {self.got}; it must be {self.wants}."
        return f"{sentence} {self.mend}" if self.mend else sentence


class Refusal(ValueError):  # noqa: N818 - a refusal is the word the reader sees
    """Input that cannot be used; carries every fault found, not just the first."""

    def __init__(self, faults: Iterable[Fault] | Fault) -> None:
        self.faults: tuple[Fault, ...] = (faults,) if isinstance(faults, Fault) else tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


def nearest(name: str, names: Iterable[str]) -> str:
    """Suggest the known name nearest to the one typed, as a sentence; list the known names if none stands out."""
    known = sorted(names)
    if not known:
        return "None is known yet."
    same = [k for k in known if k.lower() == name.lower()]
    close = same or get_close_matches(name, known, n=2, cutoff=0.5)
    likeness = [SequenceMatcher(None, k, name).ratio() for k in close]
    if close and (len(close) == 1 or likeness[0] > likeness[1]):
        return f"Did you mean {close[0]}?"
    return f"Known: {', '.join(known)}."
