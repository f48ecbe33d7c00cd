"""The card on a page, and as PDF: the same document as the command line's."""

from __future__ import annotations

import base64
import hashlib
import re

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from ringwright.report.card import Card
from ringwright.report.card_html import card_html
from ringwright.report.card_pdf import card_pdf
from ringwright.web.address import Address, read_address
from ringwright.web.bench_view import MARKS, setting_words
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.web.title_block import title_block
from ringwright.workbench.tried import Tried, read_tried
from ringwright.workbench.whole import card_of

__all__ = ["card", "pdf", "sheet"]

_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)


def _tried(request: Request) -> tuple[PlaceOfWork, Address, Tried]:
    work = PlaceOfWork.of(request)
    query = request.scope["query_string"].decode("latin-1")
    address = read_address(request.path_params["frame"], request.path_params["yarn"], query)
    tried = read_tried(work.shelf.mill(), address.frame, address.yarn, address.a)
    if tried.refusal is not None:
        raise tried.refusal
    return work, address, tried


async def card(request: Request) -> Response:
    """Show the card in a frame of its own, with its PDF beside it."""
    work, address, tried = _tried(request)
    made: Card = await work.whole(card_of, tried, lane="spare")
    at = f"/card/{request.path_params['frame']}/{request.path_params['yarn']}"
    view = {
        "title": f"Card, {address.frame} with {address.yarn}",
        "page": "card",
        "address": address,
        "head": title_block(work.shelf.mill(), address, tried, None),
        "card": made,
        "marks": MARKS,
        "setting": setting_words(tried),
        "sheet": f"{at}/sheet?{address.query()}",
        "pdf": f"{at}/card.pdf?{address.query()}",
    }
    return work.page(request, "card.html.j2", view)


async def sheet(request: Request) -> Response:
    """Give the card as its own page, with leave for its own style sheet and no other."""
    work, _, tried = _tried(request)
    html = card_html(await work.whole(card_of, tried, lane="spare"))
    marks = " ".join(f"'sha256-{_digest(style)}'" for style in _STYLE.findall(html))
    policy = f"default-src 'none'; style-src {marks}; font-src data:; base-uri 'none'; frame-ancestors 'self'"
    return HTMLResponse(html, headers={"content-security-policy": policy, "x-frame-options": "SAMEORIGIN"})


def _digest(style: str) -> str:
    return base64.b64encode(hashlib.sha256(style.encode()).digest()).decode("ascii")


async def pdf(request: Request) -> Response:
    """Give the card as PDF."""
    work, address, tried = _tried(request)
    content = await run_in_threadpool(card_pdf, await work.whole(card_of, tried, lane="spare"))
    name = re.sub(r"[^\w.-]", "_", f"{address.frame}-{address.yarn}-card.pdf", flags=re.ASCII)
    headers = {"content-disposition": f'inline; filename="{name}"', "cache-control": "no-store"}
    return Response(content, media_type="application/pdf", headers=headers)
