"""How a longer job stands, for the page that waits for it; and the button that stops it."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from typing import Any
from urllib.parse import quote, unquote_plus, urlencode

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from ringwright.web.jobs import DONE, Job, Jobs
from ringwright.web.place_of_work import PlaceOfWork

__all__ = ["answer_job", "goes_on", "named_at", "stop_job", "waiting_view"]

GONE = (
    "The answer that stood here was in the server's memory and is gone: the server was started anew since, or many "
    "other answers were asked for."
)
CHANGED = "The answer that stood here is of the mill's files as they were; they were changed since."

_WORDS = {
    "waiting": "Waits until another job has ended.",
    "running": "Working.",
    "stopped": "Stopped.",
    "broken": "It broke off; the fault is ours, and stands in the server's window.",
}


def waiting_view(job: Job, back: str) -> dict[str, Any]:
    """Give what a page shows of a job that has no answer yet; ``back`` is the page to come back to."""
    return {
        "job": job, "words": _told(job), "back": back, "stop": f"/job/{job.name}/stop",
        "again": job.state in {"stopped", "broken"},
    }  # fmt: skip


def goes_on(request: Request, key: Hashable, title: str, usual: Mapping[str, Any]) -> Response | None:
    """Give the page to show in place of a job's own; None where the job may be asked for.

    An address holds the name of its job, so that a page which is loaded again once its answer is lost (the answers are
    kept in the server's memory) says so and offers to seek it again, in place of seeking it anew without a word.
    """
    if request.method not in {"GET", "HEAD"}:
        return None
    jobs, name = PlaceOfWork.of(request).jobs, Jobs.name_of(key)
    given = [(at, text) for at, text in request.query_params.multi_items() if at not in {"job", "again"}]
    held = request.query_params.get("job")
    if held is not None and jobs.named(name) is None and "again" not in request.query_params:
        why = CHANGED if jobs.named(held) is not None else GONE
        view = {"title": title, "why": why, "seek": _at(request, [*given, ("again", "1")])}
        return PlaceOfWork.of(request).page(request, "floor_gone.html.j2", {**usual, **view})
    return None


def named_at(request: Request, job: Job) -> Response | None:
    """Give the way to the address that holds the job's name; None where the request has it already."""
    given = request.query_params
    if request.method not in {"GET", "HEAD"} or (given.get("job") == job.name and "again" not in given):
        return None
    kept = [(at, text) for at, text in given.multi_items() if at not in {"job", "again"}]
    return RedirectResponse(_at(request, [*kept, ("job", job.name)]), 303)


def _at(request: Request, pairs: Sequence[tuple[str, str]]) -> str:
    return f"{quote(request.scope['path'])}?{urlencode(pairs)}"


def _told(job: Job) -> str:
    if job.stopping and job.open:
        return "Told to stop; it gives the best so far if it has one."
    return job.said if job.state == "running" and job.said else _WORDS.get(job.state, "")


def _found(request: Request) -> Job:
    job = PlaceOfWork.of(request).jobs.named(request.path_params["name"])
    if job is None:
        raise HTTPException(404)
    return job


async def answer_job(request: Request) -> Response:
    """Tell how a job stands."""
    job = _found(request)
    return JSONResponse({"state": job.state, "words": _told(job), "seconds": round(job.seconds), "ended": not job.open})


async def stop_job(request: Request) -> Response:
    """Stop a job, and go back to its page."""
    job = _found(request)
    if job.state != DONE:
        PlaceOfWork.of(request).jobs.end(job)
    body = (await request.body()).decode("latin-1")
    back = body.partition("back=")[2].partition("&")[0]
    return RedirectResponse(_own(back), 303)


def _own(back: str) -> str:
    """Give a page of this server, whatever was sent."""
    path = unquote_plus(back)
    return path if path.startswith("/") and not path.startswith(("//", "/\\")) and "\n" not in path else "/"
