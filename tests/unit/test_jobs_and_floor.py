"""Longer work in the background, the floor's pages, and what pays: over the verbs of the command line."""

from __future__ import annotations

import json
import re
import time
from html import unescape
from urllib.parse import urlencode

import pytest
from slow_work import count, linger, refuse
from web_request import request

from ringwright.refusal import Fault, Refusal
from ringwright.verbs import app as verbs
from ringwright.verbs.asked import Asked
from ringwright.web import jobs as jobs_of
from ringwright.web.jobs import Jobs
from ringwright.web.server import make_app
from ringwright.workbench import floor

OWN = {"origin": "http://localhost:8733", "content_type": "application/x-www-form-urlencoded"}


@pytest.fixture
def jobs():
    made = Jobs()
    yield made
    made.close()


def ended(job, seconds=20.0):
    until = time.monotonic() + seconds
    while job.open and time.monotonic() < until:
        time.sleep(0.02)
    return job.state


def said(job, seconds=20.0):
    until = time.monotonic() + seconds
    while not job.said and time.monotonic() < until:
        time.sleep(0.01)
    return job.said


def test_a_question_is_worked_out_once_and_its_answer_kept(jobs):
    job = jobs.of(("count", 3), "Counting", count, 3)
    assert jobs.of(("count", 3), "Counting", count, 3) is job
    assert (ended(job), job.answer) == ("done", 3)
    assert jobs.of(("count", 3), "Counting", count, 3) is job


def test_work_that_is_stopped_gives_the_best_so_far(jobs):
    job = jobs.of("long", "Counting", count, 100_000)
    assert said(job).endswith("of 100000")
    jobs.end(job)
    assert ended(job) == "done"
    assert job.stopping
    assert 0 <= job.answer < 100_000


def test_work_that_does_not_hear_is_ended(jobs, monkeypatch):
    monkeypatch.setattr(jobs_of, "PATIENCE", 0.2)
    job = jobs.of("deaf", "Lingering", linger)
    assert said(job) == "deaf"
    jobs.end(job)
    assert ended(job) == "stopped"
    assert jobs.of("deaf", "Lingering", linger) is job  # looking again does not start it again
    again = jobs.of("deaf", "Lingering", linger, again=True)
    assert again is not job
    assert again.open


def test_a_refusal_is_told_in_its_own_words(jobs):
    job = jobs.of("refused", "Refusing", refuse)
    assert ended(job) == "refused"
    assert job.faults == ("the work is nothing; it must be something.",)


def test_more_jobs_than_may_wait_are_refused(jobs):
    for k in range(jobs_of.AT_ONCE + jobs_of.WAITING_MOST):
        jobs.of(("many", k), "Counting", count, 100_000)
    with pytest.raises(Refusal, match="busy"):
        jobs.of("one more", "Counting", count, 1)


@pytest.fixture(scope="module")
def served():
    made = make_app("demo")
    yield made
    made.state.work.background.close()
    made.state.work.jobs.close()


def test_a_server_without_records_says_how_to_give_them(tmp_path):
    made = make_app(str(verbs.init(str(tmp_path / "mill"))))
    for page in ("/worklist", "/study", "/worklist/history"):
        assert "--records STORE" in request(made, page).text


@pytest.mark.parametrize("page", ["/worklist/tick", "/worklist/untick", "/worklist/anew", "/job/none/stop"])
def test_nothing_is_changed_for_a_page_of_another_site(served, page):
    reply = request(
        served, page, method="POST", body=b"key=x", origin="http://evil.example", sec_fetch_site="cross-site"
    )
    assert reply.status == 403


def test_the_way_back_from_a_stop_leads_nowhere_else(served):
    job = served.state.work.jobs.of("stop me", "Counting", count, 100_000)
    for back, way in (("/worklist", "/worklist"), ("//evil.example/", "/"), ("https://evil.example", "/")):
        reply = request(served, f"/job/{job.name}/stop", method="POST", body=urlencode({"back": back}).encode(), **OWN)
        assert reply.status == 303
        assert reply.headers["location"] == way
    assert ended(job) in {"done", "stopped"}
    assert json.loads(request(served, f"/job/{job.name}").body)["ended"]


class Listed:
    """A list that stands ready, in place of seconds of statistics."""

    def __init__(self, served, monkeypatch, asked):
        self.ticks: list[dict[str, str]] = []
        task = {
            "number": 1, "key": "F1-x", "kind": "spindle", "what": "Look at <b>x</b>", "when": "now", "frame": "F1",
            "look_at": "", "effect": "", "rests_on": "", "evidence": "It breaks.", "sure": "Sure.", "command": "",
            "question": "spindles", "open": True, "before": "", "lock_out": True, "cautions": [("A", "x")],
        }  # fmt: skip
        view = {
            "mill": "M", "origin": "records", "missing": [], "cautions": [("A", "Stop.")], "always": [], "made": "now",
            "done": [], "groups": [{"title": "F1", "tasks": [task]}],
        }  # fmt: skip
        job = jobs_of.Job(name="list", title="", work=count, given=(), state="done",
                          answer={"view": view, "pdf": b"%PDF", "list": b""})  # fmt: skip
        work = served.state.work
        monkeypatch.setattr(work.jobs, "of", lambda *_, **__: job)
        monkeypatch.setattr(work.jobs, "known", lambda *_: job)
        monkeypatch.setattr(work.jobs, "named", lambda *_: job)

        async def answered(_key, verb, *given, lane, once=False):  # noqa: ARG001 - as the background is asked
            if verb is floor.history_of:
                return self.ticks
            if verb is floor.tick_of:
                if not given[2]["note"]:
                    raise Refusal(Fault(where="--note", got="empty", wants="filled in"))
                self.ticks.append({**given[2], "what": "x", "when": "2026-04-01", "back": ""})
            else:
                self.ticks[-1]["back"] = f"by {given[1]['by']}: {given[1]['note']}"
            return "x"

        monkeypatch.setattr(work.background, "ask", answered)
        self.asked = asked


@pytest.fixture
def listed(monkeypatch, tmp_path):
    made = make_app("demo", store=str(tmp_path))
    return made, Listed(made, monkeypatch, Asked(records=str(tmp_path), mill="demo"))


def post(made, page, **fields):
    return request(made, page, method="POST", body=urlencode(fields).encode(), **OWN)


def test_a_task_is_ticked_shown_as_done_and_taken_back(listed):
    made, held = listed
    page = request(made, "/worklist?job=list")
    assert "Look at &lt;b&gt;x&lt;/b&gt;" in page.text
    assert page.text.index("To do") < page.text.index("Look at")
    reply = post(made, "/worklist/tick", key="F1-x", note="New plate fitted <i>", by="R. Ode")
    assert (reply.status, reply.headers["location"]) == (303, "/worklist?ticked=1")
    after = request(made, "/worklist?ticked=1&job=list").text
    assert "0 tasks" in after
    assert "New plate fitted &lt;i&gt;" in after
    reply = post(made, "/worklist/untick", key="F1-x", note="Wrong side", by="R. Ode")
    assert reply.status == 303
    assert "1 task<" in request(made, "/worklist?back=1&job=list").text
    assert "Taken back by R. Ode: Wrong side" in request(made, "/worklist/history").text
    assert held.ticks[0]["note"] == "New plate fitted <i>"


def test_a_tick_without_a_note_keeps_what_was_typed_and_says_what_is_missing(listed):
    made, held = listed
    reply = post(made, "/worklist/tick", key="F1-x", note="  ", by="R. Ode")
    assert reply.status == 422
    beside = reply.text.partition('id="e-tick-note-F1-x"')[2].partition("</p>")[0]
    assert "The note is empty; it must be filled in." in beside
    assert 'value="R. Ode"' in reply.text
    assert held.ticks == []


def test_a_page_whose_answer_was_lost_says_so_and_seeks_nothing_by_itself(served, monkeypatch):
    begun = []

    def of(key, *_, **__):
        begun.append(key)
        return jobs_of.Job(name=Jobs.name_of(key), title="", work=count, given=(), state="running")

    monkeypatch.setattr(served.state.work.jobs, "of", of)
    for page in ("/worklist?frame=F1", "/study?question=spindles", "/better/improve/F1/AV30K?ask=1"):
        begun.clear()
        asked = request(served, page)
        assert (asked.status, len(begun)) == (303, 1)
        at = asked.headers["location"]
        assert at == f"{page}&job={Jobs.name_of(begun[0])}"
        later = request(served, at)  # as a browser asks that loads the page again once the server was started anew
        assert len(begun) == 1
        assert "the answer is gone" in later.text
        seek = unescape(re.findall(r'href="([^"]*)">Seek it again', later.text)[0])
        assert seek == f"{page}&again=1"
        assert request(served, seek).headers["location"] == at
        assert len(begun) == 2


def test_a_tick_for_a_list_that_was_lost_is_kept_to_be_sent_again(listed, monkeypatch):
    made, held = listed
    jobs = made.state.work.jobs
    monkeypatch.setattr(jobs, "known", lambda *_: None)
    reply = post(made, "/worklist/tick", key="F1-x", note="New <plate>", by="R. Ode", when="2026-04-01")
    assert (reply.status, held.ticks) == (409, [])
    page = reply.text
    assert "Not ticked yet" in page
    assert "New &lt;plate&gt;" in page
    assert all(f'value="{word}"' in page for word in ("F1-x", "R. Ode", "2026-04-01"))


def test_the_list_is_the_command_lines_pdf(listed):
    made, _ = listed
    reply = request(made, "/worklist/list.pdf")
    assert (reply.headers["content-type"], reply.body) == ("application/pdf", b"%PDF")
