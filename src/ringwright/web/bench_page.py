"""The bench: the page itself, and the answers that follow a slider."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Mapping
from typing import Any

from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from ringwright.refusal import Refusal
from ringwright.web.address import Address, echo, in_chosen_units, read_address
from ringwright.web.background import Lane
from ringwright.web.bench_view import (
    MARKS,
    Solved,
    controls,
    frame_of_sheet,
    marks_of,
    moment_controls,
    part_view,
    pieces,
    setting_words,
)
from ringwright.web.chart import doff_chart, known_width
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.web.title_block import title_block
from ringwright.web.walls import walls
from ringwright.workbench.asking import asked, asked_near
from ringwright.workbench.place import Moment, Place, moment_of, place_of
from ringwright.workbench.tried import Tried, read_tried
from ringwright.workbench.whole import course_of, rooms_of

__all__ = ["answer_doff", "answer_place", "answer_rooms", "bench", "choose_pair", "solved_at"]


async def choose_pair(request: Request) -> Response:
    """Go to the bench of the frame and yarn chosen, or of the mill's first setting."""
    work = PlaceOfWork.of(request)
    mill = work.shelf.mill()
    pair = request.query_params.get("pair", "")
    page = request.query_params.get("page", "bench")
    setting = mill.settings.get(pair) or next(iter(mill.settings.values()), None)
    if setting is None:
        return work.page(request, "empty.html.j2", {"title": "No setting yet", "mill": mill.name}, 200)
    one = Address(frame=setting.frame, yarn=setting.yarn)
    return RedirectResponse(
        one.link(page if page in {"bench", "doff", "lessons", "card", "parts", "better"} else "bench"), 303
    )


async def solved_at(
    work: PlaceOfWork, address: Address
) -> tuple[Solved | None, Tried, Tried | None, Mapping[str, Any]]:
    """Solve the place at an address; None for the solution where what is typed cannot be used."""
    mill = work.shelf.mill()
    a = read_tried(mill, address.frame, address.yarn, address.a)
    b = None if address.b is None else read_tried(mill, address.frame, address.yarn, address.b)
    if a.choice is None:
        return None, a, b, {}
    moment, faults = moment_of(dict(address.moment))
    version = work.shelf.version
    wanted = [asked(a, moment, version, banded=True)]
    if b is not None and b.choice is not None:
        wanted.append(asked(b, moment, version, banded=False))
    shares = work.ahead.ask(wanted)
    answers = await asyncio.gather(*(asyncio.wrap_future(share.batch) for share in shares))
    assert len(answers) == len(shares)  # noqa: S101
    place = place_of(a.choice, moment, *shares[0].found(), banded=a.banded)
    other = None
    if b is not None and b.choice is not None:
        other = place_of(b.choice, moment, *shares[1].found(), banded=False)
    found = Solved(address=address, moment=moment, tried_a=a, a=place, tried_b=b, b=other)
    return found, a, b, faults


@in_chosen_units
async def bench(request: Request) -> Response:
    """Show the page with everything solved that takes no time to solve."""
    work = PlaceOfWork.of(request)
    address = _address(request)
    solved, a, b, faults = await solved_at(work, address)
    mill = a.as_read  # the files may have changed meanwhile: a page must be of one state of them
    as_set = read_tried(mill, address.frame, address.yarn, {})
    shown = solved
    if shown is None:  # the drawing keeps the setting as the mill has it, and says so
        shown, *_ = await solved_at(work, Address(frame=address.frame, yarn=address.yarn, part=address.part))
        assert shown is not None  # noqa: S101 - the mill's own setting was checked when it was read
    drawn, labels = pieces(shown)
    view: dict[str, Any] = {
        "title": f"Bench, {address.frame} with {address.yarn}",
        "page": "bench",
        "address": address,
        "head": title_block(mill, address, a, b),
        "sheet": frame_of_sheet(),
        "pieces": drawn,
        "labels": [one | {"link": address.link("bench", part=one["part"])} for one in labels],
        "about": part_view(shown),
        "controls": controls(a, as_set, address),
        "moment": moment_controls(shown, faults),
        "kept": "" if solved else "What was typed cannot be used. The drawing shows the setting as the mill has it.",
        "general": [str(fault) for fault in a.faults.get("", ())],
        "b_faults": [str(fault) for told in (b.faults.values() if b else ()) for fault in told],
        "marks": MARKS,
        "compare": _compare(address),
        "echo": echo(request.scope["query_string"]),
    }
    if "wait" in request.query_params:  # without a script nothing follows by itself
        view |= await _followers(work, shown, 440.0)
    return work.page(request, "bench.html.j2", view)


def _compare(address: Address) -> dict[str, str]:
    """Give the links that keep the setting as B, change the two over, and leave B out."""
    links = {"keep": address.link("bench", b=dict(address.a)), "as_set": address.link("bench", b={})}
    if address.b is not None:
        links |= {
            "swap": address.link("bench", a=dict(address.b), b=dict(address.a)),
            "drop": address.link("bench", b=None),
        }
    return links


@in_chosen_units
async def answer_place(request: Request) -> Response:
    """Answer a slider: the drawing, the labels and the numbers of the chosen part."""
    work = PlaceOfWork.of(request)
    address = _address(request)
    mark = echo(request.scope["query_string"])
    solved, a, b, faults = await solved_at(work, address)
    told = {key: [str(fault) for fault in found] for key, found in a.faults.items()}
    told |= {key: [str(fault)] for key, fault in faults.items()}
    told |= {f"b_{key}": [str(fault) for fault in found] for key, found in (b.faults.items() if b else ())}
    if solved is None:
        return JSONResponse({"echo": mark, "faults": told})
    about, (drawn, labels) = part_view(solved), pieces(solved)
    moved = request.query_params.get("m", "")
    return JSONResponse(
        {
            "echo": mark,
            "faults": told,
            "pieces": drawn,
            "labels": [[one["part"], one["y"], one["number"]] for one in labels],
            "html": {
                "part-head": work.piece("part_head.html.j2", {"about": about}),
                "about": work.piece("about.html.j2", {"about": about, "has_b": solved.b is not None}),
                "setting-a": work.piece("words.html.j2", {"words": setting_words(a)}),
                "setting-b": work.piece("words.html.j2", {"words": setting_words(b) if b else ""}),
            },
            "marks_a": {} if moved else marks_of(a),
            "marks_b": marks_of(b) if b else {},
            "line": _line(solved.a),
            "line_b": _line(solved.b) if solved.b else None,
        },
        background=BackgroundTask(_solve_ahead, work, a, solved.moment, moved) if moved else None,
    )


async def _solve_ahead(work: PlaceOfWork, tried: Tried, moment: Moment, moved: str) -> None:
    """Solve, once the answer has gone, where the slider that is being moved may come to next."""
    with contextlib.suppress(Refusal):  # what cannot be laid out is refused if the slider comes there
        near = asked_near(work.shelf.mill(), (tried, moment), moved, work.shelf.version, work.ahead)
        work.ahead.ask(near)


def _line(place: Place) -> dict[str, Any] | None:
    """Give the yarn for the view that can be turned, in tenths of a millimetre and thousandths of a turn."""
    if place.line is None:
        return None
    line = place.line
    return {
        "z": [round(1e4 * v) for v in line.depth.tolist()],
        "r": [round(1e4 * v) for v in line.radius.tolist()],
        "a": [round(1e3 * v) for v in line.azimuth.tolist()],
        "ring": round(1e4 * place.here.choice.frame.ring.diameter / 2),
    }


@in_chosen_units
async def answer_doff(request: Request) -> Response:
    """Answer with the tension through the doff."""
    work, address = PlaceOfWork.of(request), _address(request)
    mark = echo(request.scope["query_string"])
    solved, *_ = await solved_at(work, address)
    if solved is None:
        return JSONResponse({"echo": mark, "html": {}})
    a, b = await _both(work, solved, course_of)
    time = float(solved.a.here.places.time[0])
    chart = doff_chart(a, b, time, known_width(request.query_params.get("w", "")))
    html = work.piece("doff_answer.html.j2", {"chart": chart, "a": a, "b": b})
    return JSONResponse({"echo": mark, "html": {"doff": html}})


@in_chosen_units
async def answer_rooms(request: Request) -> Response:
    """Answer with the room to each limit."""
    work, address = PlaceOfWork.of(request), _address(request)
    mark = echo(request.scope["query_string"])
    solved, *_ = await solved_at(work, address)
    if solved is None:
        return JSONResponse({"echo": mark, "html": {}})
    a, b = await _both(work, solved, rooms_of)
    view = {"walls": walls(a, b), "a": a, "has_b": b is not None, "marks": MARKS}
    html = work.piece("rooms_answer.html.j2", view)
    return JSONResponse({"echo": mark, "html": {"rooms": html}})


async def _both(work: PlaceOfWork, solved: Solved, verb: Any) -> tuple[Any, Any]:  # noqa: ANN401 - one verb, one answer
    lane: Lane = "rooms" if verb is rooms_of else "doff"
    asks = [
        work.whole(verb, tried, lane=lane)
        for tried in (solved.tried_a, solved.tried_b)
        if tried and tried.choice is not None
    ]
    answers = await asyncio.gather(*asks)
    return answers[0], answers[1] if len(answers) > 1 else None


async def _followers(work: PlaceOfWork, solved: Solved, width: float) -> dict[str, Any]:
    course, other = await _both(work, solved, course_of)
    rooms, other_rooms = await _both(work, solved, rooms_of)
    time = float(solved.a.here.places.time[0])
    return {
        "doff": {"chart": doff_chart(course, other, time, width), "a": course, "b": other},
        "rooms": {"walls": walls(rooms, other_rooms), "a": rooms, "has_b": other_rooms is not None},
    }


def _address(request: Request) -> Address:
    query = request.scope["query_string"].decode("latin-1")
    return read_address(request.path_params["frame"], request.path_params["yarn"], query)
