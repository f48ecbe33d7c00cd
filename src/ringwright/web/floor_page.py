"""The floor: the work list with its ticks, and the studies of the break records."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any
from urllib.parse import parse_qsl, quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from ringwright.refusal import Fault, Refusal
from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.web.address import LONGEST, Address
from ringwright.web.job_page import waiting_view
from ringwright.web.jobs import DONE, REFUSED, Job
from ringwright.web.parts_page import head_of, sheet_view
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.workbench.floor import (
    DEMO,
    Asked,
    history_of,
    list_of,
    questions_of,
    study_of,
    tick_of,
    untick_of,
)

__all__ = ["anew", "history", "list_pdf", "study", "study_pdf", "tick", "untick", "worklist"]

LONGEST_NOTE = 600
_FIELDS = {"--note": "The note", "--by": "The name", "--when": "The time", "--tick": "The task", "--untick": "The task"}
"""What the command line calls the fields of a tick, and what the page calls them."""
NO_RECORDS = (
    "This server was started without records. Start it with: ringwright serve MILL --records STORE, where STORE is a "
    "folder that ringwright take made; or serve the demo, which has invented records."
)


def _asked(request: Request) -> tuple[PlaceOfWork, Asked | None]:
    """Read what is asked of the records; None where the server has none."""
    work = PlaceOfWork.of(request)
    work.shelf.mill()
    if not work.records:
        return work, None
    given = request.query_params
    asked = Asked(
        records=work.records,
        mill=work.shelf.where,
        questions=tuple(word[:LONGEST] for word in given.getlist("question")[:20] if word),
        frames=tuple(word[:LONGEST] for word in given.getlist("frame")[:20] if word),
        at_patrol=given.get("stamped") == "patrol",
    )
    return work, asked


def _usual(work: PlaceOfWork, title: str) -> dict[str, Any]:
    mill = work.shelf.mill()
    setting = next(iter(mill.settings.values()), None)
    address = Address(frame=setting.frame if setting else "", yarn=setting.yarn if setting else "")
    return {"title": title, "page": "floor", "address": address, "head": head_of(work, address), "can_tick": False}


def _key(work: PlaceOfWork, what: str, asked: Asked) -> tuple[object, ...]:
    return (what, work.shelf.version, asked)


async def _job(request: Request, what: str, title: str, verb: Any) -> tuple[PlaceOfWork, Asked | None, Job | None]:  # noqa: ANN401 - any work
    work, asked = _asked(request)
    if asked is None:
        return work, None, None
    again = "again" in request.query_params
    key = _key(work, what, asked)
    return work, asked, await run_in_threadpool(work.jobs.of, key, title, verb, asked, again=again)


def _without(request: Request) -> Response:
    work = PlaceOfWork.of(request)
    return work.page(request, "floor_none.html.j2", _usual(work, "Floor") | {"sentence": NO_RECORDS})


def _waiting(request: Request, job: Job, title: str, back: str) -> Response:
    work = PlaceOfWork.of(request)
    if job.state == REFUSED:
        view = {"title": title, "faults": job.faults}
        return work.page(request, "refused.html.j2", view, 422)
    joint = "&" if "?" in back else "?"
    again = f"{back}{joint}again=1" if job.state not in {"waiting", "running"} else back
    return work.page(request, "floor_wait.html.j2", _usual(work, title) | waiting_view(job, again))


async def worklist(request: Request) -> Response:
    """Show the work list, or how far it is."""
    return await _list_page(request, {"key": ""}, [], 200)


async def _list_page(request: Request, typed: Mapping[str, str], faults: Sequence[str], status: int) -> Response:
    work, asked, job = await _job(request, "list", "Making the work list", list_of)
    if asked is None or job is None:
        return _without(request)
    if job.state != DONE:
        return _waiting(request, job, "Work list", _link("/worklist", asked))
    view = job.answer["view"]
    ticks = await work.background.ask(("ticks", object()), history_of, asked, lane="spare")
    standing = {one["key"]: one for one in ticks if not one["back"]}
    tasks = [_task(work, one, standing, view["done"]) for one in view["tasks"]]
    shown = _usual(work, "Work list") | {
        "list": view,
        "tasks": [one for one in tasks if one["open"]],
        "ticked": [one for one in tasks if one["ticked"]],
        "done": [one for one in view["done"] if one["key"] in standing],
        "can_tick": asked.records != DEMO,
        "typed": typed,
        "faults": faults,
        "patrol": asked.at_patrol,
        "here_query": _query(asked),
        "other_stamp": _link("/worklist", replace(asked, at_patrol=not asked.at_patrol)),
        "pdf": _link("/worklist/list.pdf", asked),
        "history": _link("/worklist/history", asked),
        "said": "Ticked. The next list says whether it helped." if "ticked" in request.query_params else
                "Taken back. The tick stays in the ledger, marked." if "back" in request.query_params else "",
    }  # fmt: skip
    return work.page(request, "worklist.html.j2", shown, status)


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
        evidence = f"/bench/{quote(setting.frame, safe='')}/{quote(setting.yarn, safe='')}" if setting else ""
    return {
        **one, "evidence_link": evidence, "open": (one["open"] or taken_back) and not new,
        "ticked": tick if new else None, "before": known if one["open"] and not taken_back else None,
    }  # fmt: skip


def _query(asked: Asked) -> str:
    pairs = [("question", word) for word in asked.questions] + [("frame", word) for word in asked.frames]
    return urlencode([*pairs, *([("stamped", "patrol")] if asked.at_patrol else [])])


def _link(page: str, asked: Asked) -> str:
    query = _query(asked)
    return f"{page}?{query}" if query else page


async def _form(request: Request, names: Sequence[str]) -> dict[str, str]:
    """Read a form of a few fields; what is too long is cut."""
    try:
        given = dict(parse_qsl((await request.body()).decode("ascii"), keep_blank_values=True, max_num_fields=20))
    except ValueError:
        raise Refusal(Fault(where="what was sent", got="not readable", wants="a form from this page")) from None
    return {name: given.get(name, "").strip()[:LONGEST_NOTE] for name in names}


def _told(refusal: Refusal) -> list[str]:
    return [str(replace(fault, where=_FIELDS.get(fault.where, fault.where))) for fault in refusal.faults]


async def tick(request: Request) -> Response:
    """Tick a task of the list that was looked at, with a note and a name."""
    work, asked = _asked(request)
    if asked is None:
        return _without(request)
    given = await _form(request, ("key", "note", "by", "when"))
    job = work.jobs.known(_key(work, "list", asked))
    if job is None or job.state != DONE:  # the server was started anew meanwhile: the list is made again first
        return RedirectResponse(_link("/worklist", asked), 303)
    try:
        await work.background.ask(("tick", object()), tick_of, asked, job.answer["list"], given, lane="spare")
    except Refusal as refusal:
        return await _list_page(request, given, _told(refusal), 422)
    return RedirectResponse(f"/worklist?{_query(asked)}&ticked=1", 303)


async def untick(request: Request) -> Response:
    """Take the last tick of a task back, with the reason and a name; it stays in the ledger."""
    work, asked = _asked(request)
    if asked is None:
        return _without(request)
    given = await _form(request, ("key", "note", "by"))
    try:
        await work.background.ask(("untick", object()), untick_of, asked, given, lane="spare")
    except Refusal as refusal:
        return await _list_page(request, given, _told(refusal), 422)
    return RedirectResponse(f"/worklist?{_query(asked)}&back=1", 303)


async def anew(request: Request) -> Response:
    """Make the list anew, from the records as they are now."""
    work, asked = _asked(request)
    if asked is None:
        return _without(request)
    work.jobs.forget(_key(work, "list", asked))
    return RedirectResponse(_link("/worklist", asked), 303)


async def list_pdf(request: Request) -> Response:
    """Give the list as PDF, the same document as the command line's."""
    work, asked = _asked(request)
    job = None if asked is None else work.jobs.known(_key(work, "list", asked))
    if job is None or job.state != DONE:
        return RedirectResponse("/worklist", 303)
    return _pdf(job.answer["pdf"], "worklist.pdf")


def _pdf(content: bytes, name: str) -> Response:
    headers = {"content-disposition": f'inline; filename="{name}"', "cache-control": "no-store"}
    return Response(content, media_type="application/pdf", headers=headers)


async def history(request: Request) -> Response:
    """List every tick, those taken back too."""
    work, asked = _asked(request)
    if asked is None:
        return _without(request)
    ticks = await work.background.ask(("ticks", object()), history_of, asked, lane="spare")
    view = _usual(work, "Ticks") | {"ticks": ticks, "back": _link("/worklist", asked)}
    return work.page(request, "ticks.html.j2", view)


async def study(request: Request) -> Response:
    """Show the questions, and the answers to those that were asked."""
    work, asked = _asked(request)
    if asked is None:
        return _without(request)
    questions = await work.background.ask(("questions",), questions_of, lane="spare")
    frames = list(work.shelf.mill().frames)
    view = _usual(work, "What the records say") | {
        "questions": [(word, words, word in asked.questions) for word, words in questions.items()],
        "frames": [(name, name in asked.frames) for name in frames], "patrol": asked.at_patrol,
        "sheet": None, "job": None,
    }  # fmt: skip
    if not asked.questions and "all" not in request.query_params:
        return work.page(request, "study.html.j2", view)
    *_, job = await _job(request, "study", "Asking the records", study_of)
    assert job is not None  # noqa: S101 - there are records
    more = "&all=1" if not asked.questions else ""
    here = f"/study?{_query(asked)}{more}"
    if job.state == REFUSED:
        return work.page(request, "refused.html.j2", {"title": "This cannot be asked", "faults": job.faults}, 422)
    if job.state == DONE:
        view |= sheet_view(job.answer) | {"pdf": here.replace("/study", "/study/report.pdf", 1)}
    else:
        again = f"{here}&again=1" if job.state not in {"waiting", "running"} else here
        view |= waiting_view(job, again)
    return work.page(request, "study.html.j2", view)


async def study_pdf(request: Request) -> Response:
    """Give the answers as PDF."""
    work, asked = _asked(request)
    job = None if asked is None else work.jobs.known(_key(work, "study", asked))
    if job is None or job.state != DONE:
        return RedirectResponse(f"/study?{request.url.query}", 303)
    return _pdf(await run_in_threadpool(sheet_pdf, job.answer), "study.pdf")
