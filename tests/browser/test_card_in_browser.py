"""The card page: the same document as the command line's."""

from __future__ import annotations

import io

import pypdf
from playwright.sync_api import expect

from ringwright.report.card_pdf import card_pdf
from ringwright.verbs import app


def words_of(pdf):
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


def test_the_card_is_shown_and_its_pdf_says_what_the_command_lines_pdf_says(page, served):
    page.goto(served.at("/card/F1/AV30K?traveller=42%20mg"))
    sheet = page.frame_locator("iframe.sheet")
    expect(sheet.locator("h1")).to_contain_text("F1")
    assert sheet.locator("body").evaluate("one => getComputedStyle(one).fontFamily").startswith('"Sofia Sans"')
    link = page.get_by_role("link", name="Print card (PDF)").get_attribute("href")
    reply = page.request.get(served.at(link))
    assert reply.headers["content-type"] == "application/pdf"
    assert words_of(reply.body()) == words_of(card_pdf(app.card("demo", "F1", "AV30K", app.trial(traveller="42 mg"))))


def test_the_card_of_what_was_moved_on_the_bench_is_one_press_away(page, served):
    page.goto(served.at("/bench/F1/AV30K"))
    page.get_by_label("Traveller mass: more").click()
    expect(page.locator("#setting-a")).to_contain_text("45.5")
    page.get_by_role("link", name="Card").click()
    expect(page.frame_locator("iframe.sheet").locator(".five")).to_contain_text("45.5")
