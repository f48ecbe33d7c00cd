"""The mill pages as a person uses them: read, change, look at the difference, save, meet another who saved."""

from __future__ import annotations

import shutil

import pytest
from playwright.sync_api import expect
from tests.browser.visiting import Served, axe, axe_in_both, opened

from ringwright.mill import read_mill, write_starter

YARN, FRAME = "/mill/yarn/Y30", "/mill/frame/F1"
REFUSED = ("422", "409")
"""The console tells an answer of this status, which is what these pages answer a fault with."""
SMALL = """() => [...document.querySelectorAll('a, button, select, textarea, input:not([type=hidden])')]
  .filter(one => one.checkVisibility() && !one.closest('.skip') && !one.closest('p.told') && !one.closest('p.does'))
  .map(one => [one, (one.type === 'radio' ? one.closest('label') : one).getBoundingClientRect()])
  .filter(([, box]) => box.height < 43.5 || box.width < 43.5)
  .map(([one, box]) => `${one.tagName} ${one.textContent.trim().slice(0, 20)} ${box.width}x${box.height}`)"""


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    return write_starter(tmp_path_factory.mktemp("good") / "mill")


@pytest.fixture(scope="module")
def folder(tmp_path_factory, good):
    return shutil.copytree(good, tmp_path_factory.mktemp("own") / "mill")


@pytest.fixture(scope="module")
def own(browser, folder):  # noqa: ARG001 - without a browser there is nothing to serve
    server = Served(str(folder))
    yield server
    server.stop()


@pytest.fixture(autouse=True)
def as_it_was(good, folder):
    for file in good.iterdir():
        shutil.copy(file, folder / file.name)


@pytest.fixture
def page(browser):
    with opened(browser, *REFUSED) as one:
        yield one


def look(page):
    page.get_by_role("button", name="Show the difference").click()
    page.wait_for_load_state("load")


def change(folder, file, old, new):
    text = (folder / file).read_text(encoding="utf-8")
    assert old in text
    (folder / file).write_text(text.replace(old, new, 1), encoding="utf-8")


def test_a_yarn_is_found_changed_looked_at_and_saved(page, own, folder):
    page.goto(own.at("/bench/F1/Y30"))
    page.get_by_role("link", name="Mill", exact=True).click()
    page.get_by_role("link", name="Y30", exact=False).first.click()
    expect(page.locator("h1")).to_have_text("Yarn Y30")
    page.get_by_label("Count", exact=True).fill("31 Ne")
    page.get_by_label("Process", exact=True).select_option("carded")
    look(page)
    difference = page.get_by_role("region", name="Difference in yarns.toml")
    expect(difference.locator("li.becomes")).to_have_count(2)
    expect(difference.locator("li.was").first).to_contain_text('count = "30 Ne"')
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("status").filter(has_text="Saved.")).to_be_visible()
    expect(page.get_by_label("Count", exact=True)).to_have_value("31 Ne")
    assert read_mill(folder).yarns["Y30"].process == "carded"
    page.get_by_role("link", name="Bench").click()
    expect(page.locator("#pair option:checked")).to_have_text("F1 with Y30")


def test_a_fault_stands_beside_its_field_and_a_link_leads_there(page, own):
    page.goto(own.at(FRAME))
    page.get_by_label("Highest speed", exact=True).fill("15 000 kmh")
    page.get_by_label("Gauge", exact=True).fill("700 mm")
    look(page)
    gauge = page.get_by_label("Gauge", exact=True)
    expect(gauge).to_have_value("700 mm")
    expect(gauge).to_have_attribute("aria-invalid", "true")
    expect(gauge).to_have_accessible_description(
        "From 40\u202fmm to 160\u202fmm. Units: mm, cm, m, km, in, yd. frame_F1.toml, line 11, frame.F1.gauge is "
        '"700 mm"; it must be from 40\u202fmm to 160\u202fmm (distance from spindle to spindle).'
    )
    page.get_by_role("list", name="Fields with a fault").get_by_role("link", name="Highest speed").click()
    expect(page.get_by_label("Highest speed", exact=True)).to_be_in_viewport()


def test_the_keyboard_alone_changes_and_saves_and_no_field_hides_under_the_bar(page, own, folder):
    page.goto(own.at(YARN))
    page.get_by_label("Count", exact=True).focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("32 Ne")
    hidden = []
    for _ in range(60):
        page.keyboard.press("Tab")
        hidden += page.evaluate(
            """() => { const one = document.activeElement, bar = document.querySelector('.bar');
            if (bar.contains(one) || one === document.body) return [];
            const [a, b] = [one.getBoundingClientRect(), bar.getBoundingClientRect()];
            return a.top >= b.top - 1 ? [one.outerHTML.slice(0, 80)] : [] }"""
        )
        if page.evaluate("document.activeElement.textContent") == "Show the difference":
            break
    assert hidden == []
    page.keyboard.press("Enter")
    save = page.get_by_role("button", name="Save")
    expect(save).to_be_visible()
    for _ in range(20):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == "Save":
            break
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").filter(has_text="Saved.")).to_be_visible()
    assert '"32 Ne"' in (folder / "yarns.toml").read_text(encoding="utf-8")


def test_two_people_who_save_at_once_are_told_and_lose_nothing(browser, own, folder):
    with opened(browser, *REFUSED) as first, opened(browser, *REFUSED) as second:
        for one in (first, second):
            one.goto(own.at(YARN))
        first.get_by_label("Strength", exact=True).fill("330 cN")
        first.get_by_label("Count", exact=True).fill("31 Ne")
        second.get_by_label("Count", exact=True).fill("32 Ne")
        second.get_by_label("Density", exact=True).fill("0.9 g/cm3")
        for one in (first, second):
            look(one)
        first.get_by_role("button", name="Save").click()
        expect(first.get_by_text("Saved.")).to_be_visible()
        second.get_by_role("button", name="Save").click()
        expect(second.get_by_role("alert")).to_contain_text("Nothing of either is lost")
        expect(second.get_by_role("table", name="What another changed on this sheet")).to_contain_text("330 cN")
        expect(second.get_by_role("table", name="What you changed")).to_contain_text("0.9 g/cm3")
        second.get_by_role("button", name="Merge").click()  # without a choice the browser stays
        expect(second.locator("h1")).to_contain_text("not saved")
        second.get_by_label("yours: 32 Ne").check()
        second.get_by_role("button", name="Merge").click()
        expect(second.get_by_role("status").first).to_contain_text("Merged with what the other saved")
        second.get_by_role("button", name="Save").click()
        expect(second.get_by_text("Saved.")).to_be_visible()
    text = (folder / "yarns.toml").read_text(encoding="utf-8")
    assert [word for word in ('"330 cN"', '"32 Ne"', '"0.9 g/cm3"') if word not in text] == []


def test_a_mill_that_became_wrong_says_so_on_its_page_and_on_the_others(page, own, folder):
    change(folder, "yarns.toml", '"30 Ne"', '"30 mm"')
    page.goto(own.at("/bench/F1/Y30"))
    expect(page.locator(".faults")).to_contain_text('yarn.Y30.count is "30 mm"')
    page.get_by_role("link", name="To the mill's files").click()
    expect(page.locator("h1")).to_have_text("The mill's files are wrong")
    expect(page.locator(".here")).to_contain_text('count = "30 mm"')
    page.get_by_role("link", name="Y30", exact=False).first.click()
    expect(page.get_by_label("Count", exact=True)).not_to_be_editable()
    expect(page.get_by_role("button", name="Show the difference")).to_have_count(0)
    change(folder, "yarns.toml", '"30 mm"', '"30 Ne"')
    page.get_by_role("link", name="See all that is wrong").click()
    expect(page.locator("h1")).to_have_text("Starter mill")


def test_without_scripts_everything_works_as_with_them(browser, own, folder):
    with opened(browser, *REFUSED, java_script_enabled=False) as page:
        page.goto(own.at("/mill/limits"))
        page.get_by_label("Value", exact=True).first.fill("24 %")
        page.get_by_role("button", name="Show the difference").click()
        page.get_by_role("button", name="Save").click()
        expect(page.get_by_text("Saved.")).to_be_visible()
    assert read_mill(folder).limits["strength_share"].value == pytest.approx(0.24)


def test_a_form_of_another_site_saves_nothing(browser, own, folder):
    before = (folder / "yarns.toml").read_bytes()
    with opened(browser, "403") as page:
        form = f'<form method="post" action="{own.at(YARN)}"><input name="act" value="save"><button>Go</button></form>'
        page.route("http://localhost/trap", lambda route: route.fulfill(body=form, content_type="text/html"))
        page.goto("http://localhost/trap")
        page.get_by_role("button", name="Go").click()
        expect(page.locator("body")).to_contain_text("A page of another site may not send a form here.")
    assert (folder / "yarns.toml").read_bytes() == before


def shown(page, own, folder, state):
    """Bring a mill page into a state."""
    if state == "list":
        page.goto(own.at("/mill"))
        return
    if state == "wrong":
        change(folder, "yarns.toml", '"30 Ne"', '"30 mm"')
        page.goto(own.at("/mill"))
        return
    page.goto(own.at(FRAME if state in {"frame", "faults"} else "/mill/limits" if state == "limits" else YARN))
    if state == "wrong sheet":
        change(folder, "yarns.toml", '"30 Ne"', '"30 mm"')
        page.reload()
    elif state == "faults":
        page.get_by_label("Gauge", exact=True).fill("700 mm")
        look(page)
    elif state in {"difference", "late"}:
        page.get_by_label("Count", exact=True).fill("31 Ne")
        page.get_by_label("Strength", exact=True).fill("330 cN")
        if state == "late":
            change(folder, "yarns.toml", '"30 Ne"', '"32 Ne"')
        look(page)


STATES = ("list", "frame", "limits", "faults", "difference", "late", "wrong", "wrong sheet")


@pytest.mark.parametrize("state", STATES)
def test_a_mill_page_breaks_no_rule_of_access_and_fits_its_screen_and_a_gloved_finger(browser, own, folder, state):
    with opened(browser, *REFUSED, color_scheme="light") as page:
        shown(page, own, folder, state)
        assert axe_in_both(page) == []
        for width in (320, 390, 820, 1280, 1920):
            page.set_viewport_size({"width": width, "height": 900})
            over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            assert (width, over) <= (width, 0)
            assert (width, page.evaluate(SMALL)) == (width, [])


def test_a_yarn_is_added_like_another_looked_at_saved_and_taken_out_again(page, own, folder):
    page.goto(own.at("/mill"))
    group = page.locator("details.entries", has_text="Add or remove a yarn")
    group.locator("summary").press("Enter")
    group.get_by_label("Name of a new one").fill("Y40")
    group.get_by_role("button", name="Add one like it").click()
    expect(page.get_by_role("region", name="Difference in yarns.toml")).to_contain_text("[yarn.Y40]")
    assert axe(page) == []
    assert "Y40" not in read_mill(folder).yarns
    page.get_by_role("button", name="Save").click()
    expect(page.locator("h1")).to_have_text("Yarn Y40")
    assert read_mill(folder).yarns["Y40"].count == read_mill(folder).yarns["Y30"].count
    page.goto(own.at("/mill"))
    group.locator("summary").click()
    group.get_by_label("Which yarn").select_option("Y30")
    group.get_by_role("button", name="Remove it").click()
    expect(page.get_by_role("alert")).to_contain_text("Nothing is saved")
    expect(page.locator("main")).to_contain_text("Y30")
    assert page.get_by_role("button", name="Remove it").count() == 0
    page.goto(own.at("/mill"))
    group.locator("summary").click()
    group.get_by_label("Which yarn").select_option("Y40")
    group.get_by_role("button", name="Remove it").click()
    page.get_by_role("button", name="Remove it").click()
    expect(page.get_by_role("status")).to_contain_text("Y40 is out of the files")
    assert set(read_mill(folder).yarns) == {"Y30"}


def test_a_bench_that_was_open_while_a_file_changed_says_so_and_is_loaded_anew(page, own, folder):
    page.goto(own.at("/bench/F1/Y30?speed=15000rpm"))
    change(folder, "yarns.toml", '"325 cN"', '"330 cN"')
    page.get_by_role("slider", name="Traveller mass").press("ArrowRight")
    late = page.locator("#late")
    expect(late).to_contain_text("The mill's files have changed since this page was loaded.", timeout=15_000)
    late.get_by_role("link", name="Load it anew").click()
    expect(late).to_be_hidden()
    assert "speed=15000rpm" in page.url.replace("%20", "")
    assert "traveller=45.5" in page.url
