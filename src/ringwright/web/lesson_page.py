"""The lessons: the list of them, one lesson as a page, and the answer that follows its slider."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from typing import Any
from urllib.parse import quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from ringwright.lessons.asking import ask, require_shown
from ringwright.lessons.catalogue import LESSONS, before, lesson_at, next_after
from ringwright.lessons.ground import Ground
from ringwright.lessons.lesson import Lesson, Row, Shown, read_control
from ringwright.lessons.lesson_pdf import lesson_pdf
from ringwright.refusal import Refusal
from ringwright.units import chosen_units
from ringwright.web.address import LONGEST, UNITS, Address, echo, in_chosen_units
from ringwright.web.bench_view import MARKS
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.web.theme import themed
from ringwright.web.writing import chosen_unit, field_text, slider_span, write
from ringwright.workbench.safety import cautions_for
from ringwright.workbench.shelf import MillShelf

__all__ = ["answer_lesson", "lesson", "lessons", "pdf"]

KEY = "at"
"""The moved value's key in the address."""


@lru_cache(maxsize=24)
def _ground_of(shelf: MillShelf, version: int, frame: str, yarn: str) -> Ground:  # noqa: ARG001 - the state of the files
    return Ground(mill=shelf.mill(), frame=frame, yarn=yarn)


def _ground(work: PlaceOfWork, request: Request) -> Ground:
    """Give the mill's frame and yarn of an address; Refusal for a frame, yarn or setting that is not there."""
    work.shelf.mill()
    ground = _ground_of(work.shelf, work.shelf.version, request.path_params["frame"], request.path_params["yarn"])
    assert ground.choice  # noqa: S101 - chosen here, so that an unknown name is refused before anything is solved
    return ground


@in_chosen_units
async def lessons(request: Request) -> Response:
    """Show the list of the lessons."""
    work = PlaceOfWork.of(request)
    ground = _ground(work, request)
    address = Address(frame=ground.frame, yarn=ground.yarn, units=chosen_units())
    rows = [
        {"lesson": one, "link": _link(one, address), "number": k, "missing": one.missing(ground)}
        for k, one in enumerate(LESSONS.values(), start=1)
    ]
    view = {
        "title": f"Lessons, {ground.frame} with {ground.yarn}", "page": "lessons", "address": address,
        "head": _head(work, address, "", ""), "rows": rows,
    }  # fmt: skip
    return work.page(request, "lessons.html.j2", view)


@in_chosen_units
async def lesson(request: Request) -> Response:
    """Show one lesson with its answer."""
    work = PlaceOfWork.of(request)
    one, ground = lesson_at(request.path_params["key"]), _ground(work, request)
    address = Address(frame=ground.frame, yarn=ground.yarn, units=chosen_units())
    require_shown(one, ground)
    word, value, faults = _value(one, ground, request)
    shown = await run_in_threadpool(one.answer, ground, value)
    following = next_after(one.key)
    view = {
        "title": one.question,
        "page": "lessons",
        "address": address,
        "head": _head(work, address, shown.moved, shown.other),
        "lesson": one,
        "number": list(LESSONS).index(one.key) + 1,
        "count": len(LESSONS),
        "following": following,
        "next_link": _link(following, address),
        "before": before(one.key),
        "before_link": _link(before(one.key), address),
        "control": _control(one, ground, (word, value, faults), address.units),
        "units": address.units,
        "unit_links": {unit: _with_unit(one, address, word, unit) for unit in UNITS},
        "pdf": f"{_at(one, address)}/lesson.pdf?{_asked(address, word)}",
        "cautions": cautions_for(ground.choice, one.works),
        "sources": one.sources(ground),
        "echo": echo(request.scope["query_string"]),
        **_pieces_view(shown),
    }
    return work.page(request, "lesson.html.j2", view)


@in_chosen_units
async def pdf(request: Request) -> Response:
    """Give the lesson as PDF, the same document as the command line's; Refusal for a value that cannot be used."""
    work = PlaceOfWork.of(request)
    asked = request.path_params
    word = request.query_params.get(KEY, "")[:LONGEST]
    found = await run_in_threadpool(ask, work.shelf.mill(), asked["key"], asked["frame"], asked["yarn"], word)
    content = await run_in_threadpool(lesson_pdf, found.lesson, found.ground, found.shown, found.cautions)
    name = re.sub(r"[^\w.-]", "_", f"{asked['frame']}-{asked['yarn']}-lesson-{asked['key']}.pdf", flags=re.ASCII)
    headers = {"content-disposition": f'inline; filename="{name}"', "cache-control": "no-store"}
    return Response(content, media_type="application/pdf", headers=headers)


@in_chosen_units
async def answer_lesson(request: Request) -> Response:
    """Answer the slider of a lesson."""
    work = PlaceOfWork.of(request)
    one, ground = lesson_at(request.path_params["key"]), _ground(work, request)
    require_shown(one, ground)
    mark = echo(request.scope["query_string"])
    _, value, faults = _value(one, ground, request)
    if faults:
        return JSONResponse({"echo": mark, "faults": faults})
    shown = await run_in_threadpool(one.answer, ground, value)
    view = _pieces_view(shown)
    words = {"setting-a": shown.moved, "setting-b": shown.other}
    html = {name: work.piece("words.html.j2", {"words": told}) for name, told in words.items()}
    html |= {name: work.piece(f"lesson_{name}.html.j2", view) for name in ("pictures", "findings")}
    return JSONResponse({"echo": mark, "faults": [], "html": html, "said": shown.reasons[1]})


def _value(one: Lesson, ground: Ground, request: Request) -> tuple[str, float, list[str]]:
    """Read the moved value; what cannot be used is told, and the lesson stands where it starts."""
    word = request.query_params.get(KEY, "").strip()[:LONGEST]
    try:
        return word, read_control(one, ground, word), []
    except Refusal as refusal:
        return word, one.control.start(ground), [str(fault) for fault in refusal.faults]


def _at(one: Lesson, address: Address) -> str:
    return address.link(f"lesson/{one.key}").partition("?")[0]


def _asked(address: Address, word: str) -> str:
    """Write the query of a lesson: the units chosen and the value moved, where there are any."""
    given = {"u": ",".join(address.units), KEY: word}
    return urlencode({key: value for key, value in given.items() if value}, quote_via=quote)


def _link(one: Lesson, address: Address, word: str = "") -> str:
    return f"{_at(one, address)}?{_asked(address, word)}".rstrip("?")


def _with_unit(one: Lesson, address: Address, word: str, unit: str) -> str:
    """Give the link to the same value with a unit taken on or left."""
    return _link(one, replace(address, units=address.with_unit(unit)), word)


def _head(work: PlaceOfWork, address: Address, moved: str, other: str) -> dict[str, Any]:
    """Give the words of the head of the sheet, as ``title_block`` does for a setting that is tried."""
    mill = work.shelf.mill()
    pairs = list(mill.settings.values())
    here = (address.frame, address.yarn)
    return {
        "mill": mill.name,
        "pairs": [(one.name, f"{one.frame} with {one.yarn}") for one in pairs],
        "pair": next((one.name for one in pairs if (one.frame, one.yarn) == here), ""),
        "a": moved,
        "b": other,
    }


def _control(one: Lesson, ground: Ground, read: tuple[str, float, list[str]], units: tuple[str, ...]) -> dict[str, Any]:
    control, (word, value, faults) = one.control, read
    unit = chosen_unit(control.unit, units)
    low, high, step = slider_span(control.span(ground), control.quantity, control.unit, unit)
    usual = field_text(control.start(ground), control.quantity, unit)
    text = field_text(value, control.quantity, unit)
    number = text.removesuffix(unit).replace("\u202f", "").strip() if unit != "1" else text
    return {
        "key": KEY, "name": control.name, "why": control.why_words, "parts": "", "text": word if faults else text,
        "usual": usual, "unit": "" if unit == "1" else unit, "low": low, "high": high, "step": step,
        "value": number, "faults": faults, "mends": False,
    }  # fmt: skip


def _pieces_view(shown: Shown) -> dict[str, Any]:
    return {
        "shown": shown,
        "pictures": [(picture, themed(picture.figure)) for picture in shown.pictures],
        "rows": [_row(row) for row in shown.rows],
        "chart": themed(shown.chart.figure) if shown.chart else "",
        "marks": MARKS,
    }


def _row(row: Row) -> dict[str, str]:
    other, other_unit, _, origin = write(row.other, chosen_units())
    moved, unit, _, moved_origin = write(row.moved, chosen_units())
    word = moved_origin or origin
    return {
        "name": row.name, "other": other, "other_unit": other_unit, "moved": moved, "unit": unit, "origin": word,
        "mark": MARKS.get(word, ""),
    }  # fmt: skip
