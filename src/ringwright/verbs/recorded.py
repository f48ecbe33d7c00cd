"""The mill's own break counts, taken shift by shift from its records."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ringwright.refusal import Fault, Refusal

if TYPE_CHECKING:
    from ringwright.economy.counting import Count
    from ringwright.mill import Mill

__all__ = ["counts_from_records"]

# ruff: noqa: PLC0415 - the records' libraries take seconds to load

SHORTEST_H = 0.25
"""Running time [h] of a shift under which its count is left out."""


def counts_from_records(records: str, mill: Mill, names: tuple[str, str]) -> tuple[list[Count], str]:
    """Count a frame's breaks with a yarn (their names) in each shift of the records: a store, or the word demo.

    All counts stand for the setting as it is: records hold neither speed nor traveller. Gives the counts and where
    they came from in words; Refusal for records without running time of this frame with this yarn.
    """
    from ringwright.economy.counting import Count
    from ringwright.verbs.studying import Asked, shift_counts

    frame, yarn = names
    asked = Asked(records=records, mill=mill.name, frames=(frame,))
    rows, origin = shift_counts(asked, mill, yarn)
    counts = [Count(breaks=float(b), spindle_hours=h) for b, h in rows if h >= SHORTEST_H * mill.frames[frame].spindles]
    if not counts:
        wants = "running time of this frame with this yarn"
        mend = "Take its breaks and running time in with: ringwright take"
        raise Refusal(
            Fault(where=f"{records}, {frame} with {yarn}", got="without running time", wants=wants, mend=mend)
        )
    return counts, f"{len(counts)} shifts of {frame} with {yarn} in {origin}"
