"""Where the password is asked for, when the server answers beyond this computer."""

from __future__ import annotations

from urllib.parse import parse_qs

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from ringwright.web.password import SESSION_S, Lock
from ringwright.web.place_of_work import PlaceOfWork

__all__ = ["COOKIE", "Door", "login", "logout"]

COOKIE = "ringwright_session"
OPEN = ("/login", "/static/")


class Door:
    """An ASGI layer that lets in those with a session; all others get the page that asks for the password."""

    def __init__(self, inner: ASGIApp, *, lock: Lock) -> None:
        self._inner, self._lock = inner, lock

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on a request of someone who has come in."""
        if scope["type"] != "http":
            await self._inner(scope, receive, send)
            return
        request = Request(scope)
        if request.url.path.startswith(OPEN) or self._lock.knows(request.cookies.get(COOKIE, "")):
            await self._inner(scope, receive, send)
            return
        answer: Response = RedirectResponse("/login", 303)
        if request.url.path.startswith("/answer/"):
            answer = Response("The password is asked for first.\n", 401)
        await answer(scope, receive, send)


async def login(request: Request) -> Response:
    """Ask for the password, or check the one sent."""
    work, lock = PlaceOfWork.of(request), request.app.state.lock
    if lock is None:
        return RedirectResponse("/", 303)
    view = {"title": "Password", "sentence": ""}
    if request.method == "GET":
        return work.page(request, "login.html.j2", view)
    who = request.client.host if request.client else ""
    wait = lock.wait(who)
    if wait > 0:
        view["sentence"] = f"Too many wrong passwords. Try again in {wait:.0f} seconds."
        answer = work.page(request, "login.html.j2", view, 429)
        answer.headers["retry-after"] = f"{wait:.0f}"
        return answer
    word = parse_qs((await request.body()).decode("utf-8", "replace")).get("password", [""])[0]
    token = lock.enter(who, word[:200])
    if token is None:
        view["sentence"] = "That is not the password of this server."
        return work.page(request, "login.html.j2", view, 401)
    gone = RedirectResponse("/", 303)
    gone.set_cookie(COOKIE, token, max_age=int(SESSION_S), httponly=True, samesite="strict", path="/",
                    secure=request.url.scheme == "https")  # fmt: skip
    return gone


async def logout(request: Request) -> Response:
    """Close the session."""
    if request.app.state.lock is not None:
        request.app.state.lock.leave(request.cookies.get(COOKIE, ""))
    gone = RedirectResponse("/login", 303)
    gone.delete_cookie(COOKIE)
    return gone
