"""The doff player: the whole doff played, with and without a part of it beside."""

from __future__ import annotations

import asyncio
import re
from dataclasses import replace
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.verbs.reporting import doff_sheet
from ringwright.web.address import Address, echo, in_chosen_units, read_address
from ringwright.web.bench_view import MARKS
from ringwright.web.chart import doff_chart
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.web.title_block import title_block
from ringwright.workbench.player import play_of
from ringwright.workbench.tried import Tried, read_tried
from ringwright.workbench.whole import course_of

__all__ = ["answer_player", "doff", "pdf"]

BESIDE = {
    "none": "A alone",
    "control-ring": "without the control ring",
    "guide": "with the lappet fixed",
    "b": "setting B",
}


def _read(request: Request) -> tuple[PlaceOfWork, Address, Tried, Tried | None, str]:
    """Read A, what is played beside it, and its name; Refusal where a setting cannot be used."""
    work = PlaceOfWork.of(request)
    query = request.scope["query_string"].decode("latin-1")
    address = read_address(request.path_params["frame"], request.path_params["yarn"], query, extra=("beside", "minute"))
    mill = work.shelf.mill()
    a = read_tried(mill, address.frame, address.yarn, address.a)
    if a.refusal is not None:
        raise a.refusal
    beside = address.extra.get("beside", "")
    if beside not in _offered(a, address):
        beside = "control-ring" if "control-ring" in _offered(a, address) else "guide"
    words = {
        "control-ring": {**a.words, "control_ring": "none"},
        "guide": {**a.words, "guide": "fixed"},
        "b": address.b,
    }
    other = None if beside == "none" else read_tried(mill, address.frame, address.yarn, words[beside] or {})
    if other is not None and other.refusal is not None:
        raise other.refusal
    return work, address, a, other, beside


def _offered(a: Tried, address: Address) -> list[str]:
    """Say what may be played beside A: only what would differ from it."""
    assert a.choice is not None  # noqa: S101 - a refused setting never comes here
    offered = ["none"]
    if a.choice.frame.control_ring is not None:
        offered.append("control-ring")
    if not a.choice.setting.guide_fixed:
        offered.append("guide")
    return offered + (["b"] if address.b is not None else [])


@in_chosen_units
async def doff(request: Request) -> Response:
    """Show the player; without a script, the tension through the doff as a figure."""
    work, address, a, other, beside = _read(request)
    minute = address.extra.get("minute", "")
    address = replace(address, extra={"beside": beside})
    view: dict[str, Any] = {
        "title": f"Doff, {address.frame} with {address.yarn}",
        "page": "doff",
        "address": address,
        "head": title_block(work.shelf.mill(), address, a, None),
        "beside": [
            (key, BESIDE[key], address.link("doff", extra={"beside": key}), key == beside)
            for key in _offered(a, address)
        ],
        "other": BESIDE[beside] if other else "",
        "marks": MARKS,
        "echo": echo(request.scope["query_string"]),
        "ask": address.query(),
        "minute": minute if re.fullmatch(r"\d{1,5}(\.\d+)?", minute, re.ASCII) else "0",
        "pdf": address.link("doff").replace("?", "/report.pdf?"),
    }
    if "wait" in request.query_params:
        asks = [work.whole(course_of, one) for one in (a, other) if one is not None]
        courses = await asyncio.gather(*asks)
        view["chart"] = doff_chart(courses[0], courses[1] if len(courses) > 1 else None, 0.0, 800.0)
    return work.page(request, "doff.html.j2", view)


async def pdf(request: Request) -> Response:
    """Give the report of the doff and its rooms to the limits as PDF, the same document as the command line's."""
    work, address, a, *_ = _read(request)
    content = await run_in_threadpool(sheet_pdf, await work.whole(doff_sheet, a, lane="spare"))
    name = re.sub(r"[^\w.-]", "_", f"{address.frame}-{address.yarn}-doff.pdf", flags=re.ASCII)
    headers = {"content-disposition": f'inline; filename="{name}"', "cache-control": "no-store"}
    return Response(content, media_type="application/pdf", headers=headers)


@in_chosen_units
async def answer_player(request: Request) -> Response:
    """Give what is played."""
    work, _, a, other, beside = _read(request)
    plays = await asyncio.gather(*(work.whole(play_of, one) for one in (a, other) if one is not None))
    return JSONResponse(
        {
            "echo": echo(request.scope["query_string"]),
            "a": plays[0],
            "other": plays[1] if len(plays) > 1 else None,
            "name": BESIDE[beside],
        }
    )
