"""The floor and what pays as people use them: asked, waited for, stopped, ticked, taken back, printed."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path

import pytest
from click.testing import CliRunner
from playwright.sync_api import expect
from pypdf import PdfReader
from tests.browser.visiting import Served, axe, opened

from ringwright.cli.main import ringwright

LONG = 60_000


@pytest.fixture(scope="module")
def floor(browser, tmp_path_factory):  # noqa: ARG001 - without a browser there is nothing to serve
    """A server whose store holds the demo's records, taken in as a mill takes its own."""
    here = tmp_path_factory.mktemp("floor")

    def run(*words):
        done = CliRunner().invoke(ringwright, [str(word) for word in words])
        assert done.exit_code == 0, done.output

    run("study", "demo", "--write", here / "given")
    for table in ("running", "breaks"):
        source = here / "given" / f"{table}.source.toml"
        run(
            "take", here / "given" / f"{table}.parquet", "--source", source, "--mill", "demo", "--store", here / "store"
        )
    server = Served("demo", "--records", str(Path(here / "store")))
    yield server
    server.stop()


@pytest.fixture
def listed(browser, floor):
    with opened(browser, "422") as page:
        page.goto(floor.at("/worklist"))
        expect(page.locator("ol.tasks")).to_be_visible(timeout=LONG)
        yield page


def test_the_list_is_made_in_the_background_while_other_pages_answer(browser, served):
    with opened(browser) as page, opened(browser) as other:
        page.goto(served.at("/worklist?frame=F2"))
        expect(page.locator("#job-words")).not_to_be_empty()
        other.goto(served.at("/bench/F1/AV30K?part=ring"))
        expect(other.locator("#rooms .walls")).to_be_visible(timeout=20_000)
        expect(page.locator("ol.tasks")).to_be_visible(timeout=LONG)
        expect(page.locator("main")).to_contain_text("keep no ticks")


def test_a_task_is_ticked_with_a_note_and_a_name_and_taken_back(listed):
    first = listed.locator("ol.tasks > li").first
    words = first.locator(".what b").inner_text()
    key = first.get_attribute("id").removeprefix("t-")
    first.locator("summary").press("Enter")
    first.get_by_label("What was found and done").fill("A ring was loose & tightened")
    first.get_by_label("Your name").fill("R. Ode")
    first.get_by_label("When, if not now").fill("yesterday")
    first.get_by_role("button", name="Done").click()
    told = listed.locator(f"#t-{key}")
    expect(told.locator(".faults")).to_contain_text('The time is "yesterday"')
    expect(told.get_by_label("What was found and done")).to_have_value("A ring was loose & tightened")
    assert axe(listed) == []
    told.get_by_label("When, if not now").fill("")
    told.get_by_role("button", name="Done").click()
    done = listed.locator("li.done", has_text=words)
    expect(done).to_contain_text("R. Ode: A ring was loose & tightened")
    assert listed.locator("ol.tasks > li", has_text=words).count() == 0
    done.locator("summary").click()
    done.get_by_label("Why").fill("It was the next ring")
    done.get_by_label("Your name").fill("R. Ode")
    done.get_by_role("button", name="Take it back").click()
    expect(listed.locator("ol.tasks > li", has_text=words)).to_have_count(1)
    listed.get_by_role("link", name="All ticks so far").click()
    expect(listed.locator("li.back")).to_contain_text("It was the next ring")


def test_the_list_is_printed_and_its_evidence_opened(listed, floor):
    reply = listed.request.get(floor.at(listed.get_by_role("link", name="Print the list").get_attribute("href")))
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(reply.body())).pages)
    words = listed.locator("ol.tasks .what b").first.inner_text()
    assert words.split(",")[0] in " ".join(text.split())
    listed.locator("ol.tasks > li", has_text="spindle 951, at").get_by_role("link", name="Evidence").click()
    expect(listed.locator(".answered")).to_contain_text("F3, side 2, spindle 951", timeout=LONG)
    expect(listed.locator(".answered svg").first).to_be_visible()
    expect(listed.locator("input[value=spindles]")).to_be_checked()


def test_questions_are_chosen_asked_and_printed(browser, served):
    with opened(browser) as page:
        page.goto(served.at("/study"))
        page.get_by_label("Which separators leak?").check()
        page.get_by_label("F2", exact=True).check()
        page.get_by_role("button", name="Ask", exact=True).click()
        expect(page.locator("#job-words")).to_be_visible()
        expect(page.locator(".answer")).to_contain_text("found", timeout=LONG)
        expect(page.locator(".answered table").first).to_contain_text("spindles 215 and 216")
        reply = page.request.get(served.at(page.get_by_role("link", name=re.compile("Print")).get_attribute("href")))
        assert reply.headers["content-type"] == "application/pdf"
        assert axe(page) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_page_of_the_floor_breaks_no_rule_and_fits_every_screen(browser, served, scheme):
    for width in (320, 820, 1920):
        with opened(browser, color_scheme=scheme, viewport={"width": width, "height": 900}) as page:
            page.goto(served.at("/study"))
            page.wait_for_load_state("networkidle")
            over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            assert over <= 0, f"{width} px wide"
            assert axe(page) == []
