"""What the pages refuse: other hosts, other sites' forms, large bodies, strangers, and markup in what is typed."""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from typing import Any
from urllib.parse import quote, urlencode

import pytest
from click.testing import CliRunner
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route
from web_request import request, request_in_pieces

from ringwright.cli.main import ringwright
from ringwright.web.guard import BODY_MOST, Guard, host_name
from ringwright.web.login_page import cookie_of
from ringwright.web.password import Lock
from ringwright.web.server import make_app

OWN: dict[str, Any] = {"origin": "http://localhost:8733"}


@pytest.fixture(scope="module")
def app():
    return make_app("demo")


@pytest.fixture
def locked():
    return make_app("demo", lock=Lock("a good long word"))


@pytest.fixture
def echoing():
    async def length(asked: Request) -> PlainTextResponse:
        return PlainTextResponse(str(len(await asked.body())))

    inner = Starlette(routes=[Route("/", length, methods=["GET", "POST"])])
    return Guard(inner, hosts={"localhost"})


@pytest.mark.parametrize("path", ["/bench/F1/AV30K", "/nowhere", "/static/sheet.css", "/bench/F9/AV30K"])
def test_every_answer_carries_the_strict_policy(app, path):
    headers = request(app, path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"


def test_a_page_holds_no_script_and_no_style_of_its_own(app):
    text = request(app, "/bench/F1/AV30K").text
    assert re.findall(r"<script(?![^>]*\bsrc=)", text) == []
    assert "<style" not in text
    assert " style=" not in text
    assert re.findall(r"\son\w+=", text) == []


@pytest.mark.parametrize("host", ["evil.example", "localhost.evil.example:8733", "", "10.0.0.7"])
def test_another_host_name_is_not_answered(app, host):
    assert request(app, "/bench/F1/AV30K", host=host).status == 421


@pytest.mark.parametrize(
    ("host", "name"),
    [("localhost:8733", "localhost"), ("[::1]:8733", "::1"), ("[::1]", "::1"), ("LocalHost", "localhost")],
)
def test_the_name_in_a_host_header_is_read_without_its_port(host, name):
    assert host_name(host) == name


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://localhost:9999"},
        {"origin": "http://localhost:8733", "sec_fetch_site": "cross-site"},
        {"origin": "http://localhost:8733", "sec_fetch_site": "same-site"},
    ],
)
def test_a_form_of_another_site_is_refused(echoing, headers: dict[str, Any]):
    assert request(echoing, "/", method="POST", body=b"x", **headers).status == 403


def test_a_form_of_our_own_page_is_taken(echoing):
    assert request(echoing, "/", method="POST", body=b"four", **OWN, sec_fetch_site="same-origin").text == "4"


def test_a_body_that_says_it_is_too_large_is_refused_unread(echoing):
    assert request(echoing, "/", method="POST", body=b"x", content_length=str(BODY_MOST + 1), **OWN).status == 413


def test_a_body_that_does_not_say_its_length_is_cut_off_when_it_grows_too_large(echoing):
    pieces = [b"x" * (BODY_MOST // 2)] * 3
    assert request_in_pieces(echoing, "/", pieces, **OWN).status == 413


@pytest.mark.parametrize("place", ["traveller", "part", "u", "doff", "b_speed", "guide", "beside"])
def test_nothing_typed_becomes_markup(app, place):
    typed = quote("\"><script>alert(1)</script><img src=x onerror=alert(1)>'")
    for path in (f"/bench/F1/AV30K?{place}={typed}", f"/bench/{typed}/AV30K", f"/bench/F1/{typed}"):
        text = request(app, path).text
        assert "<script>alert" not in text
        assert "<img" not in text


@pytest.mark.parametrize(
    "name", ["../server.py", "%2e%2e/server.py", "..%2fserver.py", "server.py", "card-plain-400.ttf"]
)
def test_only_the_packages_own_page_files_are_given(app, name):
    assert request(app, f"/static/{name}").status == 404


def test_a_locked_server_shows_a_stranger_nothing_but_the_door(locked):
    assert request(locked, "/bench/F1/AV30K").headers["location"] == "/login?to=%2Fbench%2FF1%2FAV30K"
    assert request(locked, "/answer/place/F1/AV30K").status == 401
    assert "AV30K" not in request(locked, "/login").text


def test_the_right_password_opens_and_leaving_closes(locked):
    entered = request(locked, "/login", method="POST", body=b"password=a+good+long+word", **OWN)
    assert entered.status == 303
    cookie = entered.headers["set-cookie"]
    assert "httponly" in cookie.lower()
    assert "samesite=strict" in cookie.lower()
    session = cookie.split(";")[0]
    assert request(locked, "/bench/F1/AV30K", cookie=session).status == 200
    request(locked, "/logout", method="POST", cookie=session, **OWN)
    assert request(locked, "/bench/F1/AV30K", cookie=session).status == 303


def test_wrong_passwords_are_slowed_down_even_for_the_right_one(locked):
    tries = [request(locked, "/login", method="POST", body=b"password=guess", **OWN).status for _ in range(6)]
    assert tries == [401, 401, 401, 401, 401, 429]
    assert request(locked, "/login", method="POST", body=b"password=a+good+long+word", **OWN).status == 429


def test_the_lock_counts_tries_by_address_and_forgets_them_after_a_minute():
    now = [0.0]
    lock = Lock("a good long word", clock=lambda: now[0])
    for _ in range(5):
        assert lock.enter("one", "guess") is None
    assert lock.wait("one") == 60.0
    assert lock.wait("other") == 0.0
    now[0] = 60.0
    assert lock.wait("one") == 0.0
    token = lock.enter("one", "a good long word")
    assert token is not None
    assert lock.knows(token)
    now[0] += 12 * 3600
    assert not lock.knows(token)


def test_only_a_password_that_was_sent_counts_as_a_try(locked):
    assert {request(locked, "/login", method="HEAD", body=b"").status for _ in range(8)} == {200}
    assert request(locked, "/login", method="POST", body=b"password=a+good+long+word", **OWN).status == 303


def test_many_tries_at_once_do_not_get_past_the_count():
    lock = Lock("a good long word", clock=lambda: 0.0)
    checked: list[str] = []

    def hashed(_, word):
        checked.append(word)
        return b""

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Lock, "_hashed", hashed)
        with ThreadPoolExecutor(12) as pool:
            assert list(pool.map(lambda k: lock.enter("one", f"guess {k}"), range(12))) == [None] * 12
    assert len(checked) == 5


def test_guesses_from_everywhere_do_not_shut_out_those_who_were_inside():
    now = [0.0]
    lock = Lock("a good long word", clock=lambda: now[0])
    assert lock.enter("colleague", "a good long word")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Lock, "_hashed", lambda *_: b"")
        for k in range(60):
            lock.enter(f"far {k}", "guess")
    assert lock.wait("far 70") == 60.0
    assert lock.wait("colleague") == 0.0
    assert lock.enter("colleague", "a good long word")


def test_a_password_opens_however_its_letters_were_typed():
    lock = Lock("gute Wörter hier")
    assert lock.enter("one", "gute Wo\u0308rter hier")
    assert lock.enter("one", "gute Worter hier") is None


def test_a_session_ends_with_the_server_and_no_one_brings_ones_own():
    one, other = Lock("a good long word"), Lock("a good long word")
    token = one.enter("one", "a good long word")
    assert token
    assert not other.knows(token)
    assert not one.knows("")
    assert not one.knows("brought along \udcff")


@pytest.mark.parametrize(
    ("to", "way"),
    [
        ("/bench/F1/AV30K?speed=15000rpm&u=Ne", "/bench/F1/AV30K?speed=15000rpm&u=Ne"), ("//evil.example/", "/"),
        ("https://evil.example/", "/"), ("/\\evil.example", "/"), ("/\t/evil.example", "/"), ("javascript:x", "/"),
        ("", "/"), ("/\nx", "/"),
    ],
)  # fmt: skip
def test_the_password_leads_on_to_the_page_asked_for_and_nowhere_else(locked, to, way):
    body = urlencode({"password": "a good long word", "to": to}).encode()
    assert request(locked, "/login", method="POST", body=body, **OWN).headers["location"] == way


def test_a_link_leads_to_its_page_by_way_of_the_password(locked):
    asked = request(locked, "/bench/F1/AV30K?speed=15000rpm").headers["location"]
    page = request(locked, asked).text
    assert 'name="to" value="/bench/F1/AV30K?speed=15000rpm"' in page
    inside = request(locked, "/login", method="POST", body=b"password=a+good+long+word", **OWN)
    session = inside.headers["set-cookie"].split(";")[0]
    assert request(locked, asked, cookie=session).headers["location"] == "/bench/F1/AV30K?speed=15000rpm"


def test_a_script_is_told_that_the_password_is_asked_for(locked):
    assert request(locked, "/job/none", sec_fetch_mode="cors", sec_fetch_site="same-origin").status == 401
    assert request(locked, "/alive").status == 200


def test_two_servers_of_one_computer_do_not_share_a_session():
    names = {cookie_of({"scheme": "http", "server": ("h", port)}) for port in (8733, 8734)}
    assert len(names) == 2
    assert cookie_of({"scheme": "https", "server": ("h", 1)}).startswith("__Host-")


def test_an_encrypted_server_takes_no_form_of_an_open_page(echoing):
    for scheme, origin, status in (("https", "http", 403), ("https", "https", 200), ("http", "https", 200)):
        given: dict[str, Any] = {"origin": f"{origin}://localhost:8733"}
        assert request(echoing, "/", method="POST", body=b"x", scheme=scheme, **given).status == status


def test_the_password_itself_is_not_kept():
    lock = Lock("a good long word")
    assert "a good long word" not in repr(lock)
    assert lock.password == ""


def test_an_open_address_without_a_password_is_refused_in_a_sentence():
    everywhere = "0.0.0.0"  # noqa: S104
    for environment in ({}, {"RINGWRIGHT_PASSWORD": "short"}, {"RINGWRIGHT_PASSWORD": "x" * 201}):
        done = CliRunner().invoke(ringwright, ["serve", "--host", everywhere, "--port", "0"], env=environment)
        assert done.exit_code == 1
        assert everywhere in str(done.exception)
        assert "at least 10" in str(done.exception)


def test_a_port_that_is_taken_is_told_in_a_sentence():
    import socket  # noqa: PLC0415

    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        port = holder.getsockname()[1]
        done = CliRunner().invoke(ringwright, ["serve", "--port", str(port)])
    assert done.exit_code == 1
    assert f"port {port}" in str(done.exception)
