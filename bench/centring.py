"""Time a round of centring of 1 008 spindles, step by step, and the drift from a second one.

Run: python bench/centring.py. Wall time counts on an idle machine; processor time is printed beside it.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TypeVar

from ringwright.centring.effect import answering_of
from ringwright.centring.found import TakenRound, find
from ringwright.centring.judging import judge_round
from ringwright.centring.offsets import offsets_of
from ringwright.centring.readings import read_centring
from ringwright.floor_demo.centring import demo_rounds
from ringwright.mill import demo_mill_path, read_mill
from ringwright.report.sheets.centring import centring_sheet

MILL = read_mill(demo_mill_path())
BUDGET_S = 2.0
Answer = TypeVar("Answer")


def timed(what: str, work: Callable[[], Answer]) -> Answer:
    """Do a piece of work and print what it took, the best of three."""
    best, used = float("inf"), 0.0
    for _ in range(3):
        wall, processor = time.perf_counter(), time.process_time()
        answer = work()
        if time.perf_counter() - wall < best:
            best, used = time.perf_counter() - wall, time.process_time() - processor
    print(f"{what:<52} {best:6.3f} s wall, {used:6.3f} s processor")
    return answer


def main() -> None:
    """Print what was measured."""
    frame = MILL.frames["F3"]
    first, last = demo_rounds("F3")
    taken = timed("read 3 050 rows, as text", lambda: read_centring(last.text, last.name, frame))
    offsets = timed("average, set contradictions aside", lambda: offsets_of(taken, 1008, 3e-5))
    answering = timed("answer of balloon and traveller at 40 places", lambda: answering_of(MILL, "F3", "AV20W"))
    timed("judge: rails, names, effects, stops", lambda: judge_round(offsets, frame, answering))
    given = [
        TakenRound(taken=read_centring(one.text, one.name, frame), read_us=k * 15_724_800_000_000)
        for k, one in enumerate((first, last))
    ]
    alone = timed("one round, whole (budget 2 s)", lambda: find(MILL, "F3", "AV20W", given[1:]))
    both = timed("two rounds with drift, whole", lambda: find(MILL, "F3", "AV20W", given))
    timed("the sheet with its figures", lambda: centring_sheet(both))
    print(f"{alone.judged.round.readings} offsets, {len(alone.judged.corrections)} spindles to correct")


if __name__ == "__main__":
    main()
