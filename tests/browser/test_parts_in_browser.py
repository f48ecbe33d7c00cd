"""The parts around the balloon as people use them: a value tried, a wrong one mended, the sheet on paper."""

from __future__ import annotations

from io import BytesIO

import pytest
from playwright.sync_api import expect
from pypdf import PdfReader
from tests.browser.test_every_page_in_browser import NAMELESS, SMALL
from tests.browser.visiting import axe, opened

from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.verbs.app import open_mill
from ringwright.workbench.parts.catalogue import PARTS, part_at

PAIR = "F1/AV30K"
TRIES = {  # a field, a value that changes the answer, one that cannot be used, and what is said of it
    "creel": ("brake", "6 mN m", "-1 mN m", "the brake is"),
    "separators": ("rate", "60", "many", "breaks"),
    "spindle": ("runout", "0.3 mm", "30 m", "run-out of the tube"),
    "drive": ("wharve", "16 mm", "0 mm", "Wharve"),
}


def words_of(content):
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(content)).pages).split())


def visit(page, served, key, query=""):
    page.goto(served.at(f"/parts/{key}/{PAIR}{query}"))
    expect(page.locator(".answer")).to_be_visible(timeout=20_000)


def test_the_list_leads_to_every_part_in_the_order_of_the_yarn(page, served):
    page.goto(served.at(f"/parts/{PAIR}"))
    names = page.locator(".lesson-list .row b").all_inner_texts()
    assert names == [part.name for part in PARTS.values()]
    page.get_by_role("link", name="Creel").first.click()
    expect(page.locator("h1")).to_have_text("Creel")


def test_the_drawing_leads_to_the_parts_own_page(page, served):
    page.goto(served.at(f"/bench/{PAIR}?part=spindle"))
    page.get_by_role("link", name="Spindle: its own page").click()
    expect(page.locator("h1")).to_have_text("Spindle")
    expect(page.locator("nav[aria-label=Parts] [aria-current]")).to_have_text("Spindle")


@pytest.mark.parametrize("key", TRIES)
def test_a_value_that_is_tried_changes_the_answer_and_stands_in_the_address(page, served, key):
    field, tried, _, _ = TRIES[key]
    visit(page, served, key)
    before = page.locator(".answer").inner_text()
    page.locator(f"#p-{field}").fill(tried)
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator(f"#p-{field}")).to_have_value(tried)
    expect(page.locator(".answer")).not_to_have_text(before, timeout=20_000)
    page.get_by_role("link", name="As the mill has it").click()
    expect(page.locator(".answer")).to_have_text(before, timeout=20_000)


@pytest.mark.parametrize("key", TRIES)
def test_what_cannot_be_used_is_told_by_its_field_and_nothing_typed_is_lost(browser, served, key):
    field, _, wrong, said = TRIES[key]
    with opened(browser, "422") as page:
        visit(page, served, key)
        page.locator(f"#p-{field}").fill(wrong)
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator(".faults")).to_contain_text(said, timeout=20_000)
        expect(page.locator(f"#p-{field}")).to_have_value(wrong)


@pytest.mark.parametrize("key", TRIES)
def test_the_sheet_on_paper_is_the_command_lines(page, served, key):
    visit(page, served, key)
    link = page.get_by_role("link", name="Print the sheet (PDF)").get_attribute("href")
    reply = page.request.get(served.at(link))
    mill = open_mill("demo")
    typed = {one.key: one.start(mill, "F1", "AV30K") for one in part_at(key).fields}
    made = sheet_pdf(part_at(key).sheet(mill, "F1", "AV30K", typed))
    assert words_of(reply.body()).partition("Made 2")[0] == words_of(made).partition("Made 2")[0]


@pytest.mark.parametrize("key", PARTS)
def test_a_part_breaks_no_rule_of_access_and_fits_a_phone(browser, served, key):
    for scheme, width in (("light", 1280), ("dark", 390)):
        with opened(browser, color_scheme=scheme, viewport={"width": width, "height": 800}) as page:
            visit(page, served, key)
            assert axe(page) == []
            assert page.evaluate(NAMELESS) == []
            assert page.evaluate(SMALL) == []
            assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0
