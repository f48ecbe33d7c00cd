"""The rounds of readings that the server's store keeps, and one taken back that was kept by mistake."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from ringwright.refusal import Refusal
from ringwright.web.floor_ground import beside, form_of, usual
from ringwright.web.parts_page import sheet_view
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.workbench.rounds import DEMO, back_of, rounds_of

__all__ = ["rounds", "take_back"]

_FIELDS = {"--note": ("note", "Why"), "--by": ("by", "The name"), "--take-back": ("", "The round")}
NOTHING = (
    "This server keeps no rounds. Start it with: ringwright serve MILL --store FOLDER, then keep rounds on the "
    "pages of centring and drive."
)


async def rounds(request: Request) -> Response:
    """List the rounds, the last first, each with its way back."""
    return await _page(request, {}, {}, 200)


async def take_back(request: Request) -> Response:
    """Take a round back; it stays in the store, marked."""
    work = PlaceOfWork.of(request)
    given = await form_of(request, ("number", "note", "by"))
    store = str(getattr(request.app.state, "store", ""))
    if not store:
        return RedirectResponse("/rounds", 303)
    try:
        await work.background.ask(("back", object()), back_of, work.shelf.where, store, given, lane="spare", once=True)
    except Refusal as refusal:
        return await _page(request, given, beside(refusal, _FIELDS), 422)
    return RedirectResponse(f"/rounds?back={quote(given['number'])}", 303)


async def _page(
    request: Request, typed: Mapping[str, str], faults: Mapping[str, Sequence[str]], status: int
) -> Response:
    work = PlaceOfWork.of(request)
    mill = work.shelf.mill()
    store = str(getattr(request.app.state, "store", "")) or (DEMO if work.shelf.where == DEMO else "")
    if not store:
        view = usual(work, "Rounds kept") | {"sentence": NOTHING, "heading": "No rounds"}
        return work.page(request, "floor_none.html.j2", view)
    asked = 0 if store == DEMO else object()  # the demonstration's rounds stay as they are
    rows, sheet = await work.background.ask(("rounds", asked), rounds_of, work.shelf.where, store, lane="spare")
    yarns = {one.frame: one.yarn for one in reversed(list(mill.settings.values()))}
    last = {(one.kind, one.frame): one.number for one in rows if not one.taken_back}
    shown = [
        (one, _link(one.kind, one.frame, yarns, store) if last.get((one.kind, one.frame)) == one.number else "")
        for one in reversed(rows)
    ]
    view = usual(work, "Rounds kept") | sheet_view(sheet) | {
        "rounds": shown, "can_take_back": store != DEMO, "typed": typed, "faults": faults,
        "said": "Taken back. It stays in the store, marked." if "back" in request.query_params else "",
    }  # fmt: skip
    return work.page(request, "rounds.html.j2", view, status)


def _link(kind: str, frame: str, yarns: Mapping[str, str], store: str) -> str:
    """Give the page that judges the last round of a frame; empty where its frame has no setting any more."""
    if kind != "centring" or frame not in yarns:
        return ""
    at = f"/parts/centring/{quote(frame, safe='')}/{quote(yarns[frame], safe='')}"
    return f"{at}?round={'demo' if store == DEMO else 'kept'}"
