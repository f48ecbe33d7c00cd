"""What pays in a real browser: answered when opened, asked again, printed, counts from a file, a search stopped."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect
from tests.browser.visiting import axe, axe_in_both, opened

pytestmark = pytest.mark.browser
LONG = 60_000
COUNTS = b"speed (rpm), breaks, spindle hours\n15000, 90, 8000\n16000, 240, 8000\n16800, 490, 8000\n"


def test_a_search_tells_its_progress_and_gives_the_best_so_far_when_stopped(browser, served):
    with opened(browser) as page:
        page.goto(served.at("/better/improve/F1/AV30K"))
        page.get_by_role("button", name="Seek").click()
        expect(page.locator("#job-words")).to_contain_text(re.compile(r"\d+ candidates"), timeout=LONG)
        page.get_by_role("button", name="Stop").click()
        expect(page.locator("main")).to_contain_text("this is the best so far", timeout=LONG)
        expect(page.locator(".answered")).to_contain_text("stopped by hand")
        assert page.locator(".answered svg").count() >= 1
        reply = page.request.get(served.at(page.get_by_role("link", name=re.compile("Print")).get_attribute("href")))
        assert reply.headers["content-type"] == "application/pdf"
        page.get_by_role("link", name="mm, show in").click()  # the search is not begun again for another unit
        expect(page.locator(".answered")).to_contain_text(re.compile(r"\d\sin"))
        expect(page.locator("#job-words")).to_have_count(0)
        assert axe(page) == []


def test_an_answer_stands_there_when_opened_and_a_wrong_field_keeps_its_words(browser, served):
    with opened(browser, "422") as page:
        page.goto(served.at("/better/energy/F1/AV30K"))
        expect(page.locator(".answered table").nth(1)).to_contain_text("balloon in the air", timeout=LONG)
        traveller = page.get_by_label("Traveller", exact=True)
        traveller.fill("a heavy one")
        page.get_by_role("button", name="Work it out").click()
        expect(page.get_by_role("alert")).to_contain_text('Traveller is "a heavy one"')
        expect(traveller).to_have_value("a heavy one")
        expect(traveller).to_have_attribute("aria-invalid", "true")
        assert axe(page) == []
        traveller.fill("0.04 g")
        traveller.press("Enter")
        expect(page.locator(".answered")).to_contain_text("40\u202fmg", timeout=LONG)
        page.get_by_role("link", name="Compare").click()
        expect(page.get_by_label("Frame of B")).to_have_value("F3")
        expect(page.locator(".answered")).to_contain_text("B less A", timeout=LONG)
        with page.expect_download() as kept:
            page.get_by_role("link", name="Keep it").click()
        assert kept.value.suggested_filename == "F1-AV30K-compare.html"


def test_counts_come_from_a_file_and_stay_in_the_address(browser, served):
    with opened(browser) as page:
        page.goto(served.at("/better/breaks/F1/AV30K"))
        page.get_by_label("Main speed").fill("16500 rpm")
        page.get_by_label("Or a file").set_input_files({"name": "c.csv", "mimeType": "text/csv", "buffer": COUNTS})
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator(".answered")).to_contain_text("by regression", timeout=LONG)
        expect(page.get_by_label("Counts of breaks")).to_have_value(COUNTS.decode().strip())
        assert "counts=" in page.url
        assert "speed=16500" in page.url
        page.reload()
        expect(page.locator(".answered")).to_contain_text("by regression", timeout=LONG)


def test_a_page_of_what_pays_breaks_no_rule_and_fits_every_screen(browser, served):
    paths = ("course/F1/AV30K", "compare/F1/AV30K", "cost/F1/AV30K?traveller=heavy", "calibrate/F1/AV30K")
    with opened(browser, "422", color_scheme="light") as page:
        for path in paths:
            page.goto(served.at(f"/better/{path}"))
            for width in (320, 390, 820, 1920):
                page.set_viewport_size({"width": width, "height": 900})
                over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
                assert over <= 0, f"{path}, {width} px wide"
                if width in {390, 1920}:
                    assert axe_in_both(page) == [], f"{path}, {width} px wide"
