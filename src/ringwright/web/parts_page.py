"""The parts around the balloon: the list of them, one part with its fields and its sheet, and the sheet as PDF."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from urllib.parse import quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from ringwright.refusal import Fault, Refusal, nearest
from ringwright.report.sheets.sheet import Row, Sheet
from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.units import chosen_units
from ringwright.web.address import LONGEST, UNITS, Address, in_chosen_units
from ringwright.web.bench_view import MARKS
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.web.theme import themed
from ringwright.workbench.parts.catalogue import PARTS, part_at, sheet_of
from ringwright.workbench.parts.part import Part

__all__ = [
    "address_of", "choose_part", "head_of", "link_of", "part", "part_pdf", "parts", "sheet_view", "unit_links_of",
]  # fmt: skip

LONGEST_LINES = 6000
"""Letters that are read from a field with room for lines."""


@in_chosen_units
async def parts(request: Request) -> Response:
    """Show the list of the parts."""
    work, address = address_of(request)
    rows = [(one, link_of(one, address, {})) for one in PARTS.values()]
    view = {
        "title": f"Parts, {address.frame} with {address.yarn}", "page": "parts", "address": address,
        "head": head_of(work, address), "rows": rows,
    }  # fmt: skip
    return work.page(request, "parts.html.j2", view)


@in_chosen_units
async def part(request: Request) -> Response:
    """Show one part: its fields and the sheet that answers them."""
    work, address = address_of(request)
    one = part_at(request.path_params["part"])
    typed = _typed(one, work, address, request)
    sheet: Sheet | None = None
    faults: list[str] = []
    try:
        sheet = await _sheet(work, one, address, typed)
    except Refusal as refusal:
        faults = [str(fault) for fault in refusal.faults]
    view = {
        "title": f"{one.name}, {address.frame} with {address.yarn}", "page": "parts", "address": address,
        "head": head_of(work, address), "part": one, "fields": [(field, typed[field.key]) for field in one.fields],
        "faults": faults, "pdf": link_of(one, address, typed, "/sheet.pdf"), "here_link": link_of(one, address, {}),
        "others": [(other, link_of(other, address, {})) for other in PARTS.values()],
        "unit_links": unit_links_of(one, address, _moved(one, work, address, typed)),
        **(sheet_view(sheet) if sheet else {"sheet": None}),
    }  # fmt: skip
    return work.page(request, "part.html.j2", view, 422 if faults else 200)


@in_chosen_units
async def part_pdf(request: Request) -> Response:
    """Give the sheet as PDF, the same document as the command line's."""
    work, address = address_of(request)
    one = part_at(request.path_params["part"])
    sheet = await _sheet(work, one, address, _typed(one, work, address, request))
    name = f"{one.key}-{address.frame}-{address.yarn}.pdf"
    headers = {"content-disposition": f"inline; filename*=UTF-8''{quote(name)}", "cache-control": "no-store"}
    return Response(await run_in_threadpool(sheet_pdf, sheet), media_type="application/pdf", headers=headers)


def address_of(request: Request) -> tuple[PlaceOfWork, Address]:
    """Give frame and yarn of the address, with the units chosen; Refusal for one that the mill does not have."""
    work = PlaceOfWork.of(request)
    mill = work.shelf.mill()
    address = Address(frame=request.path_params["frame"], yarn=request.path_params["yarn"], units=chosen_units())
    asked = (("frame", address.frame, list(mill.frames)), ("yarn", address.yarn, list(mill.yarns)))
    faults = [
        Fault(where=f"the {kind}", got=f'"{got}"', wants=f"one of {', '.join(known)}", mend=nearest(got, known))
        for kind, got, known in asked
        if got not in known
    ]
    if faults:
        raise Refusal(faults)
    return work, address


def _typed(one: Part, work: PlaceOfWork, address: Address, request: Request) -> dict[str, str]:
    """Give what stands in each field: what was sent, else what the mill has."""
    mill = work.shelf.mill()
    typed = {}
    for field in one.fields:
        sent = request.query_params.get(field.key)
        longest = LONGEST_LINES if field.long else LONGEST
        typed[field.key] = field.start(mill, address.frame, address.yarn) if sent is None else sent.strip()[:longest]
    return typed


def _moved(one: Part, work: PlaceOfWork, address: Address, typed: Mapping[str, str]) -> dict[str, str]:
    """Give what is tried: the fields that do not hold what the mill has."""
    mill = work.shelf.mill()
    usual = {field.key: field.start(mill, address.frame, address.yarn) for field in one.fields}
    return {key: word for key, word in typed.items() if word != usual[key]}


async def _sheet(work: PlaceOfWork, one: Part, address: Address, typed: Mapping[str, str]) -> Sheet:
    key = ("part", one.key, work.shelf.version, address.frame, address.yarn, tuple(typed.items()))
    return await work.background.ask(
        key, sheet_of, one.key, work.shelf.mill(), address.frame, address.yarn, dict(typed), lane="spare"
    )


def link_of(one: Part, address: Address, typed: Mapping[str, str], more: str = "") -> str:
    """Write the link to a part's page of a frame and yarn, with the units chosen and what is typed."""
    at = f"/parts/{one.key}/{quote(address.frame, safe='')}/{quote(address.yarn, safe='')}{more}"
    asked = {**({"u": ",".join(address.units)} if address.units else {}), **typed}
    return f"{at}?{urlencode(asked, quote_via=quote)}" if asked else at


def unit_links_of(one: Part, address: Address, typed: Mapping[str, str]) -> dict[str, str]:
    """Write, for each unit of the switch, the link to the same page that takes it on or leaves it."""
    return {unit: link_of(one, replace(address, units=address.with_unit(unit)), typed) for unit in UNITS}


def head_of(work: PlaceOfWork, address: Address) -> dict[str, Any]:
    """Give what the page's head shows."""
    mill = work.shelf.mill()
    pairs = list(mill.settings.values())
    return {
        "mill": mill.name,
        "pairs": [(one.name, f"{one.frame} with {one.yarn}") for one in pairs],
        "pair": next((one.name for one in pairs if (one.frame, one.yarn) == (address.frame, address.yarn)), ""),
        "a": "",
        "b": "",
    }


def sheet_view(sheet: Sheet) -> dict[str, Any]:
    """Give what the template of a sheet fills in."""
    return {
        "sheet": sheet,
        "rows": [(row, _origin(row), MARKS.get(_origin(row), "")) for row in sheet.rows],
        "marks": MARKS,
        "figures": [(picture, themed(picture.svg)) for picture in sheet.pictures],
    }


def _origin(row: Row) -> str:
    return row.origin.partition(",")[0]


async def choose_part(request: Request) -> Response:
    """Go to the parts of the mill's first setting."""
    mill = PlaceOfWork.of(request).shelf.mill()
    setting = next(iter(mill.settings.values()), None)
    if setting is None:
        return RedirectResponse("/", 303)
    return RedirectResponse(Address(frame=setting.frame, yarn=setting.yarn).link("parts").partition("?")[0], 303)
