"""What the floor's pages share: what is asked of the records, the long job behind a page, and what forms send."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any
from urllib.parse import parse_qsl, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from ringwright.refusal import Fault, Refusal
from ringwright.web.address import LONGEST, Address
from ringwright.web.job_page import goes_on, named_at, waiting_view
from ringwright.web.jobs import REFUSED, Job
from ringwright.web.parts_page import head_of
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.workbench.floor import Asked

__all__ = [
    "asked_of", "beside", "form_of", "job_of", "key_of", "link_to", "pdf_answer", "query_of", "records_missing",
    "usual", "waiting",
]  # fmt: skip

LONGEST_NOTE = 600
NO_RECORDS = (
    "This server was started without records. Start it with: ringwright serve MILL --records STORE, where STORE is a "
    "folder that ringwright take made; or serve the demo, which has invented records."
)


def asked_of(request: Request) -> tuple[PlaceOfWork, Asked | None]:
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


def usual(work: PlaceOfWork, title: str) -> dict[str, Any]:
    """Give what the head of every floor page shows."""
    mill = work.shelf.mill()
    setting = next(iter(mill.settings.values()), None)
    address = Address(frame=setting.frame if setting else "", yarn=setting.yarn if setting else "")
    return {"title": title, "page": "floor", "address": address, "head": head_of(work, address), "can_tick": False}


def key_of(work: PlaceOfWork, what: str, asked: Asked) -> tuple[object, ...]:
    """Name a job by what is asked and of which state of the mill."""
    return (what, work.shelf.version, asked)


async def job_of(request: Request, what: str, title: str, verb: Any) -> tuple[Asked | None, Job | Response | None]:  # noqa: ANN401 - any work
    """Give what is asked and its job; or the page to show in its place: none without records, one where it is gone."""
    work, asked = asked_of(request)
    if asked is None:
        return None, None
    key = key_of(work, what, asked)
    instead = goes_on(request, key, title, usual(work, title))
    if instead is not None:
        return asked, instead
    again = "again" in request.query_params
    job = await run_in_threadpool(work.jobs.of, key, title, verb, asked, again=again)
    return asked, named_at(request, job) or job


def records_missing(request: Request) -> Response:
    """Say that this server has no records, and how to give it some."""
    work = PlaceOfWork.of(request)
    return work.page(request, "floor_none.html.j2", usual(work, "Floor") | {"sentence": NO_RECORDS})


def waiting(request: Request, job: Job, title: str, back: str) -> Response:
    """Show how far a job is, or why it was refused."""
    work = PlaceOfWork.of(request)
    if job.state == REFUSED:
        view = {"title": title, "faults": job.faults}
        return work.page(request, "refused.html.j2", view, 422)
    joint = "&" if "?" in back else "?"
    again = f"{back}{joint}again=1" if not job.open else back
    return work.page(request, "floor_wait.html.j2", usual(work, title) | waiting_view(job, again))


def query_of(asked: Asked) -> str:
    """Write what is asked as the query of an address."""
    pairs = [("question", word) for word in asked.questions] + [("frame", word) for word in asked.frames]
    return urlencode([*pairs, *([("stamped", "patrol")] if asked.at_patrol else [])])


def link_to(page: str, asked: Asked, **more: str) -> str:
    """Write the link to a page with what is asked."""
    query = "&".join(word for word in (query_of(asked), urlencode(more)) if word)
    return f"{page}?{query}" if query else page


async def form_of(request: Request, names: Sequence[str], longest: int = LONGEST_NOTE) -> dict[str, str]:
    """Read a form of a few fields; what is too long is cut. Refusal for what is no form."""
    try:
        given = dict(parse_qsl((await request.body()).decode("ascii"), keep_blank_values=True, max_num_fields=20))
    except ValueError:
        raise Refusal(Fault(where="what was sent", got="not readable", wants="a form from this page")) from None
    return {name: given.get(name, "").strip()[:longest] for name in names}


def beside(refusal: Refusal, fields: dict[str, tuple[str, str]]) -> dict[str, list[str]]:
    """Tell each fault beside its field; ``fields`` gives for each place its field's key and the page's words for it.

    What belongs to no field stands under "".
    """
    found: dict[str, list[str]] = {}
    for fault in refusal.faults:
        key, words = fields.get(fault.where, ("", fault.where))
        found.setdefault(key, []).append(str(replace(fault, where=words)))
    return found


def pdf_answer(content: bytes, name: str) -> Response:
    """Give a PDF to look at or to print."""
    headers = {"content-disposition": f'inline; filename="{name}"', "cache-control": "no-store"}
    return Response(content, media_type="application/pdf", headers=headers)
