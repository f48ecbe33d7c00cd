"""The lessons as a teacher and a trainee use them: moved, sent, presented, printed, and read without a mouse."""

from __future__ import annotations

import re
from io import BytesIO
from urllib.parse import quote

import pytest
from playwright.sync_api import expect
from pypdf import PdfReader
from tests.browser.visiting import axe, axe_in_both, first_number, opened

from ringwright.lessons.catalogue import LESSONS

PAIR = "F1/AV30K"
MOVES = {  # the number that must change, and a value that changes it
    "lappet": ("Tension at the triangle, lowest", "40 mm"),
    "control-ring": ("Balloon, largest radius", "60 mm"),
    "traveller": ("Winding tension, highest", "56 mg"),
    "bare-tube": ("Winding tension", "30 %"),
    "separator": ("Neighbour's balloon, largest radius", "28 mg"),
    "off-centre": ("Bare tube, it swings by", "0.02 mm"),
    "creel-brake": ("Highest tension", "3 mN m"),
    "wharve": ("Pull for one wharve", "16 mm"),
    "belts": ("Pull that adds up on one belt", "8"),
    "spindle-oil": ("Sweep of the tip passing it, full cop", "12 mm2/s"),
}


def visit(page, served, key, query=""):
    page.goto(served.at(f"/lesson/{key}/{PAIR}{query}"))
    fresh(page)


def fresh(page):
    expect(page.locator("body")).to_have_attribute("data-fresh", "yes", timeout=15_000)


def number(page, name, column=2):
    row = page.locator("#findings tr").filter(has=page.get_by_role("rowheader", name=name))
    return first_number(row.locator("td").nth(column - 1).inner_text().replace("\u202f", ""))


def field(page, key):
    return page.get_by_label(LESSONS[key].control.name, exact=False).and_(page.locator("input[name=at]"))


@pytest.mark.parametrize("key", LESSONS)
def test_a_lesson_answers_what_is_typed_and_holds_it_in_its_address(page, served, key):
    visit(page, served, key)
    name, word = MOVES[key]
    before, drawn = number(page, name), page.locator("#pictures").inner_html()
    field(page, key).fill(word)
    field(page, key).press("Enter")
    page.wait_for_function("was => document.getElementById('pictures').innerHTML !== was", arg=drawn)
    fresh(page)
    after = number(page, name)
    assert after != before
    assert page.url.endswith(f"?at={quote(word, safe='')}")
    assert page.locator("#inputs").inner_text() == page.locator("body").get_attribute("data-echo")
    page.reload()
    fresh(page)
    assert number(page, name) == after
    expect(field(page, key)).to_have_value(word)


@pytest.mark.parametrize("key", LESSONS)
def test_the_keyboard_alone_moves_the_part(page, served, key):
    visit(page, served, key)
    told = page.locator("#pictures")
    page.locator("input[type=range]").focus()
    at_first = told.inner_text()
    page.keyboard.press("Home")
    expect(told).not_to_have_text(at_first, use_inner_text=True)
    least = told.inner_text()
    page.locator("input[name=at]").focus()
    for _ in range(3):
        page.keyboard.press("ArrowUp")
    expect(told).not_to_have_text(least, use_inner_text=True)
    fresh(page)


def test_a_drag_is_answered_while_it_goes_on_and_ends_on_its_last_value(page, served):
    visit(page, served, "traveller")
    page.evaluate(
        """() => { window.seen = new Set(); new MutationObserver(() =>
        window.seen.add(document.getElementById('setting-a').textContent))
        .observe(document.getElementById('findings'), {childList: true}) }"""
    )
    slider = page.locator("input[type=range]")
    box = slider.bounding_box()
    y = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + box["width"] * 0.3, y)
    page.mouse.down()
    for share in range(30, 80, 2):
        page.mouse.move(box["x"] + box["width"] * share / 100, y)
        page.wait_for_timeout(30)
    page.mouse.up()
    fresh(page)
    assert page.evaluate("window.seen.size") >= 3
    mass = first_number(page.locator("input[name=at]").input_value())
    assert f"traveller {mass:g}" in page.locator("#setting-a").inner_text().replace("\u202f", " ")


def test_a_value_out_of_range_says_so_beside_the_field_and_keeps_what_was_typed(page, served):
    visit(page, served, "lappet")
    page.locator("input[name=at]").fill("900 mm")
    page.locator("input[name=at]").press("Enter")
    expect(page.get_by_role("alert").first).to_contain_text("it must be between")
    expect(page.locator("input[name=at]")).to_have_value("900 mm")
    expect(page.locator("body")).to_have_class("page-lessons refused")
    page.locator("input[name=at]").fill("50 mm")
    page.locator("input[name=at]").press("Enter")
    fresh(page)
    expect(page.locator("#setting-a")).to_contain_text("50")
    page.go_back()
    expect(page.locator("input[name=at]")).to_have_value("900 mm")


def test_the_list_leads_to_every_lesson_and_each_to_the_next(page, served):
    page.goto(served.at(f"/bench/{PAIR}?part=ring"))
    page.get_by_role("link", name="Lessons").click()
    expect(page.locator(".lesson-list a.row")).to_have_count(len(LESSONS))
    page.locator(".lesson-list a.row").first.click()
    for lesson in LESSONS.values():
        expect(page.get_by_role("heading", level=1)).to_have_text(lesson.question)
        fresh(page)
        page.get_by_role("link", name="Next:").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(next(iter(LESSONS.values())).question)


def test_a_teacher_fills_the_screen_and_leaves_it(page, served):
    visit(page, served, "bare-tube")
    size = "() => parseFloat(getComputedStyle(document.querySelector('.reasons')).fontSize)"
    usual = page.evaluate(size)
    page.get_by_role("button", name="Fill the screen").click()
    page.wait_for_function("document.fullscreenElement !== null")
    assert page.evaluate(size) > 1.1 * usual
    expect(page.get_by_role("button", name="Leave the large view")).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="Leave the large view").click()
    page.wait_for_function("document.fullscreenElement === null")
    assert page.evaluate(size) == usual


@pytest.mark.parametrize("key", LESSONS)
def test_a_lesson_prints_on_one_landscape_sheet(page, served, tmp_path, key):
    visit(page, served, key)
    paper = tmp_path / "lesson.pdf"
    page.pdf(path=paper, prefer_css_page_size=True, print_background=True)
    (sheet,) = PdfReader(paper).pages
    assert [float(v) / 72 * 25.4 for v in sheet.mediabox[2:]] == pytest.approx([297, 210], abs=0.5)
    words = " ".join(sheet.extract_text().split())
    assert "Left out" in words
    assert "Stop and lock out" in words
    assert "Fill the screen" not in words


@pytest.mark.parametrize("key", ["", *LESSONS])
def test_a_lesson_breaks_no_rule_of_access_and_fits_every_screen(browser, served, key):
    with opened(browser, color_scheme="light") as page:
        if key:
            visit(page, served, key)
        else:
            page.goto(served.at(f"/lessons/{PAIR}"))
        assert axe_in_both(page) == []
        for width in (320, 390, 820, 1280, 1920):
            page.set_viewport_size({"width": width, "height": 900})
            over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            assert over <= 0, f"{width} px wide: {over} px too much"
        page.set_viewport_size({"width": 390, "height": 800})
        assert axe(page) == []


def test_a_lesson_without_a_script_solves_by_its_form(browser, served):
    with opened(browser, java_script_enabled=False) as page:
        page.goto(served.at(f"/lesson/wharve/{PAIR}"))
        before = number(page, "Pull for one wharve")
        page.locator("input[name=at]").fill("15 mm")
        page.get_by_role("button", name="Solve").click()
        assert number(page, "Pull for one wharve") > before
        assert "at=15" in page.url


def test_a_frame_that_cannot_show_a_lesson_says_why(browser, served):
    with opened(browser, "422") as page:
        page.goto(served.at("/lesson/belts/F4/AV60C"))
        expect(page.locator("main")).to_contain_text("driven by tapes, not by belts")
        page.goto(served.at("/lessons/F4/AV60C"))
        expect(page.locator(".lesson-list a.row")).to_have_count(len(LESSONS) - 1)


def test_the_page_and_the_command_give_the_same_numbers(page, served):
    from ringwright.lessons.asking import ask  # noqa: PLC0415
    from ringwright.report.number import Number, figures  # noqa: PLC0415
    from ringwright.verbs import app  # noqa: PLC0415

    visit(page, served, "control-ring", "?at=50%20mm")
    asked = ask(app.open_mill("demo"), "control-ring", "F1", "AV30K", "50 mm")
    told = [figures(row.moved) if isinstance(row.moved, Number) else row.moved for row in asked.shown.rows]
    assert page.locator("#findings td.a b").all_inner_texts() == told


def test_moves_of_a_lesson_are_taken_back_and_done_again(page, served):
    visit(page, served, "traveller")
    one = field(page, "traveller")
    start = one.input_value()
    for word in ("50 mg", "56 mg"):
        one.fill(word)
        one.press("Enter")
        fresh(page)
    page.keyboard.press("Control+z")
    expect(one).to_have_value("50 mg")
    page.get_by_role("button", name="Undo").click()
    expect(one).to_have_value(start)
    expect(page.get_by_role("button", name="Undo")).to_be_disabled()
    page.keyboard.press("Control+y")
    expect(one).to_have_value("50 mg")
    fresh(page)


def test_a_lesson_in_inches_asks_the_same_question(page, served):
    visit(page, served, "lappet", "?at=40%20mm")
    before = number(page, "Balloon, tallest") if page.get_by_text("Balloon, tallest").count() else None
    page.get_by_role("link", name="mm, show in").click()
    fresh(page)
    expect(field(page, "lappet")).to_have_value("1.575 in")  # 40 mm / 25.4
    assert "u=in" in page.url
    page.get_by_role("link", name="in, show mm").click()
    fresh(page)
    expect(field(page, "lappet")).to_have_value("40 mm")
    if before is not None:
        assert number(page, "Balloon, tallest") == before


def test_the_pdf_of_a_lesson_is_of_the_value_moved_and_the_command_lines_document(page, served):
    visit(page, served, "traveller")
    one = field(page, "traveller")
    one.fill("56 mg")
    one.press("Enter")
    fresh(page)
    link = page.get_by_role("link", name="Lesson as PDF").get_attribute("href")
    reply = page.request.get(served.at(link))
    assert reply.headers["content-type"] == "application/pdf"
    read = PdfReader(BytesIO(reply.body()))
    text = read.pages[0].extract_text()
    assert LESSONS["traveller"].question in " ".join(text.split())
    assert "56" in text


def test_a_teacher_covers_the_answer_until_the_class_has_said_what_it_expects(page, served):
    visit(page, served, "bare-tube")
    page.get_by_role("button", name="Cover the answer").click()
    expect(page.get_by_role("heading", name="The reason")).to_be_hidden()
    expect(page.locator("#pictures figure").first).to_be_hidden()
    page.get_by_role("link", name="Next: lappet fixed or moving").click()
    fresh(page)
    expect(page.get_by_role("heading", name="The reason")).to_be_hidden()
    page.get_by_role("button", name="Show the answer").click()
    expect(page.get_by_role("heading", name="The reason")).to_be_visible()
    page.get_by_role("link", name="Lesson before: Bare tube and full cop").click()
    fresh(page)
    expect(page.get_by_role("heading", name="The reason")).to_be_visible()
    expect(page.locator("h1")).to_have_text(LESSONS["bare-tube"].question)


def test_drawing_sentences_table_and_pdf_follow_the_units_and_the_next_lesson_keeps_them(page, served):
    visit(page, served, "wharve", "?u=in,tpi")
    expect(page.locator("#pictures")).to_contain_text("Wharve of 0.98 in")
    expect(page.locator(".reasons")).to_contain_text("tpi into the yarn")
    for part in ("#pictures", "#findings", ".sources", ".move"):
        expect(page.locator(part)).not_to_contain_text(re.compile(r"\d\s*mm\b|t/m"))
    link = page.get_by_role("link", name="Lesson as PDF").get_attribute("href")
    read = PdfReader(BytesIO(page.request.get(served.at(link)).body()))
    words = " ".join(read.pages[0].extract_text().split())
    assert "0.98 in" in words.replace("\u202f", " ")
    assert not re.search(r"\d\s*mm\b|t/m", words)
    page.get_by_role("link", name="Next:").click()
    fresh(page)
    assert "u=tpi%2Cin" in page.url
