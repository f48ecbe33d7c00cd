"""A served demo mill and Debian's Chromium, for every test of a page."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, sync_playwright
from tests.browser.visiting import CHROMIUM, QUIET, Served, opened


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if not CHROMIUM:
        pytest.skip("no Chromium on this machine (Debian: apt-get install chromium)")
    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def served(browser: Browser) -> Iterator[Served]:  # noqa: ARG001 - without a browser there is nothing to serve
    server = Served()
    yield server
    server.stop()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    with opened(browser) as one:
        yield one
