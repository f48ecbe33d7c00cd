"""The centring page: a round typed, pasted or sent as a file, judged, printed, kept, and run through time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from itertools import count
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from ringwright.refusal import Refusal
from ringwright.report.sheets.sheet import Sheet
from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.units import chosen, chosen_units
from ringwright.web.address import Address, in_chosen_units
from ringwright.web.centring_form import FILE_MOST, CentringForm, read_centring_form
from ringwright.web.centring_told import of_reading, of_round
from ringwright.web.job_page import waiting_view
from ringwright.web.jobs import DONE, REFUSED, Job
from ringwright.web.parts_page import address_of, head_of, link_of, sheet_view, unit_links_of
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.workbench.parts.catalogue import PARTS
from ringwright.workbench.parts.centring import (
    HEADS,
    PARTS_READ,
    TypedReading,
    TypedRound,
    demo_frames,
    judge_typed,
    line_added,
    run_in_time,
)

__all__ = ["centring", "centring_pdf"]

KEY = "centring"
_asked = count()
_ENTRY = ("spindle", "part", "way", "first", "second", "unit")
RUN_GONE = (
    "The run through time that stood here was in the server's memory and is gone: the server was started anew since, "
    "or many other answers were asked for. "
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shown:
    """What the page shows: the round, the fields of the next reading, the answer, a run and what is to be told.

    ``faults`` are told beside the field of their key; ``spindle`` is that of the run through time.
    """

    typed: TypedRound
    entry: Mapping[str, str] = field(default_factory=dict)
    sheet: Sheet | None = None
    kept: str = ""
    faults: Mapping[str, list[str]] = field(default_factory=dict)
    spindle: str = ""
    job: Job | None = None


@in_chosen_units
async def centring(request: Request) -> Response:
    """Show the page, or answer its form: a reading added, a round judged or kept, a spindle run through time."""
    work, address = address_of(request)
    store = _store(request)
    if request.method in {"GET", "HEAD"}:
        asked = request.query_params.get("round", "")
        shown = _Shown(typed=TypedRound(shown=asked if asked in {"demo", "kept"} else "", store=store))
        if "run" in request.query_params:
            return await _page(request, work, address, await _run_shown(request, work, address, shown))
        return await _page(request, work, address, await _judged(work, address, shown))
    form = await read_centring_form(request)
    shown = _Shown(typed=_typed(form, store), entry=form.fields, faults=of_round(form.faults, store),
                   spindle=form.fields.get("in_time", ""))  # fmt: skip
    if form.act == "add":
        return await _page(request, work, address, _added(work, address, shown))
    if not shown.faults and form.act == "in-time":
        return await _run_begun(work, address, shown)
    if not shown.faults:
        shown = await _judged(work, address, shown)
    return await _page(request, work, address, shown)


@in_chosen_units
async def centring_pdf(request: Request) -> Response:
    """Give the sheet of what stands in the form as PDF, the same document as the command line's."""
    work, address = address_of(request)
    form = await read_centring_form(request)
    shown = _Shown(typed=replace(_typed(form, _store(request)), keep=False), spindle=form.fields.get("in_time", ""))
    job = work.jobs.known(_run_key(work, address, shown)) if shown.spindle else None
    if job is not None and job.state == DONE:  # the page shows the run too
        shown = replace(shown, sheet=job.answer)
    else:
        shown = await _judged(work, address, shown)
    if shown.sheet is None:
        return await _page(request, work, address, shown)
    name = f"{KEY}-{address.frame}-{address.yarn}.pdf"
    headers = {"content-disposition": f"inline; filename*=UTF-8''{quote(name)}", "cache-control": "no-store"}
    return Response(await run_in_threadpool(sheet_pdf, shown.sheet), media_type="application/pdf", headers=headers)


def _store(request: Request) -> str:
    return str(getattr(request.app.state, "store", ""))


def _typed(form: CentringForm, store: str) -> TypedRound:
    given = form.fields
    shown = given.get("shown", "")
    return TypedRound(
        text=form.text, name=form.name, when=given.get("when", ""), by=given.get("by", ""), note=given.get("note", ""),
        shown=shown if shown in {"demo", "kept"} and not form.text.strip() else "", store=store,
        keep=form.act == "keep" and bool(store),
    )  # fmt: skip


async def _judged(work: PlaceOfWork, address: Address, shown: _Shown) -> _Shown:
    """Judge the round in the slower worker; what is to be kept is never answered from memory."""
    mill, typed = work.shelf.mill(), shown.typed
    key = (KEY, work.shelf.version, address.frame, address.yarn, typed, next(_asked) if typed.store else 0)
    try:
        sheet, kept = await work.background.ask(
            key, judge_typed, mill, work.shelf.where, address.frame, address.yarn, typed, lane="spare", once=typed.keep
        )
    except Refusal as refusal:
        told = of_round((str(fault) for fault in refusal.faults), typed.store)
        return replace(shown, faults={**shown.faults, **told})
    return replace(shown, sheet=sheet, kept=kept)


def _run_key(work: PlaceOfWork, address: Address, shown: _Shown) -> tuple[object, ...]:
    typed = replace(shown.typed, keep=False)
    return ("in time", work.shelf.version, address.frame, address.yarn, typed, shown.spindle, chosen_units())


async def _run_begun(work: PlaceOfWork, address: Address, shown: _Shown) -> Response:
    """Begin a run and lead to its page, whose address names it; of a round not typed it holds all that is asked."""
    names = (work.shelf.where, address.frame, address.yarn)
    job = await run_in_threadpool(
        work.jobs.of, _run_key(work, address, shown), f"Spindle {shown.spindle} through time", run_in_time, names,
        work.shelf.mill(), replace(shown.typed, keep=False), shown.spindle, chosen_units(), again=True,
    )  # fmt: skip
    asked = {"round": shown.typed.shown} if shown.typed.shown else {}
    query = {**asked, "spindle": shown.spindle, "run": job.name}
    return RedirectResponse(link_of(PARTS[KEY], address, query), 303)


async def _run_shown(request: Request, work: PlaceOfWork, address: Address, shown: _Shown) -> _Shown:
    """Show how far a run is, or its answer; where it is gone say so, with the round again if it was not typed."""
    given = request.query_params
    job, spindle = work.jobs.named(given["run"]), given.get("spindle", "")[:9]
    shown = replace(shown, spindle=spindle)
    if job is None or job.work is not run_in_time or job.given[0] != (work.shelf.where, address.frame, address.yarn):
        mend = "Run it again." if shown.typed.shown else "So are the readings that were typed: type or send them again."
        return replace(await _judged(work, address, shown), faults={"in_time": [RUN_GONE + mend]})
    typed = job.given[2]
    assert isinstance(typed, TypedRound)  # noqa: S101 - as _run_begun gave it
    shown = replace(shown, typed=replace(typed, store=_store(request)), job=None if job.state == DONE else job)
    if job.state == DONE:
        return replace(shown, sheet=job.answer)
    shown = await _judged(work, address, shown)
    if job.state == REFUSED:
        return replace(shown, job=None, faults={**shown.faults, **of_round(job.faults, shown.typed.store)})
    return shown


def _added(work: PlaceOfWork, address: Address, shown: _Shown) -> _Shown:
    """Add the reading that was typed; the next one is of the next spindle."""
    given = {name: shown.entry.get(name, "") for name in _ENTRY}
    text, faults = line_added(shown.typed.text, TypedReading(**given), work.shelf.mill(), address.frame)
    if faults:
        return replace(shown, faults=of_reading(faults))
    following = {**given, "first": "", "second": "", "spindle": str(int(given["spindle"]) + 1)}
    return replace(shown, typed=replace(shown.typed, text=text), entry={**shown.entry, **following})


async def _page(request: Request, work: PlaceOfWork, address: Address, shown: _Shown) -> Response:
    part, mill = PARTS[KEY], work.shelf.mill()
    fitted = mill.frames[address.frame].control_ring is not None
    bare = not shown.typed.text.strip() and not shown.typed.shown
    view: dict[str, Any] = {
        "title": f"{part.name}, {address.frame} with {address.yarn}", "page": "parts", "address": address,
        "head": head_of(work, address), "part": part, "faults": shown.faults, "kept": shown.kept, "typed": shown.typed,
        "here": link_of(part, address, {}), "pdf": link_of(part, address, {}, "/sheet.pdf"), "most": FILE_MOST // 1024,
        "entry": {"spindle": "1", "part": "ring", "way": "dx and dy", "first": "", "second": "", "unit": chosen("mm")}
        | {name: shown.entry[name] for name in _ENTRY if name in shown.entry},
        "ways": list(HEADS), "parts_read": [one for one in PARTS_READ if fitted or one != "control ring"],
        "today": f"{datetime.now(UTC):%Y-%m-%d}", "store": bool(_store(request)), "bare": bare,
        "kept_link": link_of(part, address, {"round": "kept"}),
        "unit_links": unit_links_of(part, address, {"round": shown.typed.shown} if shown.typed.shown else {}),
        "offers": _offers(work, address), "spindle": shown.spindle, "job": None, "words": "",
        "others": [(other, link_of(other, address, {})) for other in PARTS.values()],
        **(sheet_view(shown.sheet) if shown.sheet else {"sheet": None}),
    }  # fmt: skip
    if shown.job is not None:
        view |= waiting_view(shown.job, str(request.url.path) + f"?{request.url.query}")
    return work.page(request, "centring.html.j2", view, 422 if shown.faults else 200)


def _offers(work: PlaceOfWork, address: Address) -> list[tuple[str, str]]:
    """Give the frames of which the demonstration has a round, this one first, each with the link that judges it."""
    mill = work.shelf.mill()
    yarns = {one.frame: one.yarn for one in reversed(list(mill.settings.values()))} | {address.frame: address.yarn}
    frames = sorted(demo_frames(work.shelf.where, mill.frames), key=lambda name: name != address.frame)
    there = [replace(address, frame=name, yarn=yarns[name]) for name in frames if name in yarns]
    return [(one.frame, link_of(PARTS[KEY], one, {"round": "demo"})) for one in there]
