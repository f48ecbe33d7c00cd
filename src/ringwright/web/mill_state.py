"""Which state of the mill's files an answer is of, so that a page made before they changed can tell."""

from __future__ import annotations

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from ringwright.workbench.shelf import MillShelf

__all__ = ["HEADER", "StateTold"]

HEADER = b"x-mill-state"
_ASKED_BY_SCRIPTS = ("/answer/", "/alive")


class StateTold:
    """An ASGI layer that puts the mark of the mill's state beside each answer to a script."""

    def __init__(self, inner: ASGIApp, *, shelf: MillShelf) -> None:
        self._inner, self._shelf = inner, shelf

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, and put the mark to its answer."""
        if scope["type"] != "http" or not scope["path"].startswith(_ASKED_BY_SCRIPTS):
            await self._inner(scope, receive, send)
            return

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message["headers"], (HEADER, self._shelf.mark.encode("ascii"))]
            await send(message)

        await self._inner(scope, receive, sent)
