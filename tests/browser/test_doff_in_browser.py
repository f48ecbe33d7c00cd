"""The doff player as a person uses it."""

from __future__ import annotations

import re
from io import BytesIO

import pytest
from playwright.sync_api import expect
from pypdf import PdfReader
from tests.browser.visiting import first_number, opened


def minute(page):
    return first_number(page.locator("#moment").inner_text(), r"Minute (\d+)")


def number(page, words, side=0):
    row = page.locator("#now tr", has_text=words).first
    return first_number(row.locator("td").nth(side).inner_text())


@pytest.fixture
def player(page, served):
    page.goto(served.at("/doff/F1/AV30K?beside=control-ring"))
    expect(page.locator("#play")).to_be_enabled()
    return page


def test_the_doff_plays_pauses_and_goes_on(player):
    assert minute(player) == 0
    player.get_by_text("10 min", exact=True).click()
    player.locator("#play").click()
    player.wait_for_timeout(1500)
    player.locator("#play").click()
    reached = minute(player)
    assert 5 <= reached <= 40
    player.wait_for_timeout(300)
    assert minute(player) == reached


def test_the_picture_follows_the_moment(player):
    before = player.locator("#stage").screenshot()
    player.get_by_role("slider", name="Moment").press("End")
    assert minute(player) == 130
    assert player.locator("#stage").screenshot() != before
    assert number(player, "Spindle speed") == 14 or "14" in player.locator("#now").inner_text()


def test_a_stroke_on_and_back_ends_where_it_began(player):
    player.get_by_role("button", name="On a stroke").click()
    player.get_by_role("button", name="On a stroke").click()
    player.get_by_role("button", name="Back a stroke").click()
    expect(player.locator("#moment")).to_contain_text("stroke 2 of")


def test_without_the_control_ring_the_balloon_is_wider(player):
    player.get_by_role("slider", name="Moment").press("PageUp")
    assert number(player, "Largest radius", 1) > number(player, "Largest radius", 0)
    expect(player.locator("#notes")).to_contain_text("separator")


def test_with_the_lappet_fixed_the_balloon_is_shorter_at_the_end(player):
    player.get_by_role("link", name="with the lappet fixed").click()
    expect(player.locator("#play")).to_be_enabled()
    player.get_by_role("slider", name="Moment").press("End")
    assert number(player, "Balloon height", 1) < number(player, "Balloon height", 0) - 50


def test_the_keyboard_alone_plays_and_steps(player):
    player.locator("body").press("ArrowRight")
    assert minute(player) == 1
    player.locator("body").press("Space")
    expect(player.locator("#play")).to_have_text("Pause")
    player.locator("body").press("Space")
    expect(player.locator("#play")).to_have_text("Play")


def test_who_wants_less_motion_gets_steps(browser, served):
    with opened(browser, reduced_motion="reduce") as page:
        page.goto(served.at("/doff/F1/AV30K?beside=none"))
        expect(page.locator("#play")).to_be_enabled()
        page.locator("#play").click()
        expect(page.locator("#moment")).to_contain_text("stroke 2 of")
        page.locator("#play").click()


def test_without_scripts_the_doff_is_a_figure(browser, served):
    with opened(browser, java_script_enabled=False) as page:
        page.goto(served.at("/doff/F1/AV30K"))
        page.get_by_role("link", name="Show the doff as a figure").click()
        expect(page.get_by_role("img", name=re.compile("Tension through the doff"))).to_be_visible()


def test_a_moment_chosen_stands_in_the_address_and_is_taken_back(player):
    slider = player.get_by_role("slider", name="Moment")
    slider.press("PageUp")
    first = minute(player)
    slider.press("PageUp")
    second = minute(player)
    assert 0 < first < second
    player.keyboard.press("Control+z")
    player.wait_for_function(
        "was => document.getElementById('moment').textContent.includes(`Minute ${was} `)", arg=int(first)
    )
    player.keyboard.press("Control+y")
    player.wait_for_function(
        "was => document.getElementById('moment').textContent.includes(`Minute ${was} `)", arg=int(second)
    )
    player.reload()
    expect(player.locator("#play")).to_be_enabled()
    assert minute(player) == second


def test_lengths_are_told_in_inches_when_chosen_and_change_no_force(player):
    height, winding = number(player, "Balloon height"), number(player, "Winding tension")
    player.get_by_role("link", name="mm, show in").click()
    expect(player.locator("#play")).to_be_enabled()
    assert number(player, "Balloon height") == pytest.approx(height / 25.4, abs=0.021)
    assert number(player, "Winding tension") == winding


def test_the_report_is_a_pdf_with_the_doff_and_the_limits(player, served):
    link = player.get_by_role("link", name=re.compile("Report of the doff")).get_attribute("href")
    reply = player.request.get(served.at(link))
    assert reply.headers["content-type"] == "application/pdf"
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(reply.body())).pages)
    for words in ("The doff of F1 with AV30K", "Room to each limit", "Through the doff", "Traveller speed"):
        assert words in " ".join(text.split())
