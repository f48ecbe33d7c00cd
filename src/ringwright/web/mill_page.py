"""The mill pages: its sheets as forms, the difference before it is saved, and two people who save at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from ringwright.editing.desk import Desk, Stale
from ringwright.editing.difference import difference
from ringwright.editing.files import MillFiles
from ringwright.editing.leaves import Path
from ringwright.editing.merging import Merge, merge
from ringwright.editing.proposal import Proposal, beside, proposed
from ringwright.editing.sheet import Sheet, sheet_of
from ringwright.refusal import Refusal
from ringwright.verbs.app import DEMO
from ringwright.web.bench_view import MARKS
from ringwright.web.mill_form import SheetForm, read_form
from ringwright.web.mill_view import faulty, heads, link_of, listed, sections_view, title_of, wrong_lines
from ringwright.web.place_of_work import PlaceOfWork

__all__ = ["desk_for", "mill", "sheet"]


def desk_for(where: str) -> Desk:
    """Give the desk at which a server's mill is read and written."""
    return Desk(where, demo=where == DEMO)


def _desk(request: Request) -> Desk:
    return cast("Desk", request.app.state.desk)


async def mill(request: Request) -> Response:
    """List the sheets of the mill, or tell what is wrong with its files."""
    return await run_in_threadpool(_mill, request)


def _mill(request: Request) -> Response:
    try:
        files = _desk(request).read()
    except Refusal as refusal:
        faults = [{"sentence": str(fault), "lines": [], "file": ""} for fault in refusal.faults]
        view = {"title": "The mill cannot be read", "page": "mill", "pages": [], "mill": "", "wrong": faults}
        return PlaceOfWork.of(request).page(
            request, "mill.html.j2", view | {"groups": [], "read_only": True, "gone": ""}, 422
        )
    wrong = wrong_lines(files, files.faults)
    view = _usual(request, files, "", "") | {"title": "The mill", "groups": listed(files), "wrong": wrong}
    view["gone"] = request.query_params.get("gone", "")[:80]
    return PlaceOfWork.of(request).page(request, "mill.html.j2", view, 422 if wrong else 200)


async def sheet(request: Request) -> Response:
    """Show a sheet as a form, or answer the form sent: its faults, its difference, or the saved sheet."""
    kind, name = request.path_params["kind"], request.path_params.get("name", "")
    if request.method in {"GET", "HEAD"}:
        return await run_in_threadpool(_shown, request, kind, name)
    form = read_form(await request.body())
    return await run_in_threadpool(_answered, request, kind, name, form)


def _usual(request: Request, files: MillFiles, kind: str, name: str) -> dict[str, Any]:
    desk = _desk(request)
    facts = files.file_of(("mill", "name"))
    return {
        "page": "mill",
        "pages": heads(files, kind, name),
        "mill": files.written(facts).get(("mill", "name"), "") if facts else "",
        "read_only": desk.read_only,
        "marks": MARKS,
    }


def _shown(request: Request, kind: str, name: str) -> Response:
    files = _desk(request).read()
    shown = sheet_of(files, kind, name)
    if shown is None:
        if files.faults:  # the sheet may be in a file that cannot be parsed
            return RedirectResponse("/mill", 303)
        raise HTTPException(404)
    saved = request.query_params.get("saved", "")
    said = "Saved." if len(saved) == 12 and files.version.startswith(saved) else ""
    return _page(request, files, shown, said=said)


def _page(
    request: Request,
    files: MillFiles,
    shown: Sheet,
    *,
    typed: Mapping[Path, str] | None = None,
    proposal: Proposal | None = None,
    said: str = "",
    status: int = 200,
) -> Response:
    """Fill the page of a sheet: as it is, or with what was typed, its faults or its difference."""
    faults = proposal.faults if proposal else files.faults
    at, others = beside(shown, faults)
    good = proposal is not None and not faults and bool(proposal.changes)
    view = _usual(request, files, shown.kind, shown.name) | {
        "title": title_of(shown.kind, shown.name),
        "file": shown.file,
        "sections": sections_view(shown, typed or {}, shown.values(), at),
        "beside": faulty(shown, at),
        "others": wrong_lines(proposal.after if proposal else files, others),
        "invalid": bool(files.faults),
        "version": files.version,
        "shown": proposal.after.version if proposal and good else "",
        "changes": proposal.changes if proposal and good else (),
        "difference": difference(files.contents, proposal.after.contents) if proposal and good else [],
        "said": said,
        "link": link_of(shown.kind, shown.name),
    }
    if files.faults or (proposal is not None and faults):
        status = 422
    return PlaceOfWork.of(request).page(request, "mill_sheet.html.j2", view, status)


def _answered(request: Request, kind: str, name: str, form: SheetForm) -> Response:
    desk = _desk(request)
    files = desk.read()
    shown = sheet_of(files, kind, name)
    if desk.read_only and shown is not None:
        return _page(request, files, shown, said="Nothing was saved.", status=403)
    if shown is None or files.faults or files.version != form.version or form.unchosen:
        return _late(request, files, shown, form)
    typed = {path: form.typed[key] for path in shown.values() if (key := ".".join(path)) in form.typed}
    made = proposed(files, shown, typed)
    if form.act != "save" or made.faults or not made.changes:
        said = "" if made.changes else "Nothing was changed, so there is nothing to save."
        said = "Merged with what the other saved. Nothing is saved yet." if form.merged and made.changes else said
        return _page(request, files, shown, typed=typed, proposal=made, said=said)
    if made.after.version != form.shown:
        said = "You changed more after the difference was shown. This is the whole difference; nothing is saved yet."
        return _page(request, files, shown, typed=typed, proposal=made, said=said)
    try:
        desk.save(files, made.after)
    except Stale as stale:
        return _late(request, stale.now, sheet_of(stale.now, kind, name), form)
    return RedirectResponse(f"{link_of(kind, name)}?saved={made.after.version[:12]}", 303)


def _late(request: Request, files: MillFiles, shown: Sheet | None, form: SheetForm) -> Response:
    """Say why what was typed is not saved, what another changed and what is typed, and offer to merge the two."""
    kind, name = request.path_params["kind"], request.path_params.get("name", "")
    known = {".".join(path): path for path in (shown.values() if shown else ())}
    was = {known.get(key, (key,)): word for key, word in form.was.items()}
    typed = {known.get(key, (key,)): word for key, word in form.typed.items()}
    # Files that are wrong say nothing to merge with: what was typed waits, over what it was typed.
    now = was if files.faults or shown is None else shown.values()
    merged = merge(was, typed, now)
    before = _desk(request).remembered(form.version)
    view = _usual(request, files, kind, name) | {
        "title": title_of(kind, name),
        "link": link_of(kind, name),
        "wrong": wrong_lines(files, files.faults),
        "there": shown is not None or bool(files.faults),
        "theirs": merged.theirs,
        "mine": merged.mine,
        "conflicts": [one for one in merged.conflicts if one.path in now],
        "gone": [one for one in merged.conflicts if one.path not in now],
        "unchosen": bool(form.unchosen) and files.version == form.version,
        "difference": difference(before.contents, files.contents) if before else [],
        "known": before is not None,
        "version": form.version if files.faults else files.version,
        "fields": _carried(merged, now),
    }
    return PlaceOfWork.of(request).page(request, "mill_late.html.j2", view, 409)


def _carried(merged: Merge, now: Mapping[Path, str]) -> list[tuple[str, str, str]]:
    """Give what the form carries on: dotted key, what the files say now, what they are to say."""
    return [(".".join(path), word, merged.together.get(path, word)) for path, word in now.items()]
