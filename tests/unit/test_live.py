"""Live intake: an answer only after the commit, repeats absorbed, gaps seen, nothing lost at a sudden end."""

from __future__ import annotations

import contextlib
import http.client
import math
import socket
import sqlite3
import threading
import time

import orjson
import pyarrow.parquet as pq
import pytest
import uvicorn
from click.testing import CliRunner
from sample_records import MILL

from ringwright.cli.main import ringwright
from ringwright.live.broker import broker_faults, tuned_settings
from ringwright.live.desk import Desk
from ringwright.live.folder import empty_folder
from ringwright.live.http import http_door
from ringwright.live.inbox import INBOX, Gap, Inbox
from ringwright.live.intake import Intake
from ringwright.live.listening import Doors, listen
from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.store import open_store


def event(number, **more):
    second = number % 86400
    when = f"2026-03-{1 + number // 86400:02d}T{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}Z"
    held = {"gateway": "hall 1", "sequence": number, "machine": "F1", "spindle": 1 + number % 1008, "time": when}
    return orjson.dumps(held | more)


@pytest.fixture
def intake(tmp_path):
    made = Intake(tmp_path / "store", read_mill(demo_mill_path()))
    yield made
    made.inbox.close()


@pytest.fixture
def desk(intake):
    made = Desk(intake)
    yield made
    made.close()


def ask(address, method, path, content=b"", token=""):
    """Send a request; gives status and JSON."""
    host, _, port = address.rpartition(":")
    with contextlib.closing(http.client.HTTPConnection(host, int(port), timeout=20)) as way:
        way.request(method, path, content, {"Authorization": f"Bearer {token}"} if token else {})
        answer = way.getresponse()
        return answer.status, orjson.loads(answer.read())


@contextlib.contextmanager
def served(app):
    """Serve an application on a free port; gives its address."""
    held = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [held]})
    thread.start()
    yield f"127.0.0.1:{held.getsockname()[1]}"
    server.should_exit = True
    thread.join()
    held.close()


def stored(folder):
    with open_store(folder) as store:
        tables = [pq.ParquetFile(path).read() for path in store.paths("breaks", MILL)]
    return [row for table in tables for row in table.to_pylist()]


def test_events_are_answered_line_by_line_and_move_into_the_months(intake):
    message = b"\n".join([event(1), event(2), event(1), b"no", event(3, spindle=4000), b""])
    (answer,) = intake.take([("http", message)])
    assert (answer.stored, answer.known) == (2, 1)
    assert [line for line, _ in answer.set_aside] == [4, 5]
    assert "not JSON" in answer.set_aside[0][1]
    assert "outside 1 to 1008 of frame F1" in answer.set_aside[1][1]
    assert intake.inbox.counts() == {"waiting": 2, "set_aside": 2}
    (take,) = intake.move()
    assert (take.taken, take.known, take.set_aside) == (2, 0, 0)
    assert [row["source_id"] for row in stored(intake.store)] == ["hall 1/1", "hall 1/2"]
    assert intake.move() == []


def test_events_sent_again_after_the_move_are_not_doubled(intake):
    intake.take([("http", event(1))])
    intake.move()
    intake.take([("http", event(1))])
    (take,) = intake.move()
    assert (take.taken, take.known) == (0, 1)
    assert len(stored(intake.store)) == 1


def test_an_event_that_contradicts_one_that_waits_is_set_aside(intake):
    _, second = intake.take([("http", event(1, cause="slub")), ("mqtt", event(1, cause="lap"))])
    assert second.set_aside == [(1, "the event is known with cause slub, here it has cause lap")]


def test_a_key_of_one_sender_does_not_touch_the_events_of_another(intake):
    first, second, third = intake.take([("http", event(1, side=1)), ("mqtt", event(2)), ("http", event(3, side=2))])
    assert (first.stored, second.stored) == (1, 1)
    assert third.set_aside == [(1, "the spindle '4' is not on side 2")]


def moment(number, kind="doff", **more):
    held = {"gateway": "hall 1", "sequence": number, "machine": "F1", "kind": kind}
    return orjson.dumps(held | {"time": f"2026-03-02T{6 + number:02d}:00:00Z"} | more)


def test_running_time_comes_by_the_same_doors_and_moves_into_stretches(intake):
    doff = moment(2, "doff", until="2026-03-02T08:03:00Z")
    good = [moment(1, "start", yarn="AV30K"), doff, moment(3, "speed", speed=15000), moment(4, "stop"), event(900)]
    lines = [*good, moment(5, "rest"), moment(6, "speed"), moment(7, "stop", cop=0.5)]
    (answer,) = intake.take([("mqtt", b"\n".join(lines))])
    assert answer.stored == 5
    told = dict(answer.set_aside)
    assert sorted(told) == [6, 7, 8]
    assert "none of start, stop, doff" in told[6]
    assert "the speed is missing" in told[7]
    assert "the key 'cop' is not known; known: machine, kind" in told[8]
    assert [(take.holds, take.taken) for take in intake.move()] == [("breaks", 1), ("running", 4)]
    with open_store(intake.store) as store:
        (path,) = store.paths("running", MILL)
    rows = pq.ParquetFile(path).read().to_pylist()
    # By hand: runs from 7 to 8 h, the doff of 3 min, on to 10 h when it stops; the speed changes at 9 h.
    hours = [(row["kind"], (row["to_us"] - row["from_us"]) / 60e6) for row in rows if row["kind"] != "stop"]
    assert hours == [("run", 60.0), ("doff", 3.0), ("run", 57.0), ("run", 60.0)]
    assert rows[-2 if rows[-1]["kind"] == "stop" else -1]["speed"] == pytest.approx(15000 * 2 * math.pi / 60)
    (again,) = intake.take([("http", lines[0])])
    assert (again.stored, again.known) == (1, 0)  # the inbox was emptied; the store knows it
    assert [(take.taken, take.known) for take in intake.move()] == [(0, 1)]


def test_an_inbox_of_before_running_time_came_live_is_brought_up_to_date(tmp_path):
    with sqlite3.connect(tmp_path / INBOX) as old:
        old.execute("CREATE TABLE event (arrived INTEGER PRIMARY KEY AUTOINCREMENT, event_id INTEGER NOT NULL UNIQUE, "
                    "content TEXT NOT NULL, raw BLOB NOT NULL)")  # fmt: skip
        old.execute("INSERT INTO event (event_id, content, raw) VALUES (7, 'nothing more', x'7b7d')")
    old.close()
    inbox = Inbox(tmp_path)
    assert inbox.waiting() == (1, {"breaks": [b"{}"]})
    inbox.close()


def run(*words):
    return CliRunner().invoke(ringwright, list(words))


def test_live_lines_set_aside_are_listed_mended_and_taken(intake, tmp_path):
    store, file = str(intake.store), tmp_path / "mend.ndjson"
    assert run("listen", "--store", store, "--list-aside").output == "No line is set aside.\n"
    bad = [event(1, spindle=4000), b"F1 spindle 7 broke", event(2, cause="a\x1b[2J"), event(3)]
    intake.take([("http", b"\n".join(bad))])
    listed = run("listen", "--store", store, "--list-aside").output
    assert "outside 1 to 1008 of frame F1" in listed
    assert "F1 spindle 7 broke" in listed
    assert "\x1b" not in listed
    assert run("listen", "--store", store, "--write-aside", str(file)).exit_code == 0
    lines = [orjson.loads(line) for line in file.read_bytes().splitlines()]
    assert [one["set_aside_number"] for one in lines] == [1, 2, 3]
    assert lines[1]["text"] == "F1 spindle 7 broke"
    lines[0]["spindle"] = 400
    del lines[1]["text"]
    lines[1] |= {"machine": "F1", "spindle": 7, "time": "2026-03-02T06:00:00Z"}
    lines[2]["cause"] = "b\x1b[2J"  # not mended
    file.write_bytes(b"\n".join(orjson.dumps(one) for one in lines) + b"\n")
    told = run("listen", "--store", store, "--mill", "demo", "--mend", str(file))
    assert told.exit_code == 0, told.exception
    assert "3 lines: 2 taken or known, 1 still set aside" in told.output
    assert "line 3: " in told.output
    assert [one.number for one in intake.inbox.asides()] == [3]
    assert b"b\\u001b" in intake.inbox.asides()[0].raw
    assert sorted(row["spindle"] for row in stored(intake.store)) == [4, 7, 400]
    again = run("listen", "--store", store, "--mill", "demo", "--mend", str(file))
    assert "2 taken or known" in again.output  # mending twice doubles nothing
    assert len(stored(intake.store)) == 3
    assert run("listen", "--store", store, "--mend", str(file)).exit_code == 2


def test_gaps_of_a_gateway_are_seen_and_close_again(intake):
    intake.take([("http", b"\n".join(event(number) for number in (5, 6, 9, 12)))])
    assert intake.inbox.gaps() == [Gap("hall 1", 7, 8), Gap("hall 1", 10, 11)]
    intake.take([("http", b"\n".join(event(number) for number in (11, 8, 7)))])
    assert intake.inbox.gaps() == [Gap("hall 1", 10, 10)]
    intake.take([("http", event(10))])
    assert intake.inbox.gaps() == []


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (b"[1]", "not a JSON object"),
        (b'{"machine": "F1"', "not JSON at column"),
        (b'\xff{"a": 1}', "not JSON at column 1"),
        (event(1, spindel=3), "the key 'spindel' is not known"),
        (event(1, cause=["slub"]), "the value of cause is neither a text nor a number"),
        (event(1, spindle=True), "the value of spindle is neither a text nor a number"),
        (event(1, sequence=-1), "the sequence is not a whole number"),
        (event(1, sequence=1.5), "the sequence is not a whole number"),
        (event(1, cause="a\0b"), "a zero byte"),
        (event(1, cause="a\x1b[2Jb"), "control sign"),
        (event(1, time="2026-03-01T10:00:00"), "neither an offset nor a zone"),
        (event(1, spindle=1e300), "is not a whole number"),
        (event(1, cop=2), "between bare tube and full cop"),
        (b"{}", "the machine is missing"),
        (b"[" * 100_000, "not JSON"),
    ],
)
def test_a_line_that_cannot_be_is_set_aside_with_a_true_reason(intake, line, told):
    (answer,) = intake.take([("http", line)])
    ((number, reason),) = answer.set_aside
    assert number == 1
    assert told in reason


def test_nothing_is_answered_when_the_disk_will_not_take_it(intake, desk):
    with served(http_door(desk)) as address:
        intake.inbox._connection.execute("PRAGMA max_page_count = 20")  # as a disk that is full
        many = b"\n".join(event(number) for number in range(3000))
        status, said = ask(address, "POST", "/breaks", many)
        assert status == 503
        assert "nothing was committed" in said["reason"]
        intake.inbox._connection.execute("PRAGMA max_page_count = 100000")
        assert ask(address, "POST", "/breaks", event(1)) == (200, {"stored": 1, "known": 0, "set_aside": []})


def test_the_http_door_wants_its_token_and_bounds_a_batch(desk, monkeypatch):
    monkeypatch.setattr("ringwright.live.http.LARGEST", 1000)
    with served(http_door(desk, "secret")) as address:
        assert ask(address, "POST", "/breaks", event(1))[0] == 401
        assert ask(address, "GET", "/state", token="wrong")[0] == 401  # noqa: S106
        assert ask(address, "POST", "/breaks", event(1), "secret")[0] == 200
        assert ask(address, "POST", "/breaks", b"x" * 1001, "secret")[0] == 413
        assert ask(address, "GET", "/state", token="secret")[1] == {"gaps": [], "waiting": 1, "set_aside": 0}  # noqa: S106


def test_a_folder_is_emptied_only_of_whole_files_after_their_commit(intake, desk, tmp_path):
    folder = tmp_path / "drop"
    folder.mkdir()
    (folder / "a.ndjson").write_bytes(b"\n".join(event(number) for number in range(10)))
    (folder / "b.part").write_bytes(event(11))
    assert empty_folder(folder, desk) == 1
    assert sorted(path.name for path in folder.iterdir()) == ["b.part", "taken"]
    assert intake.inbox.counts()["waiting"] == 10
    (folder / "c.ndjson").write_bytes(event(12))
    intake.inbox._connection.execute("PRAGMA query_only = ON")
    with pytest.raises(Refusal, match="Nothing was acknowledged"):
        empty_folder(folder, desk)
    assert (folder / "c.ndjson").exists()


def test_messages_that_arrive_together_are_committed_together(intake, desk):
    answers = [desk.bring("mqtt", event(number)) for number in range(2000)]
    assert sum(answer.result(timeout=30).stored for answer in answers) == 2000
    assert intake.inbox.counts()["waiting"] == 2000


def test_listening_serves_http_and_moves_what_came_when_it_stops(tmp_path):
    stop = threading.Event()
    said: list[str] = []
    doors = Doors(http=("127.0.0.1", 0), folder=tmp_path / "drop", look_every_s=0.05)
    mill = read_mill(demo_mill_path())
    thread = threading.Thread(target=listen, args=(tmp_path / "store", mill, doors, stop, said.append))
    thread.start()
    deadline = time.monotonic() + 20
    while not said and time.monotonic() < deadline:
        time.sleep(0.02)
    address = said[0].removeprefix("HTTP: POST to ")
    assert ask(address.removesuffix("/breaks"), "POST", "/breaks", event(1))[1]["stored"] == 1
    stop.set()
    thread.join(20)
    assert said[-1] == "Moved: 1 rows: 1 taken, 0 already known, 0 set aside"
    assert len(stored(tmp_path / "store")) == 1


def test_http_beyond_this_computer_needs_a_token(tmp_path):
    with pytest.raises(Refusal, match="RINGWRIGHT_TOKEN"):
        listen(tmp_path, read_mill(demo_mill_path()), Doors(http=("0.0.0.0", 0)), threading.Event(), print)  # noqa: S104


def test_the_settings_that_come_with_us_lose_nothing_and_a_broker_s_own_defaults_do():
    assert broker_faults(tuned_settings(), "ours") == []
    faults = [str(fault) for fault in broker_faults("listener 1883\n", "mosquitto.conf")]
    assert any("max_queued_messages is 1000; it must be 0." in fault for fault in faults)
    assert any("persistence is false" in fault for fault in faults)
    assert len(faults) == 4
    assert broker_faults(tuned_settings(secured=True), "ours") == []


def test_a_listener_does_not_start_beside_a_broker_that_would_lose_messages(tmp_path):
    settings = tmp_path.with_suffix(".conf")
    settings.write_text("listener 1883\npersistence true\n", encoding="utf-8")
    words = ("listen", "--mill", "demo", "--store", str(tmp_path), "--mqtt", "127.0.0.1:1", "--broker-settings")
    refused = run(*words, str(settings))
    assert isinstance(refused.exception, Refusal)
    assert "max_queued_messages is 1000" in str(refused.exception)
    settings.write_text(tuned_settings(), encoding="utf-8")
    there = run(*words, str(settings))
    assert "A broker's acknowledgement is no promise" in there.output
    assert "not to be reached" in str(there.exception)
