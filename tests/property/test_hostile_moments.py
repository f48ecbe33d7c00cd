"""Hostile rows of running time and hostile JSON: no row is lost, and running time stays what it must be."""

from __future__ import annotations

import random
from itertools import pairwise

import orjson
import pyarrow.parquet as pq
import pytest
from tests.property.hostile import COPS, MACHINES, TEXTS, TIMES, WHOLES

from ringwright.events.source import read_source
from ringwright.live.intake import Intake
from ringwright.mill import demo_mill_path, read_mill
from ringwright.store import open_store, take_file

SOURCE = """
name = "hostile"
holds = "running"

[columns]
machine = "frame"
kind = "what"
time = "when"
until = "to"
speed = "rpm"
yarn = "lot"
shift = "shift"

[time]
zone = "Europe/Berlin"
repeated_hour = "by order"
"""
KINDS = ("start", "stop", "doff", "traveller change", "run", "speed")


def _when(chance: random.Random) -> str:
    if chance.random() < 0.05:
        return chance.choice(TIMES)
    return f"2025-10-2{chance.randrange(4, 8)} {chance.randrange(24):02d}:{chance.randrange(0, 60, 5):02d}:00"


def _moment(chance: random.Random) -> str:
    frame = chance.choice(("F1", "F2", "F3", "F4")) if chance.random() < 0.95 else chance.choice(MACHINES)
    kind = chance.choice(KINDS) if chance.random() < 0.97 else chance.choice(TEXTS)
    until = _when(chance) if chance.random() < 0.4 else ""
    speed = chance.choice(("", "", "12000", "15000.5", *COPS))
    lot = chance.choice(("", "AV30K", "AV20W", "Ne 7"))
    cells = [frame, kind, _when(chance), until, speed, lot, chance.choice(("", "early", *TEXTS))]
    return ",".join(cell.replace(",", "").replace("\r", "").replace("\n", "") for cell in cells)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_moment_is_lost_and_a_frame_never_runs_twice_at_once(tmp_path, seed):
    chance = random.Random(seed)  # noqa: S311 - to repeat it
    (tmp_path / "s.toml").write_text(SOURCE, encoding="utf-8")
    text = "frame,what,when,to,rpm,lot,shift\n" + "\n".join(_moment(chance) for _ in range(3000)) + "\n"
    (tmp_path / "r.csv").write_text(text, encoding="utf-8")
    with open_store(tmp_path / "store", new=True) as store:
        take = take_file(tmp_path / "r.csv", read_source(tmp_path / "s.toml"), read_mill(demo_mill_path()), store)
        rows = [row for path in store.paths("running", take.mill) for row in pq.ParquetFile(path).read().to_pylist()]
        moments = sum(pq.read_metadata(path).num_rows for path in store.paths("moments", take.mill))
    assert take.rows == 3000
    assert moments == take.taken > 500
    assert all(row["from_us"] <= row["to_us"] for row in rows)
    runs = sorted((row["machine"], row["from_us"], row["to_us"]) for row in rows if row["kind"] == "run")
    assert runs
    for (machine, _, end), (other, begin, _) in pairwise(runs):
        assert machine != other or end <= begin


@pytest.mark.parametrize("seed", [1, 2])
def test_every_line_of_a_hostile_message_is_answered(tmp_path, seed):
    chance = random.Random(seed)  # noqa: S311 - to repeat it
    keys = ("machine", "spindle", "time", "zone", "side", "cop", "yarn", "cause", "id", "gateway", "sequence")
    values: tuple[object, ...] = (
        *MACHINES,
        *WHOLES,
        *TIMES,
        *COPS,
        *TEXTS,
        None,
        True,
        1,
        -1,
        0.5,
        1e308,
        [],
        {},
        2**63,
        "\ud800",
    )
    lines = []
    for number in range(3000):
        held: dict[str, object] = {
            "machine": "F1",
            "spindle": 1 + number % 1008,
            "time": f"2026-03-01T10:{number % 60:02d}:00Z",
        }
        for _ in range(chance.randrange(3)):
            held[chance.choice(keys)] = chance.choice(values)
        text = _dumped(held)
        lines.append(text if chance.random() < 0.9 else text[: chance.randrange(len(text))] or b"?")
    intake = Intake(tmp_path / "store", read_mill(demo_mill_path()))
    (answer,) = intake.take([("http", b"\n".join(lines))])
    assert answer.stored + answer.known + len(answer.set_aside) == 3000
    assert answer.stored > 200
    assert all(reason for _, reason in answer.set_aside)
    (take,) = intake.move()
    assert take.taken + take.known + take.set_aside == answer.stored
    assert take.taken > 200
    intake.inbox.close()


def _dumped(held: dict[str, object]) -> bytes:
    try:
        return orjson.dumps(held)
    except TypeError:  # a lone surrogate, or a number too large: written by hand
        return b'{"machine": "\\ud800", "spindle": 9223372036854775808}'
