"""What stands before every page: which hosts may ask, whose forms are taken, how large a body may be."""

from __future__ import annotations

from collections.abc import Collection
from urllib.parse import urlsplit

from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["BODY_MOST", "HEADERS", "Guard", "host_name"]

BODY_MOST = 1 << 20
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
)


def host_name(host: str) -> str:
    """Give the name in a Host header, without its port and the brackets of IPv6."""
    name = host.rsplit(":", 1)[0] if not host.endswith("]") and ":" in host else host
    return name.strip("[]").lower()


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
        if host_name(host) not in self._hosts:
            return PlainTextResponse("This server does not answer to the host name that was asked for.\n", 421)
        if scope["method"] in UNSAFE and not _own(headers, host):
            return PlainTextResponse("A page of another site may not send a form here.\n", 403)
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > BODY_MOST:
            return PlainTextResponse(f"A body may have at most {BODY_MOST} bytes.\n", 413)
        return None


def _own(headers: dict[str, str], host: str) -> bool:
    """Say whether an unsafe request comes from a page of this very server."""
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site is not None and site not in {"same-origin", "none"}:
        return False
    return origin is not None and urlsplit(origin).netloc.lower() == host.lower()


def _limited(receive: Receive) -> Receive:
    """Cut off a body that is longer than it said, or said nothing."""
    taken = 0

    async def limited() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > BODY_MOST:
            return {"type": "http.disconnect"}
        return message

    return limited
