"""Ask the pages without a browser: a request straight to the application, and the form of a page filled and sent."""

from __future__ import annotations

import asyncio
import re
from collections.abc import MutableMapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urlencode

from starlette.applications import Starlette

from ringwright.web.server import make_app

OWN = {"host": "localhost", "origin": "http://localhost"}


@dataclass
class Answer:
    """What came back."""

    status: int
    headers: dict[str, str]
    text: str

    @property
    def words(self) -> str:
        """The words of the page, without its elements."""
        parser = _Words()
        parser.feed(self.text)
        return re.sub(r"\s+", " ", " ".join(parser.found)).replace("\u202f", " ")

    @property
    def form(self) -> dict[str, str]:
        """The fields of the page's form as a browser would send them; radios only where one is checked."""
        parser = _Form()
        parser.feed(self.text)
        return parser.fields

    def beside(self, key: str) -> str:
        """The sentence beside the field of a key; "" without one."""
        name = "k-" + "".join(s if s.isascii() and s.isalnum() else f"_{ord(s):x}_" for s in key)
        found = re.search(rf'<p class="fault" id="e-{name}"[^>]*>(.*?)</p>', self.text, re.DOTALL)
        assert found, f"the page has no field {key}"
        parser = _Words()
        parser.feed(found[1])
        return "".join(parser.found)


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_data(self, data: str) -> None:
        self.found.append(data)


class _Form(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.fields: dict[str, str] = {}
        self._name, self._text, self._select = "", "", ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        if tag == "input" and "name" in given and (given.get("type") != "radio" or "checked" in given):
            self.fields[given["name"]] = given.get("value", "")
        elif tag == "select":
            self._select = given["name"]
        elif tag == "option" and self._select and "selected" in given:
            self._name, self._text = self._select, ""
            if "value" in given:
                self.fields[self._select], self._name = given["value"], ""
        elif tag == "textarea":
            self._name, self._text = given["name"], ""

    def handle_data(self, data: str) -> None:
        self._text += data

    def handle_endtag(self, tag: str) -> None:
        if tag in {"option", "textarea"} and self._name:
            self.fields[self._name], self._name = self._text.removeprefix("\n"), ""
        elif tag == "select":
            self._select = ""


@dataclass
class Pages:
    """The pages of one mill."""

    where: str
    app: Starlette = field(init=False)

    def __post_init__(self) -> None:
        self.app = make_app(self.where)

    def get(self, path: str) -> Answer:
        return self.ask("GET", path)

    def send(self, path: str, fields: dict[str, str], **changed: str) -> Answer:
        return self.ask("POST", path, urlencode(fields | changed).encode())

    def ask(self, method: str, path: str, body: bytes = b"", headers: dict[str, str] | None = None) -> Answer:
        return asyncio.run(self._ask(method, path, body, OWN if headers is None else headers))

    async def _ask(self, method: str, path: str, body: bytes, headers: dict[str, str]) -> Answer:
        sent: list[MutableMapping[str, Any]] = []
        waiting: list[MutableMapping[str, Any]] = [{"type": "http.request", "body": body, "more_body": False}]
        name, _, query = path.partition("?")

        async def receive() -> MutableMapping[str, Any]:
            return waiting.pop() if waiting else {"type": "http.disconnect"}

        async def send(message: MutableMapping[str, Any]) -> None:
            sent.append(message)

        scope = {
            "type": "http", "http_version": "1.1", "method": method, "path": name, "raw_path": name.encode(),
            "query_string": query.encode(), "root_path": "", "scheme": "http", "client": ("127.0.0.1", 1),
            "server": ("localhost", 80), "asgi": {"version": "3.0"},
            "headers": [(key.encode(), value.encode()) for key, value in headers.items()]
            + ([(b"content-length", str(len(body)).encode())] if "content-length" not in headers else []),
        }  # fmt: skip
        await self.app(scope, receive, send)
        first = sent[0]
        found = {key.decode(): value.decode() for key, value in first["headers"]}
        whole = b"".join(message.get("body", b"") for message in sent[1:])
        return Answer(first["status"], found, whole.decode())
