"""What the server outlives: a worker that is ended, a batch that fails, files that change in the midst of an answer."""

from __future__ import annotations

import asyncio
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from concurrent.futures import Future
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from slow_work import count, end_myself, note_and_end_myself, own_number, rest
from web_request import request

from ringwright.physics.position import solve
from ringwright.refusal import Refusal
from ringwright.verbs import app as verbs
from ringwright.web import background as background_of
from ringwright.web.background import Background
from ringwright.web.jobs import Job, Jobs
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.web.server import make_app
from ringwright.workbench.ahead import Ahead, Asked
from ringwright.workbench.asking import asked
from ringwright.workbench.place import Moment
from ringwright.workbench.shelf import MillShelf
from ringwright.workbench.solving import Solver
from ringwright.workbench.tried import read_tried

posix = pytest.mark.skipif(sys.platform == "win32", reason="Windows knows no such signals")


@pytest.fixture
def background():
    made = Background()
    yield made
    made.close()


@posix
def test_a_worker_that_is_ended_is_replaced_and_everyone_is_answered(background):
    async def asks():
        first = await background.ask("who", own_number)
        waiting = [asyncio.create_task(background.ask(("rest", k), rest, 0.3, k)) for k in range(4)]
        await asyncio.sleep(0.1)
        os.kill(first, signal.SIGKILL)
        return first, await asyncio.gather(*waiting), await background.ask("who now", own_number)

    first, answers, second = asyncio.run(asks())
    assert answers == [0, 1, 2, 3]
    assert second != first


@posix
def test_a_worker_that_is_ended_while_it_rests_is_replaced(background):
    async def asks():
        first = await background.ask("who", own_number)
        os.kill(first, signal.SIGKILL)
        return [await background.ask(("again", k), rest, 0.0, k) for k in range(3)]

    assert asyncio.run(asks()) == [0, 1, 2]


def test_work_that_ends_its_worker_each_time_is_refused_and_the_next_is_answered(background):
    async def asks():
        with pytest.raises(Refusal, match="ended from outside"):
            await background.ask("bad", end_myself)
        return await background.ask("good", rest, 0.0, 7)

    assert asyncio.run(asks()) == 7


def test_work_that_writes_is_not_begun_again(background, tmp_path):
    async def asks():
        with pytest.raises(Refusal, match="See whether it was done"):
            await background.ask("writes", note_and_end_myself, str(tmp_path / "notes"), once=True)

    asyncio.run(asks())
    assert (tmp_path / "notes").read_text() == "noted\n"


def test_more_questions_than_may_wait_are_refused_and_the_others_answered(background, monkeypatch):
    monkeypatch.setattr(background_of, "WAITING_MOST", 3)

    async def asks():
        several = [background.ask(("many", k), rest, 0.05, k) for k in range(6)]
        return await asyncio.gather(*several, return_exceptions=True)

    found = asyncio.run(asks())
    assert [one for one in found if isinstance(one, int)] == [0, 1, 2]
    assert all("busy" in str(one) for one in found if not isinstance(one, int))


def test_closing_does_not_wait_for_work_that_nobody_waits_for(background):
    async def asks():
        working = await background.ask("who", own_number)
        asyncio.create_task(background.ask("long", rest, 60.0, 1))  # noqa: RUF006 - nobody waits for it
        await asyncio.sleep(0.2)
        background.close()
        return working

    number = asyncio.run(asks())
    until = time.monotonic() + 5.0
    while is_there(number) and time.monotonic() < until:
        time.sleep(0.02)
    assert not is_there(number)


def is_there(number):
    """Whether a process of that number still runs."""
    try:
        os.kill(number, 0)
    except OSError:
        return False
    try:
        return Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return True


def ended(job, seconds=20.0):
    until = time.monotonic() + seconds
    while job.open and time.monotonic() < until:
        time.sleep(0.02)
    return job.state


@posix
def test_a_job_whose_process_is_ended_or_cannot_begin_leaves_its_place_to_the_next(capsys):
    jobs = Jobs()
    waiting = [jobs.of(("count", k), "Counting", count, 100_000) for k in range(2)]
    last = jobs.of("last", "Counting", count, 1)
    os.kill(waiting[0].process.pid, signal.SIGKILL)
    assert ended(waiting[0]) == "broken"
    assert ended(last) == "done"
    assert 'worked at "Counting" was ended from outside' in capsys.readouterr().out  # the page says so
    unfit = jobs.of("unfit", "Counting", lambda *_: None)  # what has no name cannot be handed to a process
    assert unfit.state == "broken"
    assert ended(jobs.of("next", "Counting", count, 1)) == "done"
    jobs.close()


def test_jobs_that_wait_are_not_begun_while_the_server_ends(capsys):
    jobs = Jobs()
    running = [jobs.of(("count", k), "Counting", count, 100_000) for k in range(2)]
    waiting = jobs.of("waits", "Counting", count, 100_000)
    jobs.close()
    assert {ended(one) for one in running} == {"broken"}
    assert capsys.readouterr().out == ""
    assert (waiting.state, waiting.process) == ("waiting", None)


def test_a_clock_that_is_set_does_not_change_how_long_a_job_took(monkeypatch):
    monkeypatch.setattr(time, "time", lambda: 0.0)
    job = Job(name="n", title="", work=count, given=())
    assert 0.0 <= job.seconds < 5.0


def positions_of(mill, words):
    tried = read_tried(mill, "F1", "AV30K", words)
    return asked(tried, Moment(), 0, banded=False).positions()


def test_one_that_cannot_be_solved_does_not_spoil_the_others(monkeypatch):
    mill = verbs.open_mill("demo")
    good, bad = positions_of(mill, {}), positions_of(mill, {"traveller": "44 mg"})
    mass = float(bad.traveller_mass[0])

    def sometimes(positions):
        if np.any(positions.traveller_mass == mass):
            raise FloatingPointError("not this one")
        return solve(positions)

    monkeypatch.setattr("ringwright.workbench.solving.solve", sometimes)
    solver = Solver()
    gate = solver.ask(good)
    gate.result(10)
    answers = [solver.ask(one) for one in (good, bad, good, bad)]
    assert answers[0].result(10)[0].guide_tension == answers[2].result(10)[0].guide_tension
    for spoilt in (answers[1], answers[3]):
        with pytest.raises(FloatingPointError):
            spoilt.result(10)


def test_a_question_taken_back_does_not_stop_the_solver():
    positions = positions_of(verbs.open_mill("demo"), {})
    solver = Solver()
    for _ in range(30):
        solver.ask(positions).cancel()
    assert np.isfinite(solver.ask(positions).result(20)[0].guide_tension).all()


def test_what_failed_is_not_remembered_even_where_it_fails_at_once():
    failed: Future[object] = Future()
    failed.set_exception(FloatingPointError("at once"))
    ahead = Ahead(SimpleNamespace(ask=lambda _: failed))  # type: ignore[arg-type]
    positions = positions_of(verbs.open_mill("demo"), {})
    (share,) = ahead.ask([Asked("one", lambda: positions)])
    with pytest.raises(FloatingPointError):
        share.found()
    assert not ahead.knows("one")


@pytest.fixture
def folder(tmp_path):
    return verbs.init(str(tmp_path / "mill"))


def rewritten(folder, file, old, new, *, keep_time=False):
    path = folder / file
    seen = path.stat()
    text = path.read_bytes()
    assert old in text
    path.write_bytes(text.replace(old, new, 1))
    if keep_time:
        os.utime(path, ns=(seen.st_atime_ns, seen.st_mtime_ns))


@posix
def test_a_change_of_equal_length_with_its_old_time_put_back_is_seen(folder):
    shelf = MillShelf(str(folder))
    assert shelf.mill().yarns["Y30"].strength == pytest.approx(3.25)
    time.sleep(0.06)
    shelf.mill()
    rewritten(folder, "yarns.toml", b'"325 cN"', b'"330 cN"', keep_time=True)
    assert shelf.mill().yarns["Y30"].strength == pytest.approx(3.30)


def test_a_file_written_anew_with_the_same_words_keeps_what_was_worked_out(folder):
    shelf = MillShelf(str(folder))
    mill, version, mark = shelf.mill(), shelf.version, shelf.mark
    rewritten(folder, "yarns.toml", b'"325 cN"', b'"325 cN" # read again')
    assert shelf.mill() is mill
    assert (shelf.version, shelf.mark) == (version, mark)
    rewritten(folder, "yarns.toml", b'"325 cN"', b'"330 cN"')
    assert shelf.mill() is not mill
    assert shelf.version != version
    assert shelf.mark != mark
    assert shelf.version_of(mill) == version


def test_faults_that_are_told_often_do_not_grow(folder):
    shelf = MillShelf(str(folder))
    rewritten(folder, "yarns.toml", b'"325 cN"', b'"325 mm"')
    told = []
    for _ in range(3):
        with pytest.raises(Refusal) as refused:
            shelf.mill()
        told.append(refused.value)
    assert len({id(one) for one in told}) == 3
    assert len({str(one) for one in told}) == 1


def test_an_answer_of_the_mill_before_is_not_kept_for_the_mill_after(folder):
    """The files change, and are read for another, while the first asker's place is being solved."""
    work = PlaceOfWork(shelf=MillShelf(str(folder)))
    before = read_tried(work.shelf.mill(), "F1", "Y30", {})
    rewritten(folder, "yarns.toml", b'"325 cN"', b'"330 cN"')
    after = read_tried(work.shelf.mill(), "F1", "Y30", {})
    asked_of = []

    async def answered(key, _verb, mill, *_, lane):  # noqa: ARG001 - as the background is asked
        asked_of.append((key, mill.yarns["Y30"].strength))

    object.__setattr__(work, "background", SimpleNamespace(ask=answered))

    async def asks():
        await work.whole(own_number, after)
        await work.whole(own_number, before)  # late, and of the mill as it was

    asyncio.run(asks())
    (new, strong), (old, weak) = asked_of
    assert (strong, weak) == (pytest.approx(3.30), pytest.approx(3.25))
    assert new != old


def test_a_page_made_before_the_files_changed_can_tell(folder):
    app = make_app(str(folder))
    page = request(app, "/bench/F1/Y30")
    here = re.search(r'data-mill-state="(\w+)"', page.text)
    assert here
    assert request(app, "/answer/place/F1/Y30").headers["x-mill-state"] == here[1]
    assert request(app, "/alive").headers["x-mill-state"] == here[1]
    rewritten(folder, "yarns.toml", b'"325 cN"', b'"325 mm"')
    assert request(app, "/alive").headers["x-mill-state"] == ""  # wrong files are told in their own way
    rewritten(folder, "yarns.toml", b'"325 mm"', b'"330 cN"')
    assert request(app, "/alive").headers["x-mill-state"] not in {"", here[1]}
    app.state.work.background.close()


@pytest.fixture(scope="module")
def server():
    words = [sys.executable, "-m", "ringwright", "serve", "--port", "0"]
    running = subprocess.Popen(  # noqa: S603 - it is our own server
        words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=os.environ | {"PYTHONUNBUFFERED": "1"}
    )
    assert running.stdout is not None
    at = re.search(r"localhost:(\d+)", running.stdout.readline())
    assert at
    yield running, int(at[1])
    running.kill()
    running.communicate()


def spoken(port, said, *, wait=5.0):
    """Say bytes to the server, and give what it says until it closes."""
    with socket.create_connection(("127.0.0.1", port), timeout=wait) as way:
        way.sendall(said)
        heard = b""
        try:
            while more := way.recv(65536):
                heard += more
        except (TimeoutError, ConnectionResetError):
            pass
        return heard


def children_of(number):
    """Give the numbers of the processes that a process has begun; none where the system does not tell."""
    told = Path(f"/proc/{number}/task/{number}/children")
    return [int(word) for word in told.read_text().split()] if told.exists() else []


HEAD = "{} HTTP/1.1\r\nHost: localhost:{}\r\nOrigin: http://localhost:{}\r\nConnection: close\r\n"


def test_broken_and_broken_off_questions_leave_no_trace_in_the_servers_window(server):
    running, port = server
    for line, more in (
        ("GET /\x00 HTTP/1.1", b"\r\n"),
        ("GET /bench/F1/\xff", b"\r\n"),
        ("POST /mill/yarn/AV30K", b"Content-Length: 5\r\n\r\nab"),
        ("POST /mill/yarn/AV30K", b"Content-Length: \xb2\r\n\r\nab"),
        (
            "POST /mill/yarn/AV30K",
            b"Transfer-Encoding: chunked\r\n\r\n" + b"80000\r\n" + b"x" * 0x80000 + b"\r\n80000\r\n",
        ),
        ("POST /mill/yarn/AV30K", b"Transfer-Encoding: chunked\r\n\r\nzz\r\n"),
        ("GET /answer/doff/F1/AV30K?traveller=41mg", b"\r\n"),
    ):
        with socket.create_connection(("127.0.0.1", port), timeout=5) as way:
            way.sendall(HEAD.format(line, port, port).encode("latin-1") + more)
    big = b"Transfer-Encoding: chunked\r\n\r\n" + (b"40000\r\n" + b"x" * 0x40000 + b"\r\n") * 4 + b"10\r\n" + b"x" * 16
    heard = spoken(port, HEAD.format("POST /mill/yarn/AV30K", port, port).encode() + big + b"\r\n0\r\n\r\n")
    assert heard.startswith(b"HTTP/1.1 413 ") or heard == b""  # the answer may be lost where the way is cut first
    with urllib.request.urlopen(f"http://localhost:{port}/alive", timeout=10) as reply:
        assert reply.status == 200
    assert running.poll() is None


@posix
def test_the_server_ends_quickly_with_all_its_processes(server):
    running, port = server
    with urllib.request.urlopen(f"http://localhost:{port}/answer/rooms/F1/AV30K", timeout=30) as reply:
        assert reply.status == 200
    # a job that would take a minute, and a question whose asker is gone
    for path in ("/better/improve/F1/AV30K?ask=1", "/answer/rooms/F1/AV30K?traveller=44mg"):
        with socket.create_connection(("127.0.0.1", port), timeout=5) as way:
            way.sendall(HEAD.format(f"GET {path}", port, port).encode() + b"\r\n")
            time.sleep(0.5)
    children = children_of(running.pid)
    began = time.monotonic()
    running.send_signal(signal.SIGTERM)
    _, said = running.communicate(timeout=20)
    assert time.monotonic() - began < 8.0
    assert "Traceback" not in said
    until = time.monotonic() + 5.0
    while any(map(is_there, children)) and time.monotonic() < until:
        time.sleep(0.02)
    assert [number for number in children if is_there(number)] == []
