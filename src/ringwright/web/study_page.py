"""The floor's studies: the questions that the break records can be asked, their answers, and those as PDF."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.web.floor_ground import asked_of, job_of, key_of, pdf_answer, query_of, records_missing, usual
from ringwright.web.job_page import waiting_view
from ringwright.web.jobs import DONE, REFUSED, Jobs
from ringwright.web.parts_page import sheet_view
from ringwright.workbench.floor import DEMO, questions_of, study_of

__all__ = ["study", "study_pdf"]

TITLE = "Asking the records"
FIRST = "/study?question=spindles&frame=F3"
"""What a visitor of the demo is offered to ask first."""


async def study(request: Request) -> Response:
    """Show the questions, and the answers to those that were asked."""
    work, asked = asked_of(request)
    if asked is None:
        return records_missing(request)
    questions = questions_of()
    frames = list(work.shelf.mill().frames)
    view = usual(work, "What the records say") | {
        "questions": [(word, words, word in asked.questions) for word, words in questions.items()],
        "frames": [(name, name in asked.frames) for name in frames], "patrol": asked.at_patrol,
        "sheet": None, "job": None, "first": FIRST if asked.records == DEMO else "", "faults": (),
    }  # fmt: skip
    if not asked.questions and "all" not in request.query_params:
        return work.page(request, "study.html.j2", view)
    _, job = await job_of(request, "study", TITLE, study_of)
    if isinstance(job, Response):
        return job
    assert job is not None  # noqa: S101 - there are records
    more = "&all=1" if not asked.questions else ""
    here = f"/study?{query_of(asked)}{more}"
    if job.state == REFUSED:
        return work.page(request, "study.html.j2", view | {"faults": job.faults}, 422)
    if job.state == DONE:
        view |= sheet_view(job.answer) | {"pdf": here.replace("/study", "/study/report.pdf", 1)}
    else:
        view |= waiting_view(job, here if job.open else f"{here}&again=1")
    return work.page(request, "study.html.j2", view)


async def study_pdf(request: Request) -> Response:
    """Give the answers as PDF."""
    work, asked = asked_of(request)
    if asked is None:
        return records_missing(request)
    key = key_of(work, "study", asked)
    job = work.jobs.known(key)
    if job is None or job.state != DONE:
        more = "" if asked.questions else "&all=1"
        return RedirectResponse(f"/study?{query_of(asked)}{more}&job={Jobs.name_of(key)}", 303)
    return pdf_answer(await run_in_threadpool(sheet_pdf, job.answer), "study.pdf")
