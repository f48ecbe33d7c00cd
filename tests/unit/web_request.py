"""One request to the pages without a network, for their tests."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote

from starlette.applications import Starlette


@dataclass(frozen=True)
class Reply:
    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode("utf-8")


def request(app: Starlette, path: str, *, method: str = "GET", body: bytes = b"", **headers: str) -> Reply:
    """Ask the app as a browser at this computer would; a header's name may be given with underscores."""
    return asyncio.run(_request(app, path, method, [body], headers))


def request_in_pieces(app: Starlette, path: str, pieces: list[bytes], **headers: str) -> Reply:
    """Post a body that does not say how long it is."""
    return asyncio.run(_request(app, path, "POST", pieces, headers))


def requests_of(app: Starlette, asked: list[tuple[str, str, bytes, dict[str, str]]]) -> list[Reply]:
    """Ask many things one after the other: method, path, body and headers of each."""

    async def all_of_them() -> list[Reply]:
        return [await _request(app, path, method, [body], headers) for method, path, body, headers in asked]

    return asyncio.run(all_of_them())


async def _request(app: Starlette, path: str, method: str, pieces: list[bytes], headers: dict[str, str]) -> Reply:
    route, _, query = path.partition("?")
    scheme = headers.pop("scheme", "http")
    given = {"host": "localhost:8733"} | {name.replace("_", "-"): value for name, value in headers.items()}
    if len(pieces) == 1 and pieces[0]:
        given.setdefault("content-length", str(len(pieces[0])))
    scope: dict[str, Any] = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method,
        "scheme": scheme,
        "path": unquote(route), "raw_path": route.encode(), "query_string": query.encode(), "root_path": "",
        "headers": [(name.encode(), value.encode("latin-1")) for name, value in given.items()],
        "client": (headers.get("who", "127.0.0.1"), 50000), "server": ("localhost", 8733),
    }  # fmt: skip
    waiting = [
        {"type": "http.request", "body": piece, "more_body": k < len(pieces) - 1} for k, piece in enumerate(pieces)
    ]
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return waiting.pop(0) if waiting else {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        sent.append(message)

    await app(scope, receive, send)
    start = next(message for message in sent if message["type"] == "http.response.start")
    body = b"".join(message.get("body", b"") for message in sent if message["type"] == "http.response.body")
    told = {key.decode().lower(): value.decode("latin-1") for key, value in start["headers"]}
    return Reply(start["status"], told, body)
