"""A trial of one setting against another: planned, or judged from a table typed, pasted or sent as a file.

All that was typed stands in the address, so that a page can be loaded again, led to and printed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from ringwright.report.sheets.sheet import Sheet
from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.web.centring_form import read_centring_form
from ringwright.web.floor_ground import pdf_answer, usual
from ringwright.web.job_page import goes_on, named_at, waiting_view
from ringwright.web.jobs import DONE, REFUSED, Job
from ringwright.web.parts_page import sheet_view
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.workbench.trial import (
    DEMO,
    EXAMPLE,
    RUNS,
    Asked,
    AskedPlan,
    AskedVerdict,
    plan_of,
    verdict_of,
)

__all__ = ["judge", "judge_pdf", "plan", "plan_pdf"]

SHORT, TABLE_MOST = 60, 12_000
"""Letters that are read of a field, and of a table: more of it would not go into an address."""
_EMPTY = "The table is empty; it must be a line for each frame and shift. Paste it, or send a file."
RECORDS, COUNTS, STATED = "records", "counts", "stated"
_PLAN_FIELDS = {
    "change": "The change to be seen", "power": "The chance to see it", "level": "The share of false alarms",
    "breaks": "Breaks of a frame in a shift", "shared": "The scatter that frames share",
    "own": "The scatter of one frame alone",
}  # fmt: skip
_PLACES = {
    "--change": "change", "--power": "power", "--level": "level", "--breaks": "breaks", "--shift-spread": "shared",
    "--frame-spread": "own", "the change to be seen": "change",
}  # fmt: skip
"""The field of each place that a fault names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Form:
    """What was typed, by key, and whether an answer is asked for."""

    typed: Mapping[str, str]
    asked: bool


async def plan(request: Request) -> Response:
    """Show the fields of a plan, and the plan once it is asked for."""
    work = PlaceOfWork.of(request)
    form = _plan_form(request, work)
    view = _usual(work, "Plan a trial", "plan", form)
    if not form.asked:
        return work.page(request, "trial.html.j2", view)
    return await _answer(request, view, plan_of, _asked_plan(work, form))


async def plan_pdf(request: Request) -> Response:
    """Give the plan as PDF."""
    work = PlaceOfWork.of(request)
    return await _pdf(request, _asked_plan(work, _plan_form(request, work)), "trial-plan.pdf", "/trial")


async def judge(request: Request) -> Response:
    """Show the fields of a verdict, and the verdict once it is asked for; a file that is sent goes into the fields."""
    work = PlaceOfWork.of(request)
    if request.method == "POST":
        return await _file_taken(request, work)
    form = _judge_form(request, work)
    view = _usual(work, "Judge a trial", "judge", form)
    if not form.asked:
        return work.page(request, "trial.html.j2", view)
    if not form.typed["table"].strip():
        return work.page(request, "trial.html.j2", view | {"faults": {"table": [_EMPTY]}}, 422)
    return await _answer(request, view, verdict_of, _asked_verdict(work, form))


async def judge_pdf(request: Request) -> Response:
    """Give the verdict as PDF."""
    work = PlaceOfWork.of(request)
    return await _pdf(request, _asked_verdict(work, _judge_form(request, work)), "trial.pdf", "/trial/judge")


def _plan_form(request: Request, work: PlaceOfWork) -> _Form:
    start = {"change": "-20 %", "power": "80 %", "level": "5 %", "from": RECORDS if work.records else STATED,
             "breaks": "", "shared": "", "own": ""}  # fmt: skip
    return _read(request, start)


def _judge_form(request: Request, work: PlaceOfWork) -> _Form:
    start = {"table": "", "old": "", "change": "-20 %", "from": COUNTS, "name": ""}
    form = _read(request, start)
    example = request.query_params.get("example", "")
    if example and not form.typed["table"]:
        runs = example == RECORDS and bool(work.records)
        taken = {"table": RUNS if runs else EXAMPLE, "old": "40 mg", "from": RECORDS if runs else COUNTS}
        return _Form(typed={**form.typed, **taken}, asked=True)
    return form


def _read(request: Request, start: Mapping[str, str]) -> _Form:
    given = request.query_params
    typed = {key: _cut(key, given.get(key, usual)) for key, usual in start.items()}
    return _Form(typed=typed, asked="ask" in given)


def _cut(key: str, text: str) -> str:
    return text.replace("\r\n", "\n")[:TABLE_MOST] if key == "table" else text.strip()[:SHORT]


def _records(work: PlaceOfWork, form: _Form) -> Asked | None:
    from_records = form.typed["from"] == RECORDS and bool(work.records)
    return Asked(records=work.records, mill=work.shelf.where) if from_records else None


def _asked_plan(work: PlaceOfWork, form: _Form) -> AskedPlan:
    typed = form.typed
    return AskedPlan(change=typed["change"], power=typed["power"], level=typed["level"], breaks=typed["breaks"],
                     common=typed["shared"], own=typed["own"], records=_records(work, form))  # fmt: skip


def _asked_verdict(work: PlaceOfWork, form: _Form) -> AskedVerdict:
    typed = form.typed
    return AskedVerdict(path=typed["name"] or "the table", text=typed["table"], old=typed["old"],
                        change=typed["change"], records=_records(work, form))  # fmt: skip


def _usual(work: PlaceOfWork, title: str, act: str, form: _Form) -> dict[str, Any]:
    work.shelf.mill()
    at = "/trial" if act == "plan" else "/trial/judge"
    query = urlencode([(key, text) for key, text in form.typed.items() if text])
    pdf = f"{at}/{'plan' if act == 'plan' else 'verdict'}.pdf?{query}"
    return usual(work, title) | {
        "act": act, "typed": form.typed, "faults": {}, "sheet": None, "job": None, "records": bool(work.records),
        "demo": work.records == DEMO, "pdf": pdf, "most": TABLE_MOST // 1000, "words": "",
    }  # fmt: skip


def _key(work: PlaceOfWork, asked: AskedPlan | AskedVerdict) -> tuple[object, ...]:
    return ("trial", work.shelf.version, asked)


async def _answer(
    request: Request, view: dict[str, Any], verb: Any, asked: AskedPlan | AskedVerdict  # noqa: ANN401 - either verb
) -> Response:
    """Show the answer, or how far it is; counting the records takes some seconds."""
    work, key = PlaceOfWork.of(request), _key(PlaceOfWork.of(request), asked)
    instead = goes_on(request, key, view["title"], view)
    if instead is not None:
        return instead
    again = "again" in request.query_params
    job: Job = await run_in_threadpool(work.jobs.of, key, view["title"], verb, asked, again=again)
    if (way := named_at(request, job)) is not None:
        return way
    if job.state == DONE:
        return work.page(request, "trial.html.j2", view | sheet_view(job.answer))
    if job.state == REFUSED:
        return work.page(request, "trial.html.j2", view | {"faults": _beside(job.faults)}, 422)
    again_at = f"{request.url.path}?{request.url.query}"
    shown = waiting_view(job, again_at if job.open else f"{again_at}&again=1")
    return work.page(request, "trial.html.j2", view | shown)


def _beside(faults: Sequence[str]) -> dict[str, list[str]]:
    """Put each fault beside its field, in the page's own words; what names no field belongs to the table."""
    found: dict[str, list[str]] = {}
    for fault in faults:
        place, _, rest = fault.partition(" is ")
        key = _PLACES.get(place, "")
        words = f"{_PLAN_FIELDS[key]} is {rest}" if key else fault
        found.setdefault(key or "table", []).append(words)
    return found


async def _pdf(request: Request, asked: AskedPlan | AskedVerdict, name: str, page: str) -> Response:
    work = PlaceOfWork.of(request)
    job = work.jobs.known(_key(work, asked))
    if job is None or job.state != DONE:
        return RedirectResponse(f"{page}?{request.url.query}&ask=1", 303)
    sheet: Sheet = job.answer
    return pdf_answer(await run_in_threadpool(sheet_pdf, sheet), name)


async def _file_taken(request: Request, work: PlaceOfWork) -> Response:
    """Take a file's text into the fields of the page and judge it."""
    sent = await read_centring_form(request)
    typed = {key: sent.fields.get(key, "") for key in ("old", "change", "from")}
    faults = [*sent.faults]
    if not faults and not sent.text.strip():
        faults.append("The file is empty or was not chosen; it must be CSV with a line for each frame and shift.")
    if not faults and len(sent.text) > TABLE_MOST:
        faults.append(f'The file "{sent.name}" has more than {TABLE_MOST} letters; use: ringwright trial judge FILE.')
    if faults:
        form = _Form(typed={"table": "", "name": "", **typed}, asked=False)
        view = _usual(work, "Judge a trial", "judge", form) | {"faults": {"file": faults}}
        return work.page(request, "trial.html.j2", view, 422)
    query = urlencode({"table": sent.text, "name": sent.name[:SHORT], **typed, "ask": "1"})
    return RedirectResponse(f"/trial/judge?{query}", 303)
