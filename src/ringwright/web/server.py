"""The server: which address shows which page, and how it is started."""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import AsyncIterator, Collection, Mapping
from importlib.resources import files

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from ringwright.refusal import Refusal
from ringwright.web import (
    bench_page,
    better_page,
    card_page,
    centring_page,
    doff_page,
    ends_page,
    entries_page,
    floor_page,
    job_page,
    lesson_page,
    login_page,
    mill_page,
    parts_page,
    rounds_page,
    study_page,
    trial_page,
)
from ringwright.web.guard import Guard
from ringwright.web.mill_state import StateTold
from ringwright.web.password import Lock
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.workbench.floor import DEMO
from ringwright.workbench.shelf import MillShelf

__all__ = ["make_app"]

_TYPES = {
    ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".woff2": "font/woff2",
    ".svg": "image/svg+xml",
}  # fmt: skip
_FONTS = {"card-plain.woff2", "card-narrow.woff2"}


def make_app(
    where: str,
    *,
    hosts: Collection[str] = ("127.0.0.1", "localhost", "::1"),
    lock: Lock | None = None,
    store: str = "",
    others: Mapping[str, str] | None = None,
) -> Starlette:
    """Make the server of a mill (a folder, a file, or the word demo); with a lock every page asks for its password.

    ``store`` is the folder of the store that takes rounds of readings and holds the break records; empty where none is
    to be kept. The demo mill has the demo's records where no store is given. ``others`` are folders of other mills by
    name, to compare with.
    """
    records = store or (DEMO if where == DEMO else "")
    work = PlaceOfWork(shelf=MillShelf(where), locked=lock is not None, records=records, others=others or {})

    @contextlib.asynccontextmanager
    async def life(_: Starlette) -> AsyncIterator[None]:
        work.background.warm()
        yield
        work.background.close()
        work.jobs.close()

    layers = [Middleware(Guard, hosts=hosts), Middleware(GZipMiddleware, minimum_size=800, compresslevel=4)]
    if lock is not None:
        layers.append(Middleware(login_page.Door, lock=lock))
    layers.append(Middleware(StateTold, shelf=work.shelf))
    app = Starlette(
        routes=_routes(),
        middleware=layers,
        lifespan=life,
        exception_handlers={Refusal: _refused, HTTPException: _missing, ClientDisconnect: _gone, Exception: _broken},
    )
    app.state.work, app.state.lock, app.state.desk = work, lock, mill_page.desk_for(where)
    app.state.store = store
    return app


def _routes() -> list[Route]:
    at = "/{frame}/{yarn}"
    return [
        Route("/", bench_page.choose_pair),
        Route(f"/bench{at}", bench_page.bench),
        Route(f"/answer/place{at}", bench_page.answer_place),
        Route(f"/answer/doff{at}", bench_page.answer_doff),
        Route(f"/answer/rooms{at}", bench_page.answer_rooms),
        Route(f"/answer/ends{at}", ends_page.answer_ends),
        Route(f"/doff{at}", doff_page.doff),
        Route(f"/doff{at}/report.pdf", doff_page.pdf),
        Route(f"/answer/player{at}", doff_page.answer_player),
        Route(f"/lessons{at}", lesson_page.lessons),
        Route(f"/lesson/{{key}}{at}", lesson_page.lesson),
        Route(f"/lesson/{{key}}{at}/lesson.pdf", lesson_page.pdf),
        Route(f"/answer/lesson/{{key}}{at}", lesson_page.answer_lesson),
        Route(f"/card{at}", card_page.card),
        Route(f"/card{at}/card.pdf", card_page.pdf),
        Route(f"/card{at}/sheet", card_page.sheet),
        Route("/parts", parts_page.choose_part),
        Route(f"/parts{at}", parts_page.parts),
        Route(f"/parts/centring{at}", centring_page.centring, methods=["GET", "POST"]),
        Route(f"/parts/centring{at}/sheet.pdf", centring_page.centring_pdf, methods=["POST"]),
        Route(f"/parts/{{part}}{at}", parts_page.part),
        Route(f"/parts/{{part}}{at}/sheet.pdf", parts_page.part_pdf),
        Route("/mill", mill_page.mill),
        Route("/mill-entries", entries_page.entries, methods=["POST"]),
        Route("/mill/{kind}", mill_page.sheet, methods=["GET", "POST"]),
        Route("/mill/{kind}/{name}", mill_page.sheet, methods=["GET", "POST"]),
        Route("/static/{name}", _static),
        *_better(at),
        Route("/worklist", floor_page.worklist),
        Route("/worklist/list.pdf", floor_page.list_pdf),
        Route("/worklist/history", floor_page.history),
        Route("/worklist/tick", floor_page.tick, methods=["POST"]),
        Route("/worklist/untick", floor_page.untick, methods=["POST"]),
        Route("/worklist/anew", floor_page.anew, methods=["POST"]),
        Route("/study", study_page.study),
        Route("/study/report.pdf", study_page.study_pdf),
        Route("/trial", trial_page.plan),
        Route("/trial/plan.pdf", trial_page.plan_pdf),
        Route("/trial/judge", trial_page.judge, methods=["GET", "POST"]),
        Route("/trial/judge/verdict.pdf", trial_page.judge_pdf),
        Route("/rounds", rounds_page.rounds),
        Route("/rounds/back", rounds_page.take_back, methods=["POST"]),
        Route("/job/{name}", job_page.answer_job),
        Route("/job/{name}/stop", job_page.stop_job, methods=["POST"]),
        Route("/alive", _alive),
        Route("/login", login_page.login, methods=["GET", "POST"]),
        Route("/logout", login_page.logout, methods=["POST"]),
    ]


def _better(at: str) -> list[Route]:
    return [
        Route(f"/better{at}", better_page.choose_question),
        Route(f"/better/{{question}}{at}", better_page.better, methods=["GET", "POST"]),
        Route(f"/better/{{question}}{at}/sheet.pdf", better_page.better_pdf),
        Route(f"/better/{{question}}{at}/sheet.html", better_page.better_html),
        Route(f"/better/{{question}}{at}/keep", better_page.keep, methods=["POST"]),
    ]


async def _static(request: Request) -> Response:
    """Give a script, a style sheet or a font of the package."""
    name = request.path_params["name"]
    place = (
        files("ringwright.report").joinpath("fonts") if name in _FONTS else files("ringwright.web").joinpath("static")
    )
    known = {entry.name for entry in place.iterdir()}
    kind = _TYPES.get(os.path.splitext(name)[1])  # noqa: PTH122 - a name, not a path
    if name not in known or kind is None:
        raise HTTPException(404)
    content = place.joinpath(name).read_bytes()
    mark = f'"{hashlib.sha256(content).hexdigest()[:16]}"'
    caching = "public, max-age=31536000, immutable" if request.query_params.get("v") else "no-cache"
    headers = {"content-type": kind, "cache-control": caching, "etag": mark}
    if request.headers.get("if-none-match") == mark:
        return Response(status_code=304, headers=headers)
    return Response(content, headers=headers)


async def _alive(request: Request) -> Response:
    """Say that the server is there; the state of the mill as it is now stands beside it."""
    with contextlib.suppress(Refusal):
        PlaceOfWork.of(request).shelf.mill()
    return JSONResponse({"alive": True})


async def _refused(request: Request, error: Exception) -> Response:
    """Tell what cannot be used; a page for a person, plain lines for a script."""
    assert isinstance(error, Refusal)  # noqa: S101
    if request.scope["path"].startswith("/answer/"):
        return JSONResponse({"refused": [str(fault) for fault in error.faults]}, 422)
    view = {"title": "This cannot be shown", "faults": [str(fault) for fault in error.faults]}
    return PlaceOfWork.of(request).page(request, "refused.html.j2", view, 422)


async def _missing(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101
    sentence = {404: "There is no page at this address.", 405: "This page does not take that kind of request."}
    title = "No such page" if error.status_code in sentence else "This cannot be taken"
    view = {"title": title, "faults": [sentence.get(error.status_code, error.detail)]}
    return PlaceOfWork.of(request).page(request, "refused.html.j2", view, error.status_code)


async def _gone(_: Request, error: Exception) -> Response:
    """Answer nobody: who asked went away in the midst of the question, which is no fault of ours."""
    assert isinstance(error, ClientDisconnect)  # noqa: S101
    return Response(status_code=400)


async def _broken(request: Request, _: Exception) -> Response:
    view = {
        "title": "Something is broken here",
        "faults": ["The page could not be made; the fault is ours, and stands in the server's window."],
    }
    return PlaceOfWork.of(request).page(request, "refused.html.j2", view, 500)
