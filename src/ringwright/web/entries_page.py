"""Add and remove whole entries of the mill: the difference is shown first, and saved only over what was seen."""

from __future__ import annotations

from typing import Any, cast
from urllib.parse import parse_qsl, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from ringwright.editing.desk import Desk, Stale
from ringwright.editing.difference import difference
from ringwright.editing.entries import copied, removed
from ringwright.editing.files import MillFiles
from ringwright.editing.sheet import KINDS
from ringwright.refusal import Fault, Refusal
from ringwright.web.mill_view import heads, link_of, wrong_lines
from ringwright.web.place_of_work import PlaceOfWork

__all__ = ["entries"]

LONGEST = 80
COPY, REMOVE = "copy", "remove"


async def entries(request: Request) -> Response:
    """Show what adding or removing an entry would change, or save it."""
    try:
        pairs = parse_qsl((await request.body()).decode("ascii"), max_num_fields=20)
    except ValueError:
        raise Refusal(Fault(where="what was sent", got="not readable", wants="a form from this page")) from None
    form = {key: value.strip()[:LONGEST] for key, value in pairs}
    return await run_in_threadpool(_answered, request, form)


def _answered(request: Request, form: dict[str, str]) -> Response:
    desk = cast("Desk", request.app.state.desk)
    if desk.read_only:
        raise Refusal(Fault(where="the demo mill", got="read-only", wants="a mill of your own",
                            mend="Write a copy with: ringwright init --demo mymill"))  # fmt: skip
    files = desk.read()
    kind, name, new = (form.get(key, "") for key in ("kind", "name", "new"))
    if kind not in KINDS:
        raise Refusal(Fault(where="the kind", got=f'"{kind}"', wants=f"one of {', '.join(KINDS)}"))
    if files.faults:
        return RedirectResponse("/mill", 303)
    try:
        after = removed(files, kind, name) if form.get("what") == REMOVE else copied(files, kind, name, new)
    except Refusal as refusal:
        return _page(request, files, None, form, [str(fault) for fault in refusal.faults])
    if form.get("act") == "save" and not after.faults:
        if files.version != form.get("version"):
            said = (
                "The files were changed since the difference was shown. This is the difference now; nothing is saved."
            )
            return _page(request, files, after, form, [said])
        try:
            desk.save(files, after)
        except Stale as stale:
            said = "Another saved just now. Nothing of either is lost: look at the list as it is, and do it again."
            return _page(request, stale.now, None, form, [said])
        gone = form.get("what") == REMOVE
        return RedirectResponse(
            f"/mill?{urlencode({'gone': name})}" if gone else f"{link_of(kind, new)}?saved={after.version[:12]}", 303
        )
    return _page(request, files, after, form, [])


def _page(
    request: Request, files: MillFiles, after: MillFiles | None, form: dict[str, str], told: list[str]
) -> Response:
    removing = form.get("what") == REMOVE
    kind, name, new = (form.get(key, "") for key in ("kind", "name", "new"))
    facts = files.file_of(("mill", "name"))
    wrong = wrong_lines(after, list(after.faults)) if after is not None else []
    view: dict[str, Any] = {
        "title": f"Remove the {kind} {name}" if removing else f"Add the {kind} {new or '(no name)'}, like {name}",
        "page": "mill", "pages": heads(files, kind, name), "told": told, "wrong": wrong, "form": form,
        "mill": files.written(facts).get(("mill", "name"), "") if facts else "", "removing": removing,
        "version": files.version, "ready": after is not None and not wrong,
        "difference": [] if after is None else difference(files.contents, after.contents), "kind": kind,
    }  # fmt: skip
    return PlaceOfWork.of(request).page(request, "mill_entry.html.j2", view, 422 if wrong or told else 200)
