"""What holds for every page: no broken rule of access, no overflow, targets for a gloved finger, the content policy."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader
from tests.browser.visiting import axe, axe_in_both, opened, settle

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
OVER = "document.documentElement.scrollWidth - Math.ceil(document.documentElement.getBoundingClientRect().width)"
"""How far a page reaches beyond its width, which leaves the gutter of the scroll bar free."""
SPACED = """() => { const sheet = new CSSStyleSheet();
  sheet.replaceSync('*{line-height:1.5!important;letter-spacing:.12em!important;word-spacing:.16em!important}');
  document.adoptedStyleSheets = [sheet] }"""
WITHOUT_UNIT = """() => [...document.querySelectorAll('td.v, .gap > *, .part-number, output, dd')]
  .filter(one => one.checkVisibility() && /\\d/.test(one.textContent) && !/[a-z%°]/i.test(one.textContent))
  .map(one => one.closest('tr, li, a').textContent.replace(/\\s+/g, ' ').trim())
  .filter(row => !/friction|coefficient|over balloon tension/i.test(row))"""


def nameless(page):
    """Give what can have the focus and has no role or no name in the tree that a screen reader reads."""
    nodes = page.context.new_cdp_session(page).send("Accessibility.getFullAXTree")["nodes"]
    found = []
    for node in nodes:
        has = {one["name"]: one["value"].get("value") for one in node.get("properties", ())}
        role, name = (node.get(key, {}).get("value", "") for key in ("role", "name"))
        if has.get("focusable") and not node.get("ignored") and (role in {"", "none", "generic"} or not name):
            found.append((role, name, node.get("nodeId")))
    return found


def visit(page, served, name):
    page.goto(served.at(PAGES[name]))
    if name.startswith("bench") and name != "bench-refused":
        settle(page)
    elif name == "doff":
        page.wait_for_selector("#play:enabled")
    else:
        page.wait_for_load_state("networkidle")


@pytest.mark.parametrize("name", PAGES)
def test_a_page_breaks_no_rule_of_access_and_fits_its_screen_and_a_gloved_finger(browser, served, name):
    with opened(browser, STATUS.get(name, "none"), color_scheme="light") as page:
        visit(page, served, name)
        assert axe_in_both(page) == []
        assert nameless(page) == []
        assert page.evaluate(WITHOUT_UNIT) == []
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 900})
            page.wait_for_timeout(150)
            assert (width, page.evaluate(OVER)) <= (width, 0)
            assert (width, page.evaluate(SMALL)) == (width, [])
        page.set_viewport_size({"width": 320, "height": 900})  # four times as large on a screen of 1280
        page.evaluate(SPACED)  # letters, words and lines as far apart as a reader may set them
        assert page.evaluate(OVER) <= 0


@pytest.mark.parametrize("name", ["bench", "doff"])
def test_a_phone_has_no_broken_rule_of_access(browser, served, name):
    with opened(browser, viewport={"width": 390, "height": 800}) as page:
        visit(page, served, name)
        assert axe(page) == []


@pytest.mark.parametrize(("name", "sheets"), [("bench", 2), ("doff", 1), ("card", 1)])
def test_a_page_prints_on_few_sheets_black_on_white_from_a_dark_screen(browser, served, name, sheets):
    with opened(browser, color_scheme="dark") as page:
        visit(page, served, name)
        printed = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True, print_background=True)))
        assert len(printed.pages) == sheets
        wide, high = (float(printed.pages[0].mediabox[k]) for k in (2, 3))
        assert (wide > high) == (name != "card")
        page.emulate_media(media="print")
        ground, ink = page.evaluate(
            """() => { const of = getComputedStyle(document.documentElement);
            return [of.backgroundColor, of.getPropertyValue('--ink').trim()] }"""
        )
        assert (ground, ink) == ("rgb(255, 255, 255)", "#000")


def test_colours_chosen_by_the_reader_are_taken_by_drawings_and_marks(browser, served):
    with opened(browser, forced_colors="active", color_scheme="dark") as page:
        visit(page, served, "bench-two")
        seen = page.evaluate(
            """() => { const ink = getComputedStyle(document.querySelector('h1')).color;
            const line = document.querySelector("#sheet path[stroke='var(--ink)']");
            const track = document.querySelector('#s-traveller');
            return [ink, getComputedStyle(line).stroke, getComputedStyle(track).forcedColorAdjust,
              getComputedStyle(document.querySelector('nav [aria-current]')).borderBottomStyle] }"""
        )
        assert seen == [seen[0], seen[0], "none", "solid"]


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
