"""A frame without control ring, separators and wheels: every page says what is not there, and gives no number of it."""

from __future__ import annotations

import json
import re
import shutil
from html import unescape

import pytest
from test_electronic_drafts import without_wheels
from web_request import request

from ringwright.mill import demo_mill_path
from ringwright.web.server import make_app

BARE = "F1/AV30K"


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    folder = tmp_path_factory.mktemp("mills") / "bare"
    shutil.copytree(demo_mill_path(), folder)
    file = folder / "frame_f1.toml"
    text = without_wheels(file.read_text(encoding="utf-8"))
    text = re.sub(r"\[frame\.F1\.control_ring\].*?(?=\n\[)", "", text, flags=re.DOTALL)
    text = re.sub(r"(?m)^control_ring\..*\n", "", text)
    text = re.sub(
        r"\[frame\.F1\.separators\].*?(?=\n\[)", "[frame.F1.separators]\nfitted = false\n", text, flags=re.DOTALL
    )
    file.write_text(text, encoding="utf-8")
    return make_app(str(folder))


def answer(app, part, more=""):
    reply = request(app, f"/answer/place/{BARE}?part={part}{more}")
    assert reply.status == 200, reply.text
    found = json.loads(reply.body)
    return {name: number for name, _, number in found["labels"]}, " ".join(
        unescape(re.sub(r"<[^>]+>", " ", found["html"]["about"])).split()
    )


@pytest.mark.parametrize("page", ["bench", "doff", "card", "parts", "lessons"])
def test_every_page_of_it_can_be_shown(app, page):
    assert request(app, f"/{page}/{BARE}").status == 200


def test_nothing_presses_on_a_ring_that_is_not_there(app):
    labels, about = answer(app, "control-ring")
    assert labels["control-ring"] == "none fitted"
    assert "On this frame none fitted" in about
    assert "presses" not in about


def test_the_room_of_a_frame_without_plates_is_held_to_half_the_gauge(app):
    labels, about = answer(app, "separators")
    assert labels["separators"] == "none fitted"
    assert "Room from balloon to half the gauge" in about
    assert "plate" not in about.partition("Care")[0]


def test_a_control_ring_cannot_be_tried_where_there_is_none(app):
    page = request(app, f"/bench/{BARE}?part=control-ring").text
    assert 'data-key="control_ring"' not in page
    assert 'data-key="control_diameter"' not in page


def test_a_balloon_that_passes_a_plate_is_told_by_how_much():
    app = make_app("demo")
    labels, about = answer(app, "separators", "&control_ring=none")
    assert re.fullmatch(r"\d+\.\d\u202fmm past it|\d+\.\d mm past it", labels["separators"])
    assert re.search(r"Room from balloon to plate \u2212\d", about)
