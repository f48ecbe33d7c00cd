"""A served demo mill, Debian's Chromium, and a page that tells what must not happen on any of them."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, Page, expect

HERE = Path(__file__).parent
AXE = (HERE / "axe.min.js").read_text(encoding="utf-8")
PATIENCE_MS = 20_000
"""How long a page may take on a machine at work; only a test that fails waits so long."""
COLOURS = ["color-contrast", "link-in-text-block"]
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), ""
)
QUIET = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip

expect.set_options(timeout=PATIENCE_MS)


class Served:
    """A server in a process of its own, which can be stopped and started again at the same port."""

    def __init__(self, mill: str = "demo", *more: str) -> None:
        self.words = [sys.executable, "-m", "ringwright", "serve", mill, *more]
        self.port = 0
        self.process = self.start()

    def start(self) -> subprocess.Popen[str]:
        self.process = subprocess.Popen(  # noqa: S603 - it is our own server
            [*self.words, "--port", str(self.port)],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL,
            text=True,
            env=os.environ | {"PYTHONUNBUFFERED": "1"},
        )
        assert self.process.stdout is not None
        said = self.process.stdout.readline()
        found = re.search(r"http://[^/]*:(\d+)/", said)
        assert found, f"the server said {said!r}"
        self.port = int(found[1])
        return self.process

    def stop(self) -> None:
        self.process.terminate()
        self.process.communicate(timeout=15)

    def at(self, path: str) -> str:
        return f"http://localhost:{self.port}{path}"


class Seen:
    """What a page said and asked for while it was open."""

    def __init__(self, page: Page) -> None:
        self.errors: list[str] = []
        self.hosts: set[str] = set()
        self.allowed: tuple[str, ...] = ()
        page.on("console", lambda message: self.errors.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("request", lambda request: self.hosts.add(urlsplit(request.url).hostname or "data"))

    def check(self) -> None:
        assert self.hosts <= {"localhost", "data"}, "a page asked another host"
        wrong = [error for error in self.errors if not any(word in error for word in self.allowed)]
        assert wrong == []


@contextmanager
def opened(browser: Browser, *allowed: str, **settings: Any) -> Iterator[Page]:
    """Open a page, and check afterwards that it said no error and asked no other host."""
    context = browser.new_context(**({"viewport": {"width": 1440, "height": 900}} | settings))
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    seen = Seen(page)
    seen.allowed = allowed
    try:
        yield page
        seen.check()
    finally:
        context.close()


def axe(page: Page) -> list[str]:
    """Give the accessibility rules broken on a page, with the place of the first element."""
    return _broken(page, {"type": "tag", "values": RULES})


def axe_in_both(page: Page) -> list[str]:
    """Give the rules broken as the page is shown, and those of colour in the dark: nothing else differs there."""
    shown = axe(page)
    page.emulate_media(color_scheme="dark")
    dark = _broken(page, {"type": "rule", "values": COLOURS})
    page.emulate_media(color_scheme="light")
    return [*shown, *(f"in the dark, {one}" for one in dark)]


def _broken(page: Page, only: dict[str, Any]) -> list[str]:
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE)
    found = page.evaluate("only => axe.run(document, {runOnly: only})", only)
    return [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found["violations"]]


def settle(page: Page) -> None:
    """Wait until the page's answers have come."""
    expect(page.locator("body")).to_have_attribute("data-fresh", "yes", timeout=15_000)
    expect(page.locator("[aria-busy=true]")).to_have_count(0, timeout=15_000)
    expect(page.locator("#doff svg")).to_be_visible(timeout=15_000)
    expect(page.locator("#rooms .walls")).to_be_visible(timeout=15_000)


def first_number(words: str, pattern: str = r"([\d.]+)") -> float:
    """Give the first number of a text, or the one that a pattern's group finds."""
    found = re.search(pattern, words)
    assert found, f"no number in {words!r}"
    return float(found[1])
