"""Where the password is asked for, when the server answers beyond this computer."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from urllib.parse import parse_qsl, quote

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from ringwright.web.guard import own_page
from ringwright.web.password import MOST, SESSION_S, Lock
from ringwright.web.place_of_work import PlaceOfWork

__all__ = ["Door", "cookie_of", "login", "logout"]

ASKS, OPEN, STATIC = "/login", ("/login", "/alive"), "/static/"
TO = "to"
"""The field and the key in the address that say which page was asked for before the password."""
LONGEST_TO = 2000
_CHECKERS = ThreadPoolExecutor(2, thread_name_prefix="password")
"""A check is meant to be slow: many at once must not take the processor from those who are inside."""


def cookie_of(scope: Scope) -> str:
    """Name the session's cookie: with its port, as cookies of one computer's servers are one heap.

    Over an encrypted way no other server of the computer may set it.
    """
    port = (scope.get("server") or ("", ""))[1]
    return f"{'__Host-' if scope['scheme'] == 'https' else ''}ringwright_session_{port}"


class Door:
    """An ASGI layer that lets in those with a session; all others get the page that asks for the password."""

    def __init__(self, inner: ASGIApp, *, lock: Lock) -> None:
        self._inner, self._lock = inner, lock

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on a request of someone who has come in."""
        if scope["type"] != "http":
            await self._inner(scope, receive, send)
            return
        path: str = scope["path"]  # never the path of request.url, which is put together with the Host header
        if path in OPEN or path.startswith(STATIC) or self._lock.knows(_token(Request(scope))):
            await self._inner(scope, receive, send)
            return
        answer: Response = RedirectResponse(_asking(scope), 303)
        if path.startswith("/answer/") or Request(scope).headers.get("sec-fetch-mode", "navigate") != "navigate":
            answer = Response("The password is asked for first.\n", 401)  # a script's question, not a reader's
        await answer(scope, receive, send)


def _token(request: Request) -> str:
    return request.cookies.get(cookie_of(request.scope), "")


def _asking(scope: Scope) -> str:
    """Give the address of the page that asks for the password and then leads on to the page asked for."""
    query = scope["query_string"].decode("latin-1")
    to = quote(scope["path"], safe="/") + (f"?{query}" if query else "")
    if scope["method"] != "GET" or to == "/" or len(to) > LONGEST_TO:
        return ASKS
    return f"{ASKS}?{TO}={quote(to, safe='')}"


async def login(request: Request) -> Response:
    """Ask for the password, or check the one sent."""
    work, lock = PlaceOfWork.of(request), request.app.state.lock
    to = own_page(request.query_params.get(TO, "")[:LONGEST_TO])
    if lock is None or (request.method != "POST" and lock.knows(_token(request))):
        return RedirectResponse(to, 303)
    view = {"title": "Password", "sentence": "", "to": to}
    if request.method != "POST":
        return work.page(request, "login.html.j2", view)
    given = _form(await request.body())
    view["to"] = to = own_page(given.get(TO, "")[:LONGEST_TO])
    who = request.client.host if request.client else ""
    wait = lock.wait(who)
    if wait > 0:
        view["sentence"] = f"Too many wrong passwords. Try again in {wait:.0f} seconds."
        answer = work.page(request, "login.html.j2", view, 429)
        answer.headers["retry-after"] = f"{wait:.0f}"
        return answer
    token = await asyncio.get_running_loop().run_in_executor(
        _CHECKERS, lock.enter, who, given.get("password", "")[: MOST + 1]
    )
    if token is None:
        view["sentence"] = "That is not the password of this server."
        return work.page(request, "login.html.j2", view, 401)
    gone = RedirectResponse(to, 303)
    gone.set_cookie(cookie_of(request.scope), token, max_age=int(SESSION_S), httponly=True, samesite="strict", path="/",
                    secure=request.scope["scheme"] == "https")  # fmt: skip
    return gone


def _form(body: bytes) -> dict[str, str]:
    """Read the few fields of the form; none of what is no such form."""
    try:
        return dict(parse_qsl(body.decode("ascii"), keep_blank_values=True, max_num_fields=8))
    except ValueError:
        return {}


async def logout(request: Request) -> Response:
    """Close the session."""
    if request.app.state.lock is not None:
        request.app.state.lock.leave(_token(request))
    gone = RedirectResponse(ASKS, 303)
    gone.delete_cookie(cookie_of(request.scope), path="/", httponly=True, samesite="strict",
                       secure=request.scope["scheme"] == "https")  # fmt: skip
    return gone
