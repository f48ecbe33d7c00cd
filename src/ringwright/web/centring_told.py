"""What is wrong with a round, put beside the field of the centring page that it is about."""

from __future__ import annotations

import re
from collections.abc import Iterable

__all__ = ["of_reading", "of_round"]

_COLUMNS = {
    "spindle": "spindle", "part": "part", "dx": "first", "clock": "first", "at 12": "first", "dy": "second",
    "amount": "second", "at 3": "second",
}  # fmt: skip
_OPTIONS = {"--when": ("when", "Read on"), "--by": ("by", "Read by"), "--in-time": ("in_time", "The spindle")}
"""What the command line calls a field, and the field's key and words here."""


def of_reading(faults: Iterable[str]) -> dict[str, list[str]]:
    """Put what is wrong with one typed reading beside its fields; what is about all of it stands under "entry"."""
    found: dict[str, list[str]] = {}
    for fault in faults:
        for told in re.split(r"(?:^|(?<=\. ))the reading, line 2,? ?", fault):
            if not told.strip():
                continue
            column, _, _ = told.partition(" is ")
            whole = "way" if told.startswith("the reading is ") else "entry"
            words = told.strip() if column in _COLUMNS or whole == "way" else f"The reading {told.strip()}"
            found.setdefault(_COLUMNS.get(column, whole), []).append(words[0].upper() + words[1:])
    return found


def of_round(faults: Iterable[str], store: str) -> dict[str, list[str]]:
    """Put what is wrong with a round beside its fields; what the store refuses stands under ""."""
    found: dict[str, list[str]] = {}
    for fault in faults:
        place, _, rest = fault.partition(" is ")
        if place in _OPTIONS:
            key, words = _OPTIONS[place]
            found.setdefault(key, []).append(f"{words} is {rest}")
        elif place.startswith("the file"):
            found.setdefault("file", []).append(fault)
        else:
            found.setdefault("" if store and place.startswith(store) else "readings", []).append(fault)
    return found
