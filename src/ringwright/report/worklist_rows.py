"""The rows of the work list as each door shows them: plain values, without the libraries behind the list."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

__all__ = ["LOCK_OUT", "RULES", "of_group", "pointed", "task_cautions"]

RULES = "Your mill's rules and trained people come first."
LOCK_OUT = "Stop and lock out before you reach in"
_SHORT = 40
"""Letters up to which what to look at is said again for each task, since a pointer would be no shorter."""


def task_cautions(row: Mapping[str, Any]) -> str:
    """Say before the work which cautions it has, by their letters; empty for work at the desk."""
    letters = [letter for letter, _ in row["cautions"]]
    if not letters:
        return ""
    named = f"caution{'s' if len(letters) > 1 else ''} {', '.join(letters)}"
    return f"{LOCK_OUT}: {named}." if row["lock_out"] else f"{named[0].upper()}{named[1:]}."


def pointed(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Give the tasks of one group with ``look``: what to look at, once; after that it points to the task that says it.

    ``number`` is None for a task that was not on the list when its numbers were given; nothing points to such a one.
    """
    said: dict[str, int] = {}
    made = []
    for row in rows:
        words, first = row["look_at"], said.get(row["look_at"])
        if first is not None and len(words) > _SHORT:
            words = f"Look as at task {first}."
        elif row["number"] is not None:
            said.setdefault(words, row["number"])
        made.append({**row, "look": words})
    return made


def of_group(rows: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """Say for a group of tasks whether to lock out, its cautions by letter and work, and what its effects rest on."""
    held = list(rows)
    cautions = dict(pair for row in held for pair in row["cautions"])
    rests = list(dict.fromkeys(row["rests_on"] for row in held if row["rests_on"]))
    return {
        "lock_out": any(row["lock_out"] for row in held),
        "cautions": sorted(cautions.items(), key=lambda pair: (len(pair[0]), pair[0])),
        "computed": f"Breaks a shift are computed from {'; '.join(rests)}." if rests else "",
    }
