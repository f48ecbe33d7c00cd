"""What stands before every page: which hosts may ask, which other sites, how large and slow a body may be."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Collection
from urllib.parse import urlsplit

from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["BODY_MOST", "HEADERS", "Guard", "host_name", "own_page"]

BODY_MOST = 1 << 20
BODY_WAIT_S = 30.0
"""Seconds in which a body must have come whole."""
_HOST = re.compile(r"(\[[0-9A-Fa-f:.]+\]|[A-Za-z0-9._-]+)(?::[0-9]{1,5})?", re.ASCII)
UNSAFE = {"POST", "PUT", "PATCH", "DELETE"}
HEADERS: tuple[tuple[bytes, bytes], ...] = (
    (
        b"content-security-policy",
        b"; ".join(
            (
                b"default-src 'none'",
                b"script-src 'self'",
                b"style-src 'self'",
                b"font-src 'self'",
                b"img-src 'self' data:",
                b"connect-src 'self'",
                b"frame-src 'self'",
                b"form-action 'self'",
                b"base-uri 'none'",
                b"frame-ancestors 'none'",
            )
        ),
    ),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"),
    (b"cache-control", b"no-store"),
)
"""What every answer carries that says nothing else of its own."""


def host_name(host: str) -> str:
    """Give the name in a Host header, without its port and the brackets of IPv6; "" for what is no host."""
    found = _HOST.fullmatch(host)
    return "" if found is None else found[1].strip("[]").lower()


def own_page(path: str) -> str:
    """Give the address of a page of this server as it was sent, or the first page for anything else."""
    plain = path.isprintable() and "\\" not in path
    return path if plain and path.startswith("/") and not path.startswith("//") else "/"


class Guard:
    """An ASGI layer before the pages; a request that it refuses gets one sentence."""

    def __init__(self, inner: ASGIApp, *, hosts: Collection[str]) -> None:
        self._inner = inner
        self._hosts = {host.lower() for host in hosts}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on what may pass."""
        if scope["type"] != "http":
            await self._inner(scope, receive, send)
            return

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = {key.lower() for key, _ in message["headers"]}  # the card's sheet brings its own policy
                message["headers"] = [*message["headers"], *(pair for pair in HEADERS if pair[0] not in own)]
            await send(message)

        refusal = self._refusal(scope)
        if refusal is not None:
            await refusal(scope, receive, sent)
            return
        await self._inner(scope, _limited(receive), sent)

    def _refusal(self, scope: Scope) -> PlainTextResponse | None:
        headers = {key.decode("latin-1"): value.decode("latin-1") for key, value in scope["headers"]}
        host = headers.get("host", "")
        if host_name(host) not in self._hosts or [key for key, _ in scope["headers"]].count(b"host") != 1:
            return PlainTextResponse("This server does not answer to the host name that was asked for.\n", 421)
        if not scope["query_string"].isascii():
            return PlainTextResponse("The address has letters that are not written as an address writes them.\n", 400)
        if scope["method"] in UNSAFE and not _own(headers, host, scope["scheme"]):
            return PlainTextResponse("A page of another site may not send a form here.\n", 403)
        if scope["method"] not in UNSAFE and _foreign(headers):
            return PlainTextResponse("A page of another site may lead here, but not use what is here.\n", 403)
        length = headers.get("content-length", "0")
        if not (length.isascii() and length.isdigit()) or len(length) > 15 or int(length) > BODY_MOST:
            return PlainTextResponse(f"A body may have at most {BODY_MOST} bytes.\n", 413)
        return None


def _own(headers: dict[str, str], host: str, scheme: str) -> bool:
    """Say whether an unsafe request comes from a page of this very server, over a way no less encrypted."""
    site = headers.get("sec-fetch-site")
    if site is not None and site not in {"same-origin", "none"}:
        return False
    try:
        origin = urlsplit(headers.get("origin", ""))
    except ValueError:  # no address at all
        return False
    return origin.scheme in {"https", scheme} and origin.netloc.lower() == host.lower()


def _foreign(headers: dict[str, str]) -> bool:
    """Say whether another site's page asks for something other than to lead its reader here."""
    if headers.get("sec-fetch-site", "none") in {"same-origin", "none"}:
        return False
    return (headers.get("sec-fetch-mode"), headers.get("sec-fetch-dest", "document")) != ("navigate", "document")


def _limited(receive: Receive) -> Receive:
    """Stop a body that is longer than it said or said nothing, and one that does not come to an end."""
    taken, until, whole = 0, 0.0, False

    async def limited() -> Message:
        nonlocal taken, until, whole
        if whole:  # only the end of the connection can come now, and that may take as long as the answer
            return await receive()
        now = asyncio.get_running_loop().time()
        until = until or now + BODY_WAIT_S
        try:
            message = await asyncio.wait_for(receive(), max(until - now, 0.0))
        except TimeoutError:
            raise HTTPException(408, f"A body must have come within {BODY_WAIT_S:.0f} seconds.") from None
        whole = not message.get("more_body", False)
        taken += len(message.get("body", b""))
        if taken > BODY_MOST:
            raise HTTPException(413, f"A body may have at most {BODY_MOST} bytes.")
        return message

    return limited
