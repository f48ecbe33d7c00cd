"""The bench as a person uses it: choose, move, type, compare, take back; and what happens when the server is away."""

from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import expect
from tests.browser.visiting import Served, first_number, opened, settle

BENCH = "/bench/F1/AV30K?part=ring"


def winding(page):
    row = page.locator("#about tr", has_text="Winding tension").first
    return first_number(row.locator("td").first.inner_text())


@pytest.fixture
def bench(page, served):
    page.goto(served.at(BENCH))
    settle(page)
    return page


def test_a_part_of_the_drawing_is_chosen_by_touch_and_shows_its_numbers(bench):
    bench.locator(".label[data-part='control-ring'] rect").first.click()
    expect(bench.locator("#part-head h1")).to_have_text("Control ring")
    expect(bench.locator("#about")).to_contain_text("The yarn presses on it with")
    expect(bench.get_by_label("Control ring diameter", exact=True)).to_be_visible()
    expect(bench.get_by_label("Traveller mass", exact=True)).to_be_hidden()
    assert "part=control-ring" in bench.url


def test_a_part_drawn_is_itself_a_way_to_its_numbers(bench):
    bench.locator("#sheet .part[data-part='drafting'] circle").first.click(position={"x": 8, "y": 8})
    expect(bench.locator("#part-head h1")).to_have_text("Drafting")


def test_the_keyboard_alone_chooses_a_part_and_moves_what_belongs_to_it(bench):
    bench.locator(".label[data-part='ring']").focus()
    bench.keyboard.press("ArrowUp")
    bench.keyboard.press("Enter")
    expect(bench.locator("#part-head h1")).to_have_text("Separators")
    bench.keyboard.press("ArrowDown")
    bench.keyboard.press("Enter")
    before = winding(bench)
    bench.get_by_label("Traveller mass", exact=True).focus()
    bench.keyboard.press("Shift+ArrowUp")
    settle(bench)
    assert winding(bench) > before + 2
    expect(bench.get_by_label("Traveller mass", exact=True)).to_have_value("50 mg")


def test_every_step_of_the_slider_is_answered_and_stands_in_the_address(bench):
    before = winding(bench)
    slider = bench.get_by_label("Traveller mass, slider")
    slider.focus()
    for _ in range(6):
        slider.press("ArrowLeft")
    settle(bench)
    assert winding(bench) < before
    assert "traveller=42%20mg" in bench.url
    shown = winding(bench)
    bench.reload()
    settle(bench)
    assert winding(bench) == shown
    expect(bench.get_by_label("Traveller mass", exact=True)).to_have_value("42 mg")


def test_who_listens_hears_the_outcome_once_and_keeps_the_focus(bench):
    bench.evaluate(
        """() => { window.said = [];
        const all = {childList: true, subtree: true};
        for (const one of document.querySelectorAll('#outcome, #e-traveller'))
          new MutationObserver(() => window.said.push(one.textContent)).observe(one, all) }"""
    )
    slider = bench.get_by_label("Traveller mass, slider")
    slider.focus()
    for _ in range(6):
        slider.press("ArrowLeft")
    settle(bench)
    bench.wait_for_function("() => window.said.length > 0")
    expect(slider).to_have_attribute("aria-valuetext", "42 mg")
    field = bench.get_by_label("Traveller mass", exact=True)
    field.fill("forty")
    field.press("Enter")
    expect(bench.locator("#e-traveller")).to_contain_text('"forty"')
    field.fill("41")  # a bare number is of the unit that stood there, and is written out
    field.press("Enter")
    expect(field).to_have_value("41 mg")
    settle(bench)
    bench.wait_for_function("() => window.said.length > 3")
    told = bench.evaluate("window.said")
    assert [words.split(" is ")[0] for words in told[1:3]] == ["Traveller mass", ""]
    for words, mass in ((told[0], "42 mg"), (told[3], "41 mg")):
        assert re.fullmatch(rf"Ring and traveller: {mass}\. Nearest limit: [\w ,']+, [\d.]+ .+\.", words)
    bench.get_by_role("link", name="Keep as B").press("Enter")
    settle(bench)
    expect(bench.locator("#keep")).to_be_focused()
    expect(bench.locator("#keep")).to_be_in_viewport()


def test_a_heavier_yarn_tension_is_drawn_as_a_heavier_line(bench):
    def widest():
        return max(
            float(one.get_attribute("stroke-width"))
            for one in bench.locator("#sheet > path[stroke='var(--woad)'][stroke-linecap='round']").all()
        )

    before = widest()
    field = bench.get_by_label("Traveller mass", exact=True)
    field.fill("70 mg")
    field.press("Enter")
    settle(bench)
    assert widest() > before + 0.5


def test_a_value_is_understood_in_another_unit_and_kept_as_typed(bench):
    field = bench.get_by_label("Traveller mass", exact=True)
    field.fill("0.7 grain")  # 0.7 x 64.79891 mg = 45.36 mg
    field.press("Enter")
    settle(bench)
    expect(field).to_have_value("0.7 grain")
    expect(bench.locator("#about tr", has_text="Traveller").last).to_contain_text("45.4")


def test_a_value_out_of_range_keeps_what_was_typed_with_a_sentence_and_the_last_drawing(bench):
    before = bench.locator("#sheet").inner_html()
    field = bench.get_by_label("Spindle speed, main part", exact=True)
    field.fill("60 000 rpm")
    field.press("Enter")
    told = bench.locator("#e-speed")
    expect(told).to_contain_text("No speed of the doff may pass the spindle's 20")
    expect(field).to_have_value("60 000 rpm")
    expect(field).to_have_attribute("aria-invalid", "true")
    assert bench.locator("#sheet").inner_html() == before
    field.fill("16 500 rpm")
    field.press("Enter")
    expect(told).to_be_hidden()
    settle(bench)


def test_what_is_no_steady_balloon_is_told_in_words(bench):
    field = bench.get_by_label("Traveller mass", exact=True)
    field.fill("12 mg")
    field.press("Enter")
    expect(bench.locator("#about .told")).to_contain_text("No steady balloon")
    expect(bench.locator("#about .told")).to_contain_text("The limit here lies at")


def test_twenty_changes_are_taken_back_and_done_again(bench):
    field = bench.get_by_label("Traveller mass", exact=True)
    more = bench.get_by_label("Traveller mass: more")
    for _ in range(20):
        more.click()
    expect(field).to_have_value("55 mg")
    for _ in range(20):
        bench.keyboard.press("Control+z")
        bench.wait_for_timeout(30)
    expect(field).to_have_value("45 mg")
    expect(bench.locator("#undo")).to_be_disabled()
    for _ in range(3):
        bench.keyboard.press("Control+y")
        bench.wait_for_timeout(30)
    expect(field).to_have_value("46.5 mg")
    settle(bench)


def test_two_settings_are_overlaid_changed_over_and_parted_again(bench):
    bench.get_by_role("link", name="Keep as B").click()
    settle(bench)
    field = bench.get_by_label("Traveller mass", exact=True)
    field.fill("40 mg")
    field.press("Enter")
    settle(bench)
    expect(bench.locator("#setting-a")).to_contain_text("40")
    expect(bench.locator("#setting-b")).to_contain_text("45")
    assert bench.locator("#sheet path[stroke='var(--madder)'][stroke-dasharray]").count() >= 2
    expect(bench.locator("#doff")).to_contain_text("B, winding peak")
    bench.get_by_role("link", name="Change A and B over").click()
    settle(bench)
    expect(bench.locator("#setting-a")).to_contain_text("45")
    expect(bench.locator("#setting-b")).to_contain_text("40")
    bench.get_by_role("link", name="Leave B out").click()
    settle(bench)
    assert bench.locator("#sheet path[stroke='var(--madder)']").count() == 0
    bench.locator("#undo").click()
    settle(bench)
    expect(bench.locator("#setting-b")).to_contain_text("40")


def test_the_control_ring_taken_away_is_not_drawn_and_costs_tension(bench):
    bench.locator(".label[data-part='control-ring'] rect").first.click()
    bench.get_by_label("none").check()
    settle(bench)
    assert bench.locator("#sheet .part[data-part='control-ring']").count() == 0
    expect(bench.locator("#setting-a")).to_contain_text("no control ring")


def test_a_moment_is_chosen_in_the_chart_and_moves_the_drawing(bench):
    before = bench.locator("#moment-words").inner_text()
    box = bench.locator("#doff svg").bounding_box()
    bench.mouse.click(box["x"] + 80, box["y"] + 120)
    settle(bench)
    after = bench.locator("#moment-words").inner_text()
    assert after != before
    assert first_number(after, r"Minute (\d+)") < 40


def test_the_rooms_answer_while_the_slider_is_still_being_moved(bench):
    slider = bench.get_by_label("Traveller mass, slider")
    words = bench.locator("#rooms .walls")
    box = slider.bounding_box()
    bench.mouse.move(box["x"] + 0.43 * box["width"], box["y"] + box["height"] / 2)
    bench.mouse.down()
    told = set()
    for k in range(1, 13):
        bench.mouse.move(box["x"] + (0.43 - 0.012 * k) * box["width"], box["y"] + box["height"] / 2)
        bench.wait_for_timeout(250)
        told.add(words.inner_text())
    # Still held down: the page has not come to rest, and yet the rooms have followed.
    assert len(told) > 4
    bench.mouse.up()
    settle(bench)
    assert first_number(bench.get_by_label("Traveller mass", exact=True).input_value()) < 40


def test_the_forbidden_ends_of_a_slider_are_hatched_and_told(bench):
    control = bench.locator(".control[data-key='traveller']")
    expect(control.locator(".end")).to_have_count(2, timeout=15_000)
    told = control.locator(".ends").inner_text()
    below, above = first_number(told, r"below about ([\d.]+)"), first_number(told, r"above about ([\d.]+)")
    assert "Traveller heat" in told
    field = bench.get_by_label("Traveller mass", exact=True)
    for mass, passed in ((above + 2, True), (above - 2, False), (below - 2, True), (below + 2, False)):
        field.fill(f"{mass:.1f} mg")
        field.press("Enter")
        settle(bench)
        walls = bench.locator("#rooms .gap > b:first-child").all_inner_texts()
        assert any("passed" in one for one in walls) == passed
    assert control.locator(".ends").inner_text() == told  # its own value moves nothing on its own slider
    bench.get_by_label("Ring friction", exact=True).fill("0.12")
    bench.get_by_label("Ring friction", exact=True).press("Enter")
    expect(control.locator(".ends")).not_to_have_text(told, timeout=15_000)


def test_the_other_setting_has_its_mark_on_each_slider(bench):
    bench.get_by_role("link", name="Keep as B").click()
    settle(bench)
    mark = bench.locator(".control[data-key='traveller'] .other")
    slider = bench.get_by_label("Traveller mass, slider")
    expect(mark).to_have_count(1)
    low, high, value = (float(slider.get_attribute(name)) for name in ("min", "max", "value"))
    at, over = mark.bounding_box(), slider.bounding_box()
    share = (at["x"] + at["width"] / 2 - over["x"] - 8) / (over["width"] - 16)
    assert share == pytest.approx((value - low) / (high - low), abs=0.02)
    bench.get_by_role("link", name="Leave B out").click()
    settle(bench)
    expect(mark).to_have_count(0)


def test_the_moment_typed_is_the_moment_drawn(bench):
    field = bench.get_by_label("Stage of the doff", exact=True)
    field.fill("43.7 %")
    field.press("Enter")
    settle(bench)
    told = bench.locator("#moment-words").inner_text()
    stroke, of = first_number(told, r"stroke (\d+)"), first_number(told, r"of (\d+) \(")
    assert abs(stroke - (int(0.437 * of) + 1)) <= 1
    height = bench.get_by_label("Place in the stroke", exact=True)
    height.fill("33 %")
    height.press("Enter")
    settle(bench)
    bench.locator(".label[data-part='cop'] rect").first.click()
    expect(bench.locator("#moment-words")).to_contain_text("on the rise")


def test_the_position_is_seen_from_above_with_the_angle_told(bench):
    plan = bench.locator(".plan svg")
    expect(plan).to_contain_text("Seen from above")
    expect(plan).to_contain_text("ring 40.0")
    bench.locator(".label[data-part='balloon'] rect").first.click()
    expect(bench.locator("#part-head h1")).to_have_text("Balloon")
    row = bench.locator("#about tr", has_text="trails").locator("td").first.inner_text()
    assert f"trails by {first_number(row):.0f}°" in plan.text_content()
    bench.locator(".label[data-part='spindle'] rect").first.click()
    expect(plan).to_have_count(0)


def test_units_switched_there_and_back_change_no_number(bench):
    bench.locator(".label[data-part='balloon'] rect").first.click()
    settle(bench)
    before = bench.locator("#about").inner_text()
    for _ in range(2):
        bench.get_by_role("link", name=re.compile("mm, show in")).click()
        settle(bench)
        assert re.search(r"\d\.\d+\s*in", bench.locator("#about").inner_text())
        bench.get_by_role("link", name=re.compile("in, show mm")).click()
        settle(bench)
    assert bench.locator("#about").inner_text() == before


def test_an_answer_that_comes_late_never_stands_for_a_newer_question(browser, served):
    with opened(browser) as page:
        waits = iter([1500, 800])

        def slow(route):
            page.wait_for_timeout(next(waits, 0))
            route.continue_()

        page.goto(served.at(BENCH))
        settle(page)
        page.route("**/answer/place/**", slow)
        field = page.get_by_label("Traveller mass", exact=True)
        for mass in ("41 mg", "42 mg", "43 mg", "50 mg"):
            field.fill(mass)
            field.press("Enter")
        settle(page)
        expect(page.locator("#setting-a")).to_contain_text("50")
        expect(page.locator("#about tr", has_text="Traveller").last).to_contain_text("50")


def test_an_answer_to_another_question_is_not_taken(browser, served):
    with opened(browser) as page:
        page.goto(served.at(BENCH))
        settle(page)

        def false(route):
            reply = route.fetch()
            route.fulfill(response=reply, body=json.dumps(json.loads(reply.text()) | {"echo": "00000000"}))

        page.route("**/answer/place/**", false)
        page.get_by_label("Traveller mass: more").click()
        expect(page.locator("#late")).to_contain_text("Not up to date")
        expect(page.locator("#setting-a")).to_contain_text("45")
        page.unroute("**/answer/place/**")
        expect(page.locator("#late")).to_be_hidden(timeout=6000)
        settle(page)
        expect(page.locator("#setting-a")).to_contain_text("45.5")


def test_the_page_says_when_the_server_is_away_and_goes_on_when_it_is_back(browser):
    server = Served()
    with opened(browser, "Failed to load resource", "ERR_CONNECTION_REFUSED") as page:
        page.goto(server.at(BENCH))
        settle(page)
        server.stop()
        page.get_by_label("Traveller mass: more").click()
        expect(page.locator("#late")).to_contain_text("Not up to date since", timeout=2000)
        page.get_by_label("Traveller mass: more").click()
        expect(page.get_by_label("Traveller mass", exact=True)).to_have_value("46 mg")
        expect(page.locator("#setting-a")).to_contain_text("45")
        server.start()
        expect(page.locator("#late")).to_be_hidden(timeout=12_000)
        settle(page)
        expect(page.locator("#setting-a")).to_contain_text("46")
    server.stop()


def test_without_scripts_the_bench_is_a_form_that_solves(browser, served):
    with opened(browser, java_script_enabled=False) as page:
        page.goto(served.at(BENCH))
        page.get_by_label("Traveller mass", exact=True).fill("42 mg")
        page.get_by_role("button", name="Solve").click()
        expect(page.locator("#setting-a")).to_contain_text("42")
        expect(page.locator("#about tr", has_text="Traveller").last).to_contain_text("42")
        expect(page.locator("#rooms")).to_contain_text("Fold")
        assert page.locator("#doff svg").count() == 1
        page.get_by_label("Traveller mass", exact=True).fill("forty")
        page.get_by_role("button", name="Solve").click()
        expect(page.locator("#e-traveller")).to_contain_text('"forty"')
        expect(page.get_by_label("Traveller mass", exact=True)).to_have_value("forty")


def test_another_frame_and_yarn_are_chosen_at_the_head(bench):
    bench.get_by_label("Alder Vale Spinning").select_option("F4-AV60C")
    bench.get_by_role("button", name="Go").click()
    settle(bench)
    assert "/bench/F4/AV60C" in bench.url
    expect(bench.locator("#setting-a")).to_contain_text("20")


def test_the_balloon_turns_by_hand_and_by_keys(bench):
    bench.locator(".label[data-part='balloon'] rect").first.click()
    canvas = bench.locator("#balloon")
    canvas.scroll_into_view_if_needed()
    settle(bench)
    before = canvas.screenshot()
    canvas.focus()
    for _ in range(6):
        bench.keyboard.press("ArrowRight")
    assert canvas.screenshot() != before
