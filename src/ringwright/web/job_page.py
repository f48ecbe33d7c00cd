"""How a longer job stands, for the page that waits for it; and the button that stops it."""

from __future__ import annotations

from typing import Any
from urllib.parse import unquote_plus

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from ringwright.web.jobs import DONE, Job
from ringwright.web.place_of_work import PlaceOfWork

__all__ = ["answer_job", "stop_job", "waiting_view"]

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
