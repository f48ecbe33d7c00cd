"""The floor's work list: made in the background, ticked off, taken back, printed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any
from urllib.parse import quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from ringwright.refusal import Refusal
from ringwright.report.worklist_rows import LOCK_OUT, RULES, of_group, pointed, task_cautions
from ringwright.web.floor_ground import (
    asked_of,
    beside,
    form_of,
    job_of,
    key_of,
    link_to,
    pdf_answer,
    query_of,
    records_missing,
    usual,
    waiting,
)
from ringwright.web.jobs import DONE, Jobs
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.workbench.floor import DEMO, history_of, list_of, tick_of, untick_of

__all__ = ["anew", "history", "list_pdf", "tick", "untick", "worklist"]

TITLE = "Making the work list"
_FIELDS = {
    "--note": ("note", "The note"), "--by": ("by", "The name"), "--when": ("when", "The time"),
    "--tick": ("", "The task"), "--untick": ("", "The task"),
}  # fmt: skip
"""What the command line calls the fields of a tick, and the key and words of the page's own."""


async def worklist(request: Request) -> Response:
    """Show the work list, or how far it is."""
    return await _list_page(request, {"key": ""}, {}, 200)


async def _list_page(
    request: Request, typed: Mapping[str, str], faults: Mapping[str, Sequence[str]], status: int
) -> Response:
    asked, job = await job_of(request, "list", TITLE, list_of)
    if asked is None or job is None:
        return records_missing(request)
    if isinstance(job, Response):
        return job
    if job.state != DONE:
        return waiting(request, job, "Work list", link_to("/worklist", asked))
    work, view = PlaceOfWork.of(request), job.answer["view"]
    ticks = await work.background.ask(("ticks", object()), history_of, asked, lane="spare")
    standing = {one["key"]: one for one in ticks if not one["back"]}
    joined = [(one["title"], [_task(work, row, standing, view["done"]) for row in one["tasks"]])
              for one in view["groups"]]  # fmt: skip
    groups = [_group(place, title, rows) for place, (title, rows) in enumerate(joined)]
    groups = [one for one in groups if one["tasks"]]
    used = {letter for one in groups for letter, _ in one["cautions"]}
    shown = usual(work, "Work list") | {
        "list": view, "groups": groups, "many": sum(len(one["tasks"]) for one in groups), "rules": RULES,
        "cautions": [pair for pair in view["cautions"] if pair[0] in used], "lock_out": LOCK_OUT,
        "ticked": [row for _, rows in joined for row in rows if row["ticked"]],
        "done": [one for one in view["done"] if one["key"] in standing],
        "can_tick": asked.records != DEMO, "typed": typed, "faults": faults, "patrol": asked.at_patrol,
        "here_query": query_of(asked),
        "other_stamp": link_to("/worklist", replace(asked, at_patrol=not asked.at_patrol)),
        "pdf": link_to("/worklist/list.pdf", asked), "history": link_to("/worklist/history", asked),
        "said": "Ticked. The next list says whether it helped." if "ticked" in request.query_params else
                "Taken back. The tick stays in the ledger, marked." if "back" in request.query_params else "",
    }  # fmt: skip
    return work.page(request, "worklist.html.j2", shown, status)


def _group(place: int, title: str, rows: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Give the open tasks of a group with what is said once for them; ``place`` names it in the page."""
    still = [row for row in rows if row["open"]]
    tasks = [{**row, "mind": task_cautions(row)} for row in pointed(still)]
    return {"title": title, "id": f"g-{place}", "tasks": tasks, **of_group(still)}


def _task(
    work: PlaceOfWork, one: Mapping[str, Any], standing: Mapping[str, Any], done: Sequence[Mapping[str, Any]]
) -> dict[str, Any]:
    """Join a task with what was ticked since the list was made."""
    tick = standing.get(one["key"])
    known = next((row for row in done if row["key"] == one["key"]), None)
    new = tick is not None and (known is None or known["when"] != tick["when"])
    taken_back = tick is None and known is not None
    setting = next((each for each in work.shelf.mill().settings.values() if each.frame == one["frame"]), None)
    if one["question"]:
        frame = {"frame": one["frame"]} if one["frame"] else {}
        evidence = f"/study?{urlencode({'question': one['question'], **frame})}"
    else:
        evidence = _page_of(one["kind"], setting.frame, setting.yarn, work.records) if setting else ""
    return {
        **one, "evidence_link": evidence, "open": (one["open"] or taken_back) and not new,
        "ticked": tick if new else None, "before": "" if taken_back else one["before"],
    }  # fmt: skip


def _page_of(kind: str, frame: str, yarn: str, records: str) -> str:
    """Give the page that shows the evidence of a task that is no question to the break records."""
    at = f"{quote(frame, safe='')}/{quote(yarn, safe='')}"
    if kind.startswith("centring"):
        return f"/parts/centring/{at}?round={'demo' if records == DEMO else 'kept'}"
    part = "drive" if kind.startswith("slow") else kind
    return f"/parts/{part}/{at}" if part in {"drive", "creel"} else f"/bench/{at}"


async def tick(request: Request) -> Response:
    """Tick a task of the list that was looked at, with a note and a name."""
    work, asked = asked_of(request)
    if asked is None:
        return records_missing(request)
    given = await form_of(request, ("key", "note", "by", "when"))
    key = key_of(work, "list", asked)
    job = work.jobs.known(key)
    if job is None or job.state != DONE:  # the server was started anew meanwhile
        await run_in_threadpool(work.jobs.of, key, TITLE, list_of, asked, again=True)
        view = usual(work, "Not ticked yet") | {"typed": given, "send": link_to("/worklist/tick", asked)}
        return work.page(request, "floor_kept.html.j2", view, 409)
    try:
        held = job.answer["list"]
        await work.background.ask(("tick", object()), tick_of, asked, held, given, lane="spare", once=True)
    except Refusal as refusal:
        return await _list_page(request, given, beside(refusal, _FIELDS), 422)
    return RedirectResponse(link_to("/worklist", asked, ticked="1"), 303)


async def untick(request: Request) -> Response:
    """Take the last tick of a task back, with the reason and a name; it stays in the ledger."""
    _, asked = asked_of(request)
    if asked is None:
        return records_missing(request)
    given = await form_of(request, ("key", "note", "by"))
    work = PlaceOfWork.of(request)
    try:
        await work.background.ask(("untick", object()), untick_of, asked, given, lane="spare", once=True)
    except Refusal as refusal:
        return await _list_page(request, given, beside(refusal, _FIELDS), 422)
    return RedirectResponse(link_to("/worklist", asked, back="1"), 303)


async def anew(request: Request) -> Response:
    """Make the list anew, from the records as they are now."""
    work, asked = asked_of(request)
    if asked is None:
        return records_missing(request)
    work.jobs.forget(key_of(work, "list", asked))
    return RedirectResponse(link_to("/worklist", asked), 303)


async def list_pdf(request: Request) -> Response:
    """Give the list as PDF, the same document as the command line's."""
    work, asked = asked_of(request)
    if asked is None:
        return records_missing(request)
    key = key_of(work, "list", asked)
    job = work.jobs.known(key)
    if job is None or job.state != DONE:
        return RedirectResponse(link_to("/worklist", asked, job=Jobs.name_of(key)), 303)
    return pdf_answer(job.answer["pdf"], "worklist.pdf")


async def history(request: Request) -> Response:
    """List every tick, those taken back too."""
    work, asked = asked_of(request)
    if asked is None:
        return records_missing(request)
    ticks = await work.background.ask(("ticks", object()), history_of, asked, lane="spare")
    view = usual(work, "Ticks") | {"ticks": ticks, "back": link_to("/worklist", asked)}
    return work.page(request, "ticks.html.j2", view)
