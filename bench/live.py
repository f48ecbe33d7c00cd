"""Rate of live intake behind the doors: messages of one event, and batches, each answered after its commit.

    python bench/live.py

Prints events a second by the clock and by processor time.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

import orjson

from ringwright.live.desk import Desk
from ringwright.live.intake import Intake
from ringwright.mill import demo_mill_path, read_mill


def event(number: int) -> bytes:
    """Make one event."""
    second, day = number % 86400, 1 + number // 86400
    when = f"2026-03-{day:02d}T{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}Z"
    held = {"gateway": "hall", "sequence": number, "machine": f"F{1 + number % 4}", "spindle": 1 + number % 1008}
    return orjson.dumps(held | {"time": when, "cop": 0.25, "yarn": "AV30K", "cause": "slub"})


def run(name: str, messages: list[bytes], events: int) -> None:
    """Bring messages to a desk and wait for the last answer."""
    with tempfile.TemporaryDirectory() as place:
        desk = Desk(Intake(Path(place) / "store", read_mill(demo_mill_path())))
        clock, cpu = time.perf_counter(), time.process_time()
        answers = [desk.bring("bench", message) for message in messages]
        stored = sum(answer.result().stored for answer in answers)
        clock, cpu = time.perf_counter() - clock, time.process_time() - cpu
        desk.close()
        desk.intake.inbox.close()
    by_clock, by_cpu = events / clock, events / cpu
    print(f"{name}: {stored} stored; {by_clock:,.0f} events/s by the clock, {by_cpu:,.0f} by processor time")


if __name__ == "__main__":
    alone = [event(number) for number in range(20_000)]
    run("one event a message", alone, len(alone))
    many = [event(number) for number in range(200_000)]
    batches = [b"\n".join(many[at : at + 500]) for at in range(0, len(many), 500)]
    run("500 events a message", batches, len(many))
