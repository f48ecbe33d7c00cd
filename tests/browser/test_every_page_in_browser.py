"""What holds for every page: no broken rule of access, no overflow, targets for a gloved finger, the content policy."""

from __future__ import annotations

import pytest
from tests.browser.visiting import axe, opened, settle

PAGES = {
    "bench": "/bench/F1/AV30K?part=ring",
    "bench-two": "/bench/F1/AV30K?part=balloon&b=1&b_traveller=40%20mg&traveller=12%20mg",
    "bench-refused": "/bench/F1/AV30K?part=ring&speed=60000%20rpm",
    "doff": "/doff/F1/AV30K?beside=guide",
    "card": "/card/F4/AV60C",
    "refused": "/bench/F9/AV30K",
    "missing": "/nowhere",
}
STATUS = {"refused": "422", "missing": "404"}
WIDTHS = (320, 390, 820, 1280, 1920)
SMALL = """() => [...document.querySelectorAll('a, button, select, input:not([type=hidden]), [tabindex]')]
  .filter(one => one.checkVisibility() && !one.closest('.skip') && one.type !== 'radio' && !one.closest('p.words'))
  .map(one => [one, (one.closest('label') ?? one).getBoundingClientRect()])
  .filter(([, box]) => box.width > 0 && (box.height < 43.5 || box.width < 43.5))
  .map(([one, box]) => `${one.tagName} ${one.textContent.trim().slice(0, 20)} ${box.width}x${box.height}`)"""
NAMELESS = """() => [...document.querySelectorAll('a, button, select, input:not([type=hidden]), [tabindex]')]
  .filter(one => one.checkVisibility() && one.ariaLabel === null && !(one.labels?.length) && !one.textContent.trim())
  .map(one => one.outerHTML.slice(0, 100))"""


def visit(page, served, name):
    page.goto(served.at(PAGES[name]))
    if name.startswith("bench") and name != "bench-refused":
        settle(page)
    elif name == "doff":
        page.wait_for_selector("#play:enabled")
    else:
        page.wait_for_load_state("networkidle")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", PAGES)
def test_a_page_breaks_no_rule_of_access(browser, served, name, scheme):
    with opened(browser, STATUS.get(name, "none"), color_scheme=scheme) as page:
        visit(page, served, name)
        assert axe(page) == []
        assert page.evaluate(NAMELESS) == []


@pytest.mark.parametrize("name", PAGES)
def test_a_page_fits_its_screen_and_a_gloved_finger(browser, served, name):
    with opened(browser, STATUS.get(name, "none"), viewport={"width": WIDTHS[0], "height": 900}) as page:
        visit(page, served, name)
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 900})
            page.wait_for_timeout(150)
            over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            assert (width, over) <= (width, 0)
            assert (width, page.evaluate(SMALL)) == (width, [])


@pytest.mark.parametrize("name", ["bench", "doff"])
def test_a_phone_has_no_broken_rule_of_access(browser, served, name):
    with opened(browser, viewport={"width": 390, "height": 800}) as page:
        visit(page, served, name)
        assert axe(page) == []


def test_every_focus_can_be_seen(page, served):
    visit(page, served, "bench")
    unseen = []
    for _ in range(40):
        page.keyboard.press("Tab")
        shown = page.evaluate(
            """() => { const one = document.activeElement, style = getComputedStyle(one);
            const inner = one.querySelector?.('rect');
            return style.outlineStyle !== 'none' || (inner && getComputedStyle(inner).strokeWidth === '3px')
              ? '' : one.outerHTML.slice(0, 80) }"""
        )
        if shown:
            unseen.append(shown)
    assert unseen == []
