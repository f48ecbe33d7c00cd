"""Whatever a sender writes, each live line is stored, known, or set aside with a reason; drawn by a stated seed."""

from __future__ import annotations

import random
from typing import Any

import orjson

from ringwright.events.json_rows import KEYS, RUNNING_KEYS
from ringwright.live.intake import Intake
from ringwright.mill import demo_mill_path, read_mill

VALUES: list[Any] = [
    None, "", " ", "F1", "F9", "\u0000", "run", "stop", "doff", "rest", 0, -1, 7, 1e308, 2**70, 1.5, True, [], {},
    "ß" * 300, "2026-03-02T06:00:00Z", "2026-03-02T06:00:00", "2025-10-26T02:30:00", "2026-02-30T06:00:00Z",
    "9999-12-31T23:59:59Z", "Europe/Berlin", "Nowhere/At all", "15000", "-3", "nan", "inf", "AV30K", "?",
]  # fmt: skip


def line(chance: random.Random) -> bytes:
    keys = RUNNING_KEYS if chance.random() < 0.6 else KEYS
    held: dict[str, Any] = {"machine": "F1", "time": "2026-03-02T06:00:00Z"}
    held |= {"kind": "stop"} if keys is RUNNING_KEYS else {"spindle": chance.randrange(1, 1009)}
    for _ in range(chance.randrange(4)):
        held[chance.choice([*keys, "another"])] = chance.choice(VALUES)
    if chance.random() < 0.7:
        day, hour, minute = chance.randrange(1, 29), chance.randrange(24), chance.randrange(60)
        held["time"] = f"2026-03-{day:02d}T{hour:02d}:{minute:02d}:00+01:00"
    try:
        text = orjson.dumps(held)
    except TypeError:  # a number that the library does not write is written as it stands
        text = repr(held).replace("'", '"').encode()
    return text if chance.random() < 0.95 else text[: chance.randrange(1, len(text))]


def test_every_line_has_its_answer_and_what_is_stored_moves(tmp_path):
    chance = random.Random(17)  # noqa: S311 - to repeat it
    intake = Intake(tmp_path / "store", read_mill(demo_mill_path()))
    lines = [line(chance) for _ in range(6000)]
    stored = known = 0
    for at in range(0, len(lines), 500):
        part = lines[at : at + 500]
        (answer,) = intake.take([("http", b"\n".join(part))])
        assert answer.stored + answer.known + len(answer.set_aside) == len(part)
        assert all(reason for _, reason in answer.set_aside)
        stored, known = stored + answer.stored, known + answer.known
    assert stored > 1000
    takes = intake.move()
    assert sum(take.taken + take.known + take.set_aside for take in takes) == stored
    assert {take.holds for take in takes} == {"breaks", "running"}
    again = intake.mend([one for one in lines if one.strip()])  # every line once more, as a file of mended ones
    assert len(again) + intake.inbox.counts()["waiting"] <= len(lines)
    intake.inbox.close()
