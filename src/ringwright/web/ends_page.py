"""The forbidden ends of the sliders of a part: where a limit is passed or no balloon stands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from ringwright.units import from_unit, in_unit
from ringwright.web.address import echo, read_address
from ringwright.web.bench_view import share_of
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.web.writing import chosen_unit, field_text
from ringwright.workbench.ends import End, ends_of
from ringwright.workbench.field import FIELDS, Choice, Field
from ringwright.workbench.tried import Tried, read_tried

__all__ = ["answer_ends"]


async def answer_ends(request: Request) -> Response:
    """Answer with the forbidden ends of each slider that the chosen part has, as shares and in words."""
    work, query = PlaceOfWork.of(request), request.scope["query_string"].decode("latin-1")
    address = read_address(request.path_params["frame"], request.path_params["yarn"], query)
    mill = work.shelf.mill()
    tried = read_tried(mill, address.frame, address.yarn, address.a)
    as_set = read_tried(mill, address.frame, address.yarn, {}).choice
    assert as_set is not None  # noqa: S101 - the mill's own setting was checked when it was read
    told: dict[str, Any] = {}
    if tried.choice is not None:
        for field in FIELDS:
            if address.part in field.parts and field.value(tried.choice) is not None:
                ends = await _ends(work, tried, field)
                shares = [[share_of(field, as_set, end.low), share_of(field, as_set, end.high)] for end in ends]
                told[field.key] = {"spans": shares, "words": _words(field, ends, as_set, address.units)}
    return JSONResponse({"echo": echo(request.scope["query_string"]), "ends": told})


async def _ends(work: PlaceOfWork, tried: Tried, field: Field) -> tuple[End, ...]:
    """Ask once for all values of the field itself, as its own value moves nothing on its slider."""
    words = {key: word for key, word in tried.words.items() if key != field.key}
    others = tuple(sorted(words.items()))
    mill = tried.as_read
    key = ("ends_of", work.shelf.version_of(mill), tried.frame, tried.yarn, others, field.key)
    return await work.background.ask(key, ends_of, mill, tried.frame, tried.yarn, words, field.key, lane="spare")


def _to_step(value: float, field: Field, as_set: Choice) -> float:
    """Round a value to the slider's own step: it is known no better."""
    step = field.span(as_set)[2]
    return from_unit(round(in_unit(value, field.quantity, field.unit) / step) * step, field.quantity, field.unit)


def _words(field: Field, ends: Sequence[End], as_set: Choice, units: Sequence[str]) -> str:
    if not ends:
        return ""
    shown = chosen_unit(field.unit, units)

    def told(value: float) -> str:
        return field_text(_to_step(value, field, as_set) if shown == field.unit else value, field.quantity, shown)

    parts = []
    for end in ends:
        if end.below and end.above:
            where = "all of it"
        elif end.below:
            where = f"below about {told(end.high)}"
        elif end.above:
            where = f"above about {told(end.low)}"
        else:
            where = f"about {told(end.low)} to {told(end.high)}"
        parts.append(f"{where} ({', '.join(end.names)})")
    return f"Hatched, a limit is passed: {'; '.join(parts)}."
