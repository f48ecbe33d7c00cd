"""Every address of the pages is asked hostile questions; a route that is not in the table below fails the test."""

from __future__ import annotations

import json
import os
import re
from html.parser import HTMLParser
from itertools import count
from typing import Any
from urllib.parse import quote, urlencode

import pytest
from starlette.routing import Route
from web_request import Reply, request, request_in_pieces, requests_of

from ringwright.verbs import app as verbs
from ringwright.web.guard import BODY_MOST
from ringwright.web.jobs import RUNNING, Jobs
from ringwright.web.password import Lock
from ringwright.web.server import make_app

OWN = {"origin": "http://localhost:8733", "content_type": "application/x-www-form-urlencoded"}
GOOD = {
    "frame": "F1", "yarn": "Y30", "key": "traveller", "part": "spindle", "question": "compare", "kind": "yarn",
    "name": "Y30",
}  # fmt: skip
"""What stands in an address of the starter's mill; a new name of a part of an address must be told here."""
TRIED = (
    "traveller", "speed", "friction", "control_diameter", "control_height", "guide_height", "guide_lift", "guide",
    "control_ring", "b", "b_traveller", "b_guide_lift", "doff", "chase", "part", "u",
)  # fmt: skip
FLOOR = ("question", "frame", "stamped", "ticked", "back", "again", "all")
KEYS: dict[str, tuple[str, ...]] = {
    "/": ("pair", "page"),
    "/bench/{frame}/{yarn}": (*TRIED, "wait"),
    "/answer/place/{frame}/{yarn}": (*TRIED, "m"),
    "/answer/doff/{frame}/{yarn}": (*TRIED, "w"),
    "/answer/rooms/{frame}/{yarn}": TRIED,
    "/answer/ends/{frame}/{yarn}": TRIED,
    "/doff/{frame}/{yarn}": (*TRIED, "beside", "minute"),
    "/doff/{frame}/{yarn}/report.pdf": TRIED,
    "/answer/player/{frame}/{yarn}": (*TRIED, "beside", "minute"),
    "/lessons/{frame}/{yarn}": ("u",),
    "/lesson/{key}/{frame}/{yarn}": ("at", "u"),
    "/lesson/{key}/{frame}/{yarn}/lesson.pdf": ("at",),
    "/answer/lesson/{key}/{frame}/{yarn}": ("at", "u"),
    "/card/{frame}/{yarn}": TRIED,
    "/card/{frame}/{yarn}/card.pdf": TRIED,
    "/card/{frame}/{yarn}/sheet": TRIED,
    "/parts": (),
    "/parts/{frame}/{yarn}": ("u",),
    "/parts/centring/{frame}/{yarn}": ("round", "readings", "name", "when", "by", "note", "act", "spindle", "first"),
    "/parts/centring/{frame}/{yarn}/sheet.pdf": ("readings", "name", "when", "by", "note", "act"),
    "/parts/{part}/{frame}/{yarn}": ("speed", "wharves", "readings", "mass", "offset"),
    "/parts/{part}/{frame}/{yarn}/sheet.pdf": ("speed", "wharves", "readings", "mass", "offset"),
    "/mill": ("gone",),
    "/mill-entries": ("what", "act", "kind", "name", "new", "version"),
    "/mill/{kind}": ("saved", "act", "version", "shown", "w:mill.name", "v:mill.name", "m:x", "c:x"),
    "/mill/{kind}/{name}": ("saved", "act", "version", "shown", "w:yarn.Y30.count", "v:yarn.Y30.count"),
    "/static/{name}": ("v",),
    "/better/{frame}/{yarn}": (),
    "/better/{question}/{frame}/{yarn}": ("ask", "with", "steps", "rate", "traveller", "speed", "again", "u"),
    "/better/{question}/{frame}/{yarn}/sheet.pdf": ("ask", "with", "steps", "rate", "traveller", "u"),
    "/better/{question}/{frame}/{yarn}/sheet.html": ("ask", "with", "steps", "rate", "traveller", "u"),
    "/better/{question}/{frame}/{yarn}/keep": ("ask", "with", "readings"),
    "/worklist": FLOOR,
    "/worklist/list.pdf": FLOOR,
    "/worklist/history": FLOOR,
    "/worklist/tick": ("key", "note", "by", "when"),
    "/worklist/untick": ("key", "note", "by"),
    "/worklist/anew": FLOOR,
    "/study": FLOOR,
    "/study/report.pdf": FLOOR,
    "/trial": ("frame", "yarn", "shared", "own", "arms", "from", "again", "asked"),
    "/trial/plan.pdf": ("frame", "yarn", "shared", "own", "arms", "from"),
    "/trial/judge": ("table", "name", "change", "from", "example", "asked"),
    "/trial/judge/verdict.pdf": ("table", "name", "change", "from", "example"),
    "/rounds": ("back", "frame"),
    "/rounds/back": ("key", "name", "why", "by"),
    "/job/{name}": (),
    "/job/{name}/stop": ("back",),
    "/alive": (),
    "/login": ("to", "password"),
    "/logout": (),
}
MARKUP = "\"'><zz onzz=1></style></script></textarea>"
HOSTILE = (
    MARKUP, "", " ", "%", "%zz", "%00", "\x00", "\r\nset-cookie: a=b", "{{7*7}}{% raw %}${1}", "=1+1", "#set page()",
    "../../etc/passwd", "..", "//evil.example/", "/\\evil.example", "nan", "inf mg", "-1e999 mm", "1e308 rpm", "1e-320",
    "٣٤ mg", "²", "\u202e\u2028\ufeff", "\U0001f9f5 mg", "a" * 5000, "\ud800", "40 mg;drop", "1_0", "0x10", "9" * 400,
)  # fmt: skip


@pytest.fixture(scope="module")
def mill(tmp_path_factory):
    return str(verbs.init(str(tmp_path_factory.mktemp("hostile") / "mill")))


@pytest.fixture(scope="module")
def apps(mill, tmp_path_factory):
    """Two servers: one with a store, and one without, which remembers what it was asked."""
    made = [make_app(mill, store=store) for store in ("", str(tmp_path_factory.mktemp("store")))]
    with pytest.MonkeyPatch.context() as patch:
        # a question that is asked must be taken; minutes of searching are not what is tried here
        patch.setattr(Jobs, "_start", lambda _, job: setattr(job, "state", RUNNING))
        patch.setattr("ringwright.web.jobs.WAITING_MOST", 1_000_000)
        yield made
    for one in made:
        one.state.work.background.close()


@pytest.fixture
def app(apps, request):
    path = request.node.callspec.params["path"] if hasattr(request.node, "callspec") else ""
    return apps[path.startswith(("/worklist", "/study", "/rounds", "/trial"))]


def routes():
    return {route.path: route for route in make_app("demo").routes if isinstance(route, Route)}


def test_every_route_is_in_the_table():
    assert set(routes()) == set(KEYS)
    assert {name for route in routes().values() for name in route.param_convertors} == set(GOOD)


class _Elements(HTMLParser):
    """The elements and attributes that a browser would see."""

    def __init__(self, text):
        super().__init__()
        self.found = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.found += [tag, *(name for name, _ in attrs)]
        self.found += [f"{tag} goes to {value}" for name, value in attrs if name in {"href", "src", "action"} and value
                       and not re.match(r"(/(?![/\\])|\?|#|data:image/)", value)]  # fmt: skip


def check(reply: Reply, asked: str) -> None:
    """Hold an answer against what every answer must be."""
    kind = reply.headers.get("content-type", "")
    assert reply.status < 500, asked
    assert "content-security-policy" in reply.headers, asked
    assert re.match(r'(ringwright_session_8733="";.*)?$', reply.headers.get("set-cookie", "")), asked
    way = reply.headers.get("location", "").removeprefix(
        "http://localhost:8733"
    )  # told whole where a slash is too many
    assert re.fullmatch(r"(/(?![/\\])[^\\\s]*)?", way), asked
    assert b"Traceback (most recent" not in reply.body, asked
    if kind.startswith("application/json"):
        found = json.loads(reply.body)
        pieces = [*found.get("html", {}).values(), *found.get("pieces", {}).values()] if isinstance(found, dict) else []
        html = "".join(one for one in pieces if isinstance(one, str))
    else:
        html = reply.text if kind.startswith("text/html") else ""
    seen = _Elements(html).found
    assert [one for one in seen if one == "zz" or one.startswith("on") or " goes to " in one] == [], asked


def asked_of(path, methods, every_word):
    """Give what a route is asked: method, address, body; each route its share of the hostile words, or all of them."""
    names, keys = re.findall(r"{(\w+)}", path), KEYS[path]
    places = [*names, *(keys or ("x",))]
    turn = count(list(KEYS).index(path))
    words = HOSTILE if every_word else [MARKUP, *(HOSTILE[next(turn) % len(HOSTILE)] for _ in places)]
    for method in sorted(methods & {"GET", "POST"}):
        for word in words:
            # all places hostile at once would tell little: the first is refused, and the others are not read
            for place in places if every_word else [places[next(turn) % len(places)]]:
                given = quote(word, safe="", errors="surrogatepass")
                at = path.format(**GOOD | ({place: given} if place in names else {}))
                query = f"{quote(place, safe=':')}={given}"
                yield (method, f"{at}?{query}", b"") if method == "GET" else (method, at, query.encode())
        at = path.format(**GOOD)
        for name in names:  # markup in each part of the address
            yield method, path.format(**GOOD | {name: quote(MARKUP, safe="")}), b""
        for key in keys:  # a digit to some of Python's questions, and none to the others
            query = f"{quote(key, safe=':')}=%C2%B2"
            yield (method, f"{at}?{query}", b"") if method == "GET" else (method, at, query.encode())
        for raw in (urlencode([(key, MARKUP) for key in keys], quote_via=quote), "&=&=;%", "a=%ff%fe&%ff=1"):
            yield (method, f"{at}?{raw}", b"") if method == "GET" else (method, at, raw.encode())
        if method == "POST":
            yield method, at, b"&".join(b"k%d=1" % k for k in range(6000))


@pytest.mark.parametrize("path", KEYS)
def test_a_hostile_question_is_answered_in_plain_words(app, path):
    methods = routes()[path].methods
    asked = list(asked_of(path, methods, every_word="RINGWRIGHT_EVERY_WORD" in os.environ))
    replies = requests_of(app, [(*one, OWN if one[0] == "POST" else {}) for one in asked])
    for reply, one in zip(replies, asked, strict=True):
        check(reply, f"{one}")


@pytest.mark.parametrize("path", [path for path, route in routes().items() if "POST" in route.methods])
def test_a_form_that_is_no_form_of_ours_is_refused(app, path):
    at = path.format(**GOOD)
    assert request(app, at, method="POST", body=b"x=1").status == 403
    assert request(app, at, method="POST", body=b"x=1", origin="http://[::1").status == 403
    assert request(app, at, method="POST", body=b"x=1", **OWN, sec_fetch_site="same-site").status == 403
    wrong = (
        b"\xff\xfe", b"\x00" * 50, b"--x\r\n", b"--x--\r\n",
        b'--x\r\ncontent-disposition: form-data; name="file"; filename="a"\r\n',
        b'--x\r\ncontent-disposition: form-data; name="readings"\r\n\r\n\xff\xfe\r\n--x--\r\n',
    )  # fmt: skip
    kinds = (
        "multipart/form-data; boundary=x", "multipart/form-data", "multipart/form-data; boundary=x; charset=none",
        "application/x-www-form-urlencoded", "text/plain", "\xff", "",
    )  # fmt: skip
    for body, kind in {
        *zip(wrong, kinds, strict=False),
        *((body, kinds[0]) for body in wrong),
        *((wrong[0], one) for one in kinds),
    }:
        check(request(app, at, method="POST", body=body, **(OWN | {"content_type": kind})), f"{at} {kind} {body!r}")
    big = request_in_pieces(app, at, [b"a=" + b"x" * (BODY_MOST // 2)] * 3, **OWN)
    assert big.status in {303, 404, 413, 422}, at  # what has no use for a body does not read it


def test_a_body_that_grows_past_the_limit_is_told_and_not_read_on(app):
    reply = request_in_pieces(app, "/mill/yarn/Y30", [b"x" * (BODY_MOST // 2)] * 3, **OWN)
    assert reply.status == 413
    assert f"at most {BODY_MOST} bytes" in reply.text


def test_a_stranger_sees_nothing_at_any_address(mill):
    locked = make_app(mill, lock=Lock("a good long word"))
    for path, route in routes().items():
        at = path.format(**GOOD)
        for method in sorted(route.methods):
            reply = request(
                locked, at, method=method, body=b"x=1" if method == "POST" else b"", **(OWN if method == "POST" else {})
            )
            if path in {"/login", "/alive", "/static/{name}"}:
                continue
            assert reply.status in {303, 401}, (method, at)
            assert reply.headers.get("location", "/login").startswith("/login"), (method, at)
            assert "Y30" not in reply.text
    for path in routes():
        at = path.format(**GOOD)
        for host in (
            "localhost:8733/login?",
            "localhost:1/static/x#",
            "localhost:8733@localhost",
            "localhost\\login:1",
        ):
            assert request(locked, at, host=host).status == 421


@pytest.mark.parametrize("path", KEYS)
def test_a_page_of_another_site_may_lead_here_but_use_nothing(app, path):
    if "GET" not in routes()[path].methods:
        return
    at = path.format(**GOOD)
    for kind in ("image", "script", "iframe", "empty"):
        mode = "navigate" if kind == "iframe" else "no-cors"
        reply = request(app, at, sec_fetch_site="cross-site", sec_fetch_mode=mode, sec_fetch_dest=kind)
        assert reply.status == 403, (at, kind)


def test_a_link_in_a_letter_still_opens_its_page(app):
    given: dict[str, Any] = {"sec_fetch_site": "cross-site", "sec_fetch_mode": "navigate", "sec_fetch_dest": "document"}
    assert request(app, "/bench/F1/Y30", **given).status == 200
