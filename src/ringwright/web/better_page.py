"""What pays: the best speed, better parts, a comparison, energy, cost and breaks, over the command line's own verbs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from ringwright.refusal import Refusal
from ringwright.web.address import LONGEST, Address
from ringwright.web.job_page import goes_on, named_at, waiting_view
from ringwright.web.jobs import DONE, REFUSED
from ringwright.web.parts_page import address_of, head_of
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.web.theme import themed
from ringwright.workbench.better.catalogue import QUESTIONS, answer_long, answer_now, question_at
from ringwright.workbench.better.question import Question, Told

__all__ = ["better", "choose_question"]

ASKED = "ask"
"""The key in the address that says that a question was asked, not only opened."""


async def choose_question(request: Request) -> Response:
    """Go to the first question of a frame and yarn."""
    _, address = address_of(request)
    return RedirectResponse(_link(next(iter(QUESTIONS.values())), address, {}), 303)


async def better(request: Request) -> Response:
    """Show a question with its fields; where it was asked, its answer, or how far that is."""
    work, address = address_of(request)
    one = question_at(request.path_params["question"])
    typed = {
        blank.key: request.query_params.get(blank.key, blank.choices[0] if blank.choices else "").strip()[:LONGEST]
        for blank in one.blanks
    }
    view: dict[str, Any] = {
        "title": f"{one.name}, {address.frame} with {address.yarn}", "page": "better", "address": address,
        "head": head_of(work, address), "question": one, "told": None, "job": None, "faults": (),
        "fields": [(blank, typed[blank.key]) for blank in one.blanks],
        "others": [(other, _link(other, address, {})) for other in QUESTIONS.values()],
    }  # fmt: skip
    if ASKED in request.query_params:
        view |= await _answer(request, one, address, typed, view)
    if "instead" in view:
        instead: Response = view["instead"]
        return instead
    return work.page(request, "better.html.j2", view, 422 if view["faults"] else 200)


async def _answer(
    request: Request, one: Question, address: Address, typed: dict[str, str], usual: Mapping[str, Any]
) -> dict[str, Any]:
    """Give what the page shows of the answer; ``instead`` is a page to show in its place."""
    work, again = PlaceOfWork.of(request), "again" in request.query_params
    names = (address.frame, address.yarn)
    key = ("better", one.key, work.shelf.version, names, tuple(typed.items()))
    mill = work.shelf.mill()
    if not one.long:
        try:
            told = await work.background.ask(key, answer_now, one.key, mill, names, typed, lane="spare")
        except Refusal as refusal:
            return {"faults": [str(fault) for fault in refusal.faults]}
        return _shown(told)
    if (gone := goes_on(request, key, one.name, usual)) is not None:
        return {"instead": gone}
    job = await run_in_threadpool(
        work.jobs.of, key, one.question, answer_long, one.key, mill, names, typed, again=again
    )
    if (way := named_at(request, job)) is not None:
        return {"instead": way}
    if job.state == DONE:
        return _shown(job.answer) | {"stopped": job.stopping}
    if job.state == REFUSED:
        return {"faults": job.faults}
    back = _link(one, address, {**typed, ASKED: "1", **({} if job.open else {"again": "1"})})
    return waiting_view(job, back)


def _shown(told: Told) -> dict[str, Any]:
    return {"told": told, "figures": [(one, themed(one.svg)) for one in told.figures], "stopped": False}


def _link(one: Question, address: Address, typed: dict[str, str]) -> str:
    at = f"/better/{one.key}/{quote(address.frame, safe='')}/{quote(address.yarn, safe='')}"
    return f"{at}?{urlencode(typed, quote_via=quote)}" if typed else at
