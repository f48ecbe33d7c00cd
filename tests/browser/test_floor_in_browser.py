"""The floor and what pays as people use them: asked, waited for, stopped, ticked, taken back, printed."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path

import pytest
from click.testing import CliRunner
from playwright.sync_api import expect
from pypdf import PdfReader
from tests.browser.visiting import Served, axe, axe_in_both, opened

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
        expect(page.locator("ol.tasks").first).to_be_visible(timeout=LONG)
        yield page


def test_the_list_is_made_in_the_background_while_other_pages_answer(browser, served):
    with opened(browser) as page, opened(browser) as other:
        page.goto(served.at("/worklist?frame=F2"))
        expect(page.locator("#job-words")).not_to_be_empty()
        other.goto(served.at("/bench/F1/AV30K?part=ring"))
        expect(other.locator("#rooms .walls")).to_be_visible(timeout=20_000)
        expect(page.locator("ol.tasks").first).to_be_visible(timeout=LONG)
        expect(page.locator("main")).to_contain_text("keep no ticks")
        first = page.locator(".first.caution").bounding_box()
        task = page.locator(".task").first.bounding_box()
        assert first
        assert task
        assert first["y"] + first["height"] <= task["y"]  # the cautions are seen before the work
        page.locator(".frames a").first.click()
        expect(page.locator(".group").first).to_be_in_viewport()


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
    expect(told.locator(".fault")).to_contain_text('The time is "yesterday"')
    expect(told.get_by_label("When, if not now")).to_have_attribute("aria-invalid", "true")
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


def test_a_trial_is_planned_and_judged_and_a_spindle_run_through_time(browser, served):
    with opened(browser, "422") as page:
        page.goto(served.at("/trial/judge"))
        page.get_by_role("link", name="A trial counted by hand").click()
        expect(page.locator(".answer")).to_contain_text("45 mg breaks 0.79 times", timeout=LONG)
        assert axe(page) == []
        page.get_by_label("Change that would matter").fill("nothing")
        page.get_by_role("button", name="Judge it", exact=True).click()
        expect(page.locator("#e-change")).to_contain_text('"nothing"', timeout=LONG)
        expect(page.get_by_label("The table", exact=True)).to_have_value(re.compile("Mon early,F1,45 mg"))
        page.get_by_role("link", name="Plan one").click()
        page.get_by_role("button", name="Plan it").click()
        expect(page.locator(".answer")).to_contain_text("side by side for", timeout=LONG)
        page.goto(served.at("/parts/centring/F3/AV20W"), timeout=LONG)
        page.get_by_role("link", name="Judge the demonstration's round of F3").click(no_wait_after=True)
        expect(page.locator(".answer")).to_contain_text("spindle 951 being the worst", timeout=LONG)
        page.get_by_label("Run a spindle through time").fill("951")
        page.get_by_role("button", name="Run it through time").click()
        expect(page.locator(".answer")).to_contain_text("Spindle 951 in time: tension rises to", timeout=LONG)
        assert axe(page) == []


def test_an_answer_that_a_new_server_does_not_have_is_said_to_be_gone(browser, served):
    with opened(browser) as page:
        page.goto(served.at("/study?question=rates&frame=F1"))
        expect(page.locator(".answer")).to_contain_text("invented records", timeout=LONG)
        assert "job=" in page.url
        page.goto(served.at("/study?question=rates&frame=F2&job=0123456789abcdef"))  # as after the server ended
        expect(page.locator("main")).to_contain_text("the server was started anew")
        assert axe(page) == []
        page.get_by_role("link", name="Seek it again").click()
        expect(page.locator(".answer")).to_contain_text("invented records", timeout=LONG)


def test_a_page_of_the_floor_breaks_no_rule_and_fits_every_screen(browser, served):
    with opened(browser, color_scheme="light") as page:
        for path in ("/study", "/trial", "/trial/judge", "/rounds", "/parts/centring/F2/AV30K"):
            page.goto(served.at(path))
            page.wait_for_load_state("networkidle")
            for width in (1920, 820, 320):
                page.set_viewport_size({"width": width, "height": 900})
                over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
                assert over <= 0, f"{path}, {width} px wide"
            assert axe_in_both(page) == []
