"""Page and command line agree: the same settings give the same numbers and the same refusals."""

from __future__ import annotations

import json
import re
import shutil
from urllib.parse import quote

import numpy as np
import pytest
from click.testing import CliRunner
from web_request import request

from ringwright.cli.main import ringwright
from ringwright.physics.position import threads
from ringwright.setting.problem import positions
from ringwright.verbs import app as verbs
from ringwright.web.address import echo, read_address
from ringwright.web.server import make_app
from ringwright.workbench.asking import asked
from ringwright.workbench.place import Moment, place_of
from ringwright.workbench.player import play_of
from ringwright.workbench.solving import Solver
from ringwright.workbench.tried import read_tried

SETTINGS = {
    "as set": ({}, []),
    "a lighter traveller": ({"traveller": "40 mg"}, ["--traveller", "40 mg"]),
    "quicker": ({"speed": "17000 rpm"}, ["--speed", "17000 rpm"]),
    "more friction": ({"friction": "0.12"}, ["--ring-friction", "0.12"]),
    "guide fixed": ({"guide": "fixed"}, ["--guide-fixed"]),
    "no control ring": ({"control_ring": "none"}, ["--no-control-ring"]),
    "all at once": (
        {"traveller": "50 mg", "speed": "15 500 rpm", "guide": "fixed", "control_ring": "none"},
        ["--traveller", "50 mg", "--speed", "15 500 rpm", "--guide-fixed", "--no-control-ring"],
    ),
}  # fmt: skip
TOLD = (
    ("Winding tension", "winding_tension_cN", 0.1),
    ("Presses on the ring", "ring_force_cN", 0.1),
    ("Heat made at the ring", "traveller_heat_W", 0.1),
    ("Lags the spindle by", "traveller_lag_rpm", 1.0),
)


@pytest.fixture(scope="module")
def app():
    return make_app("demo")


def query(words):
    return "&".join(f"{key}={quote(word)}" for key, word in words.items())


def shown(app, words, more=""):
    reply = request(app, f"/answer/place/F1/AV30K?part=ring&{query(words)}{more}")
    assert reply.status == 200
    return json.loads(reply.body)


def number(html, name):
    cell = re.search(rf"{name}</th>\s*<td class=\"v\"><b>([^<]+)</b>", html)
    assert cell, f"no {name} on the page"
    return float(cell[1].replace("\u202f", ""))


@pytest.mark.parametrize("name", SETTINGS)
def test_the_same_setting_gives_the_same_numbers_on_page_and_command_line(app, name):
    words, options = SETTINGS[name]
    done = CliRunner().invoke(ringwright, ["doff", "demo", "--frame", "F1", "--yarn", "AV30K", *options, "--json"])
    assert done.exit_code == 0, done.output
    places = json.loads(done.output)["places"]
    assert len(places) == 80 * 25
    for stage, row in (("0 %", 0), ("100 %", 79)):  # the foot of the first and of the last of 80 strokes of 25 places
        html = shown(app, words, f"&doff={quote(stage)}")["html"]["about"]
        for words_of_row, column, step in TOLD:
            assert number(html, words_of_row) == pytest.approx(places[25 * row][column], abs=0.51 * step)


def said_of(sentence):
    """What is said of a value; the page calls it by its field, the command line by its option."""
    return sentence.partition(" is ")[2]


def test_a_travellers_number_alone_is_its_mass_in_mg_as_on_the_command_line(app):
    assert shown(app, {"traveller": "40"})["html"]["about"] == shown(app, {"traveller": "40 mg"})["html"]["about"]


@pytest.mark.parametrize(
    ("words", "options"),
    [
        ({"traveller": "0.1 mg"}, ["--traveller", "0.1 mg"]),
        ({"traveller": "40 mm"}, ["--traveller", "40 mm"]),
        ({"traveller": "heavy"}, ["--traveller", "heavy"]),
        ({"speed": "60000 rpm"}, ["--speed", "60000 rpm"]),
        ({"speed": "16000 rmp"}, ["--speed", "16000 rmp"]),
        ({"friction": "0.9"}, ["--ring-friction", "0.9"]),
        ({"traveller": "9 g", "speed": "60000 rpm"}, ["--traveller", "9 g", "--speed", "60000 rpm"]),
    ],
)
def test_the_same_wrong_value_is_refused_in_the_same_words(app, words, options):
    done = CliRunner().invoke(ringwright, ["doff", "demo", "--frame", "F1", "--yarn", "AV30K", *options])
    assert done.exit_code == 1
    told = shown(app, words)["faults"]
    on_page = {said_of(sentence) for sentences in told.values() for sentence in sentences}
    assert on_page == {said_of(sentence) for sentence in str(done.exception).splitlines()}
    assert set(told) == set(words)


def test_an_unknown_frame_is_refused_in_the_same_words(app):
    done = CliRunner().invoke(ringwright, ["doff", "demo", "--frame", "F9", "--yarn", "AV30K"])
    assert json.loads(request(app, "/answer/place/F9/AV30K").body)["refused"] == str(done.exception).splitlines()


def test_a_frames_own_measure_is_held_against_the_rules_of_its_file(app):
    told = shown(app, {"control_diameter": "30 mm", "guide_height": "6 mm"})["faults"]
    assert "more than 36" in told["control_diameter"][0]
    assert "full cop's diameter" in told["control_diameter"][0]
    assert "from 80" in told["guide_height"][0]


def test_the_yarn_drawn_is_the_yarn_that_the_solver_traces():
    mill = verbs.open_mill("demo")
    for words in ({}, {"control_ring": "none", "traveller": "50 mg"}):
        tried = read_tried(mill, "F1", "AV30K", words)
        assert tried.choice is not None
        one = asked(tried, Moment(share=0.3, up=0.25), 0, banded=False)
        solutions, traced = Solver().ask(one.positions()).result()
        place = place_of(tried.choice, Moment(share=0.3, up=0.25), solutions, traced, banded=False)
        whole = threads(positions(tried.choice, place.here.places))
        line = place.line
        assert line is not None
        at = np.linspace(0.0, line.depth[-1], 40)
        for name, within in (("radius", 2e-6), ("tension", 2e-6)):
            ours = np.interp(at, line.depth, getattr(line, name))
            assert ours == pytest.approx(np.interp(at, whole.depth[:, 0], getattr(whole, name)[:, 0]), abs=100 * within)
        assert line.tension[0] == pytest.approx(float(solutions.guide_tension[0]), rel=1e-9)
        assert line.tension[-1] == pytest.approx(float(solutions.ring_tension[0]), rel=1e-6)
        assert line.radius[-1] == pytest.approx(0.020, rel=1e-6)  # the ring of 40 mm


def test_solving_ahead_changes_no_number(app):
    alone = shown(make_app("demo"), {"traveller": "41 mg"})
    shown(app, {"traveller": "40 mg"}, "&m=traveller")  # solves 41 mg along
    assert shown(app, {"traveller": "41 mg"})["html"]["about"] == alone["html"]["about"]


def test_the_next_steps_of_a_slider_are_known_once_its_answer_has_gone(app):
    work = app.state.work
    shown(app, {"traveller": "55 mg"}, "&m=traveller")
    mill = work.shelf.mill()
    for words, known in (("56 mg", True), ("54 mg", True), ("55.37 mg", False)):
        tried = read_tried(mill, "F1", "AV30K", {"traveller": words})
        assert work.ahead.knows(asked(tried, Moment(), work.shelf.version, banded=True).key) is known


def test_a_step_that_cannot_be_used_is_left_out_of_what_is_solved_ahead(app):
    """At the last step of a slider its next one breaks a rule of the frame; the answer still stands."""
    reply = shown(app, {"control_diameter": "50 mm"}, "&m=control_diameter")
    assert reply["faults"] == {}


def test_the_doff_that_is_played_is_the_doff_of_the_command_line():
    done = CliRunner().invoke(ringwright, ["doff", "demo", "--frame", "F1", "--yarn", "AV30K", "--json"])
    places = json.loads(done.output)["places"]
    played = play_of(verbs.open_mill("demo"), "F1", "AV30K", verbs.trial())
    assert played["grid"] == [80, 25]
    assert played["winding"] == [round(10 * place["winding_tension_cN"]) for place in places]
    assert played["ring"] == [round(10 * place["ring_rail_height_mm"]) for place in places]


def test_an_answer_carries_the_mark_of_its_question(app):
    assert echo(b"") == "811c9dc5"  # the offset basis of FNV-1a with 32 bits
    assert echo(b"a") == "e40c292c"  # published test value: Noll's FNV-1a, 32 bits, of "a" (from memory)
    assert echo(b"foobar") == "bf9cf968"  # the same list, of "foobar" (from memory)
    assert shown(app, {"traveller": "41 mg"})["echo"] == echo(b"part=ring&traveller=41%20mg")


def test_an_address_read_and_written_again_is_the_same():
    text = "traveller=41%20mg&guide=fixed&doff=30%20%25&b=1&b_speed=17000%20rpm&part=cop&u=Ne%2Cin"
    assert read_address("F1", "AV30K", text).query() == text


def test_a_value_that_is_the_mills_own_is_no_trial(app):
    assert shown(app, {"traveller": "45 mg"})["html"]["about"] == shown(app, {})["html"]["about"]


def test_a_mill_that_becomes_wrong_on_disk_is_told_and_one_that_is_mended_is_shown(tmp_path):
    from ringwright.mill import demo_mill_path  # noqa: PLC0415

    folder = tmp_path / "mill"
    shutil.copytree(demo_mill_path(), folder)
    app = make_app(str(folder))
    assert request(app, "/bench/F1/AV30K").status == 200
    file = folder / "frame_f1.toml"
    right = file.read_text(encoding="utf-8")
    file.write_text(right.replace('diameter = "40 mm" ', 'diameter = "400 mm" ', 1), encoding="utf-8")
    reply = request(app, "/bench/F1/AV30K")
    assert reply.status == 422
    assert "frame_f1.toml" in reply.text
    assert "400 mm" in reply.text
    file.write_text(right + "\n", encoding="utf-8")
    assert request(app, "/bench/F1/AV30K").status == 200


def test_a_page_is_under_its_weight(app):
    """The first page: below 200 kB with its scripts, styles and font; the page itself packed, the files as they are."""
    import gzip  # noqa: PLC0415

    page = request(app, "/bench/F1/AV30K")
    names = set(re.findall(r"/static/([\w.-]+)", page.text)) | {"live.js", "fields.js", "steps.js", "balloon.js"}
    files = sum(len(request(app, f"/static/{name}").body) for name in names | {"card-plain.woff2"})
    assert len(gzip.compress(page.body)) + files < 200_000
