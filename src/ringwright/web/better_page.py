"""What pays: the best speed, better parts, a comparison, energy, cost and breaks, over the command line's own verbs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from ringwright.refusal import Refusal
from ringwright.report.sheets.sheet import Sheet
from ringwright.report.sheets.sheet_html import sheet_html
from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.web.address import in_chosen_units, read_address
from ringwright.web.better_asked import ASKED, Standing, link_of, standing_of, with_form
from ringwright.web.job_page import goes_on, named_at, waiting_view
from ringwright.web.jobs import DONE, REFUSED
from ringwright.web.parts_page import address_of, head_of, sheet_view
from ringwright.workbench.better.catalogue import QUESTIONS, answer_long, answer_now, sheet_in
from ringwright.workbench.better.keeping import keep_fit, kept_on, may_keep
from ringwright.workbench.better.question import Blank

__all__ = ["better", "better_html", "better_pdf", "choose_question", "keep"]

KEEPS = "calibrate"
"""The question whose answer may be kept beside the mill."""


async def choose_question(request: Request) -> Response:
    """Go to the first question of a frame and yarn, with what was tried on the page before."""
    _, address = address_of(request)
    given = read_address(address.frame, address.yarn, request.url.query)
    typed = {**given.a, **{f"b_{key}": word for key, word in (given.b or {}).items()}}
    first = next(iter(QUESTIONS.values()))
    known = {blank.key for one in QUESTIONS.values() for blank in one.blanks}
    return RedirectResponse(link_of(first, given, {key: word for key, word in typed.items() if key in known}), 303)


@in_chosen_units
async def better(request: Request) -> Response:
    """Show a question with its fields and its answer; one that takes long is asked first, and told how far it is."""
    at = standing_of(request)
    if request.method == "POST":
        at = await with_form(request, at)
        if not at.faults:
            return RedirectResponse(link_of(at.question, at.address, {**at.asked.typed, ASKED: "1"}), 303)
    view = _usual(at, request)
    if at.faults:
        return _page(request, at, view | _faulty(at, [str(fault) for fault in at.faults]))
    if not at.question.long or ASKED in request.query_params:
        answer = await _answer(request, at, view)
        if isinstance(answer, Response):
            return answer
        view |= answer
    return _page(request, at, view)


def _page(request: Request, at: Standing, view: Mapping[str, Any]) -> Response:
    return at.work.page(request, "better.html.j2", view, 422 if view["wrong"] else 200)


def _usual(at: Standing, request: Request) -> dict[str, Any]:
    """Give what the page shows with and without an answer."""
    question, address, ground = at.question, at.address, at.asked.ground
    carried = at.moved | _carried(request, at.blanks)
    return {
        "title": f"{question.name}, {address.frame} with {address.yarn}", "page": "better", "address": address,
        "head": head_of(at.work, address), "question": question, "sheet": None, "job": None, "wrong": False,
        "faults": (), "beside": {}, "stopped": False,
        "fields": [(blank, at.asked[blank.key], blank.choices_of(ground)) for blank in at.blanks],
        "takes_file": any(blank.long for blank in at.blanks),
        "others": [(one, link_of(one, address, _shared(one.blanks, carried))) for one in QUESTIONS.values()],
        "as_set": link_of(question, address, {}),
        "unit_links": {
            unit: link_of(question, replace(address, units=address.with_unit(unit)), _whole(at, request))
            for unit in ("Ne", "tpi", "in")
        },
        "kept": kept_on(ground, request.query_params.get("kept", "")) if question.key == KEEPS else "",
    }  # fmt: skip


def _carried(request: Request, own: tuple[Blank, ...]) -> dict[str, str]:
    """Give what only other questions know of this address, so that it goes along to them."""
    known = {blank.key for one in QUESTIONS.values() for blank in one.blanks} - {blank.key for blank in own}
    return {key: text for key, text in request.query_params.items() if key in known and text}


def _shared(blanks: tuple[Blank, ...], typed: Mapping[str, str]) -> dict[str, str]:
    keys = {blank.key for blank in blanks}
    return {key: text for key, text in typed.items() if key in keys}


def _whole(at: Standing, request: Request) -> dict[str, str]:
    """Give the whole question of an address."""
    asked = {key: request.query_params[key] for key in (ASKED, "job") if key in request.query_params}
    return (dict(at.asked.typed) | asked) if not at.fresh or asked else {}


def _faulty(at: Standing, faults: list[str]) -> dict[str, Any]:
    """Put each sentence beside the field that it names, the others below."""
    beside: dict[str, list[str]] = {}
    rest = []
    for sentence in faults:
        named = next((blank.key for blank in at.blanks if sentence.startswith(f"{blank.label} ")), "")
        if named:
            beside.setdefault(named, []).append(sentence)
        else:
            rest.append(sentence)
    return {"beside": beside, "faults": rest, "wrong": not at.fresh}


def _key(at: Standing) -> tuple[object, ...]:
    return ("better", at.question.key, at.work.shelf.version, at.asked.ground.names, tuple(at.asked.typed.items()))


async def _now(at: Standing) -> Sheet:
    return await at.work.background.ask(_key(at), answer_now, at.question.key, at.asked, lane="spare")


async def _answer(request: Request, at: Standing, usual: Mapping[str, Any]) -> dict[str, Any] | Response:
    """Give what the page shows of the answer, or a page to show in its place."""
    if at.question.long:
        return await _of_job(request, at, usual)
    try:
        return _shown(at, request, await _now(at))
    except Refusal as refusal:
        return _faulty(at, [str(fault) for fault in refusal.faults])


async def _of_job(request: Request, at: Standing, usual: Mapping[str, Any]) -> dict[str, Any] | Response:
    question = at.question
    if (gone := goes_on(request, _key(at), question.name, usual)) is not None:
        return gone
    again = "again" in request.query_params
    job = await run_in_threadpool(
        at.work.jobs.of, _key(at), question.question, answer_long, question.key, at.asked, again=again
    )
    if (way := named_at(request, job)) is not None:
        return way
    if job.state == DONE:
        return _shown(at, request, sheet_in(job.answer, at.address.units)) | {"stopped": job.stopping}
    if job.state == REFUSED:
        return _faulty(at, list(job.faults))
    more = {ASKED: "1", **({} if job.open else {"again": "1"})}
    return waiting_view(job, link_of(question, at.address, {**at.asked.typed, **more}))


def _shown(at: Standing, request: Request, sheet: Sheet) -> dict[str, Any]:
    whole = _whole(at, request)
    links = {kind: link_of(at.question, at.address, whole, f"/sheet.{kind}") for kind in ("pdf", "html")}
    keeps = at.question.key == KEEPS and may_keep(at.asked.ground)
    today = datetime.now(UTC).astimezone().date().isoformat()
    return sheet_view(sheet) | {
        "papers": links, "today": today, "keeps": link_of(at.question, at.address, whole, "/keep") if keeps else "",
    }  # fmt: skip


async def _sheet(request: Request) -> tuple[Standing, Sheet | None]:
    """Give the answer that the page of this address shows; None where it is not there yet."""
    at = standing_of(request)
    if not at.question.long:
        return at, await _now(at)
    job = at.work.jobs.known(_key(at))
    return at, sheet_in(job.answer, at.address.units) if job is not None and job.state == DONE else None


@in_chosen_units
async def better_pdf(request: Request) -> Response:
    """Give the answer as PDF, the same document as the command line's."""
    at, sheet = await _sheet(request)
    if sheet is None:
        return _back(at, request)
    return Response(await run_in_threadpool(sheet_pdf, sheet), media_type="application/pdf", headers=_named(at, "pdf"))


@in_chosen_units
async def better_html(request: Request) -> Response:
    """Give the answer as an HTML file to keep or send."""
    at, sheet = await _sheet(request)
    if sheet is None:
        return _back(at, request)
    return Response(sheet_html(sheet), media_type="text/html; charset=utf-8", headers=_named(at, "html"))


def _back(at: Standing, request: Request) -> Response:
    """Go to the page of a question whose answer is not there, which says how far it is."""
    return RedirectResponse(link_of(at.question, at.address, _whole(at, request)), 303)


def _named(at: Standing, kind: str) -> dict[str, str]:
    stem = "-".join((*at.asked.ground.names, at.question.key)) if at.question.key != "survey" else "all-frames"
    show = "inline" if kind == "pdf" else "attachment"
    return {"content-disposition": f"{show}; filename*=UTF-8''{quote(f'{stem}.{kind}')}", "cache-control": "no-store"}


async def keep(request: Request) -> Response:
    """Keep the fit of the address beside the mill, and go back to its page, which says so."""
    at = standing_of(request)
    if at.question.key != KEEPS:
        raise HTTPException(404)
    async with request.form(max_files=0, max_fields=4) as form:
        date, replaced = str(form.get("date", ""))[:20], form.get("replace") == "1"
    kept = await run_in_threadpool(keep_fit, at.asked, date, replace=replaced)
    return RedirectResponse(link_of(at.question, at.address, {**_whole(at, request), "kept": kept}), 303)

