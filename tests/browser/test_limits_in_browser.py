"""Whose the limits of the bench are, asked for by keyboard and told while a slider moves."""

from __future__ import annotations

import re

from playwright.sync_api import expect
from tests.browser.visiting import settle


def test_each_limit_says_who_set_it_once_that_is_wanted_and_while_the_slider_moves(page, served):
    page.goto(served.at("/bench/F1/AV30K?u=in"))
    settle(page)
    whose = page.locator("#rooms .whose").first
    expect(whose).to_be_hidden()
    page.get_by_label("Show who says where each limit lies").press("Space")
    expect(whose).to_contain_text("Owner: ")
    page.locator("#f-traveller").fill("47 mg")
    page.locator("#f-traveller").press("Enter")
    settle(page)
    expect(page.locator("#rooms .whose").first).to_be_visible()
    expect(page.locator("#rooms")).not_to_contain_text(re.compile(r"\d\s*mm\b"))
