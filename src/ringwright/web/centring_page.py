"""The centring page: a round typed, pasted or sent as a file, judged, printed, and kept where there is a store."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import count
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from ringwright.refusal import Refusal
from ringwright.report.sheets.sheet import Sheet
from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.verbs.app import DEMO
from ringwright.web.address import Address
from ringwright.web.centring_form import FILE_MOST, CentringForm, read_centring_form
from ringwright.web.parts_page import address_of, head_of, link_of, sheet_view
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.workbench.parts.catalogue import PARTS
from ringwright.workbench.parts.centring import HEADS, PARTS_READ, TypedReading, TypedRound, judge_typed, line_added

__all__ = ["centring", "centring_pdf"]

KEY = "centring"
_asked = count()
_ENTRY = ("spindle", "part", "way", "first", "second", "unit")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shown:
    """What the page shows: the round, the fields of the next reading, the answer, and what is to be told."""

    typed: TypedRound
    entry: Mapping[str, str]
    sheet: Sheet | None = None
    kept: str = ""
    faults: tuple[str, ...] = ()


async def centring(request: Request) -> Response:
    """Show the page, or answer its form: a reading added, a round judged or kept."""
    work, address = address_of(request)
    if request.method in {"GET", "HEAD"}:
        asked = request.query_params.get("round", "")
        typed = TypedRound(shown=asked if asked in {"demo", "kept"} else "", store=_store(request))
        return await _page(request, work, address, await _judged(work, address, _Shown(typed=typed, entry={})))
    form = await read_centring_form(request)
    shown = _Shown(typed=_typed(form, _store(request)), entry=form.fields, faults=form.faults)
    if form.act == "add":
        return await _page(request, work, address, _added(work, address, shown))
    if not form.faults:
        shown = await _judged(work, address, shown)
    return await _page(request, work, address, shown)


async def centring_pdf(request: Request) -> Response:
    """Give the sheet of what stands in the form as PDF, the same document as the command line's."""
    work, address = address_of(request)
    form = await read_centring_form(request)
    shown = await _judged(work, address, _Shown(typed=replace(_typed(form, _store(request)), keep=False), entry={}))
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
            key, judge_typed, mill, work.shelf.where, address.frame, address.yarn, typed, lane="spare"
        )
    except Refusal as refusal:
        return replace(shown, faults=(*shown.faults, *(str(fault) for fault in refusal.faults)))
    return replace(shown, sheet=sheet, kept=kept)


def _added(work: PlaceOfWork, address: Address, shown: _Shown) -> _Shown:
    """Add the reading that was typed; the next one is of the next spindle."""
    given = {name: shown.entry.get(name, "") for name in _ENTRY}
    text, faults = line_added(shown.typed.text, TypedReading(**given), work.shelf.mill(), address.frame)
    if faults:
        return replace(shown, faults=faults)
    following = {**given, "first": "", "second": "", "spindle": str(int(given["spindle"]) + 1)}
    return replace(shown, typed=replace(shown.typed, text=text), entry={**shown.entry, **following})


async def _page(request: Request, work: PlaceOfWork, address: Address, shown: _Shown) -> Response:
    part, mill = PARTS[KEY], work.shelf.mill()
    fitted = mill.frames[address.frame].control_ring is not None
    view: dict[str, Any] = {
        "title": f"{part.name}, {address.frame} with {address.yarn}", "page": "parts", "address": address,
        "head": head_of(work, address), "part": part, "faults": shown.faults, "kept": shown.kept, "typed": shown.typed,
        "here": link_of(part, address, {}), "pdf": link_of(part, address, {}, "/sheet.pdf"), "most": FILE_MOST // 1024,
        "entry": {"spindle": "1", "part": "ring", "way": "dx and dy", "first": "", "second": "", "unit": "mm"}
        | {name: shown.entry[name] for name in _ENTRY if name in shown.entry},
        "ways": list(HEADS), "parts_read": [one for one in PARTS_READ if fitted or one != "control ring"],
        "today": f"{datetime.now(UTC):%Y-%m-%d}", "demo": work.shelf.where == DEMO, "store": bool(_store(request)),
        "others": [(other, link_of(other, address, {})) for other in PARTS.values()],
        **(sheet_view(shown.sheet) if shown.sheet else {"sheet": None}),
    }  # fmt: skip
    return work.page(request, "centring.html.j2", view, 422 if shown.faults else 200)
