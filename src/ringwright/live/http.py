"""The door for HTTP: POST of NDJSON batches, answered after the commit."""

from __future__ import annotations

import asyncio
import hmac
from typing import Final

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from ringwright.live.desk import Desk, reason_of

__all__ = ["http_door"]

LARGEST: Final = 8 << 20


def http_door(desk: Desk, token: str = "") -> Starlette:
    """Make the web application: POST /breaks or /running takes events of either sort, GET /state tells gaps and counts.

    With a token, every request needs it as ``Authorization: Bearer TOKEN``.
    """

    def may(request: Request) -> bool:
        given = request.headers.get("authorization", "")
        return not token or hmac.compare_digest(given.encode(), f"Bearer {token}".encode())

    async def events(request: Request) -> Response:
        if not may(request):
            return _told(401, "the token is missing or wrong")
        body = b""
        async for part in request.stream():
            body += part
            if len(body) > LARGEST:
                return _told(413, f"a batch has at most {LARGEST} bytes; send it in parts")
        try:
            answer = await asyncio.wrap_future(await asyncio.to_thread(desk.bring, "http", body))
        except Exception as error:  # noqa: BLE001 - the sender must hear that nothing was committed
            return _told(503, f"nothing was committed: {reason_of(error)}")
        return JSONResponse(answer.as_json())

    async def state(request: Request) -> Response:
        if not may(request):
            return _told(401, "the token is missing or wrong")
        inbox = desk.intake.inbox
        gaps = [{"gateway": gap.gateway, "first": gap.first, "last": gap.last} for gap in inbox.gaps()]
        return JSONResponse({"gaps": gaps, **inbox.counts()})

    posts = [Route(path, events, methods=["POST"]) for path in ("/breaks", "/running")]
    return Starlette(routes=[*posts, Route("/state", state)])


def _told(status: int, reason: str) -> Response:
    return JSONResponse({"reason": reason}, status_code=status)
