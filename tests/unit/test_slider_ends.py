"""The forbidden ends of a slider: where the judgement itself says that a limit is passed."""

from __future__ import annotations

import json

import pytest
from web_request import request

from ringwright.judgement import judge
from ringwright.setting.choice import Trial
from ringwright.verbs import app
from ringwright.web.server import make_app
from ringwright.workbench.ends import ends_of

MILL = app.open_mill("demo")


def rooms(**tried):
    found = judge(MILL, "F1", "AV30K", Trial(**tried, ring_friction=MILL.frames["F1"].ring.friction)).rooms
    return {room.key: room for room in found}


def test_the_traveller_may_run_up_to_the_speed_at_which_its_own_limit_lies():
    # The traveller's speed is in proportion to the spindle's, so that its limit lies at limit / value times the speed.
    room, speed = rooms()["traveller_speed"], MILL.settings["F1-AV30K"].main_speed
    assert room.limit is not None
    assert room.value is not None
    (end,) = ends_of(MILL, "F1", "AV30K", {}, "speed")
    assert end.low == pytest.approx(speed * room.limit / room.value, rel=0.005)
    assert (end.below, end.above, end.names[0]) == (False, True, "Traveller speed")


def test_the_judgement_passes_no_limit_inside_and_one_outside_of_a_travellers_ends():
    low, high = ends_of(MILL, "F1", "AV30K", {}, "traveller")
    assert low.below
    assert high.above
    nearest = 1.0e-6
    for edge, inwards in ((low.high, 1), (high.low, -1)):
        for mass, passed in ((edge - inwards * nearest, True), (edge + inwards * nearest, False)):
            assert any(one.room is not None and one.room < 0 for one in rooms(traveller_mass=mass).values()) == passed


def test_where_no_balloon_stands_the_end_says_so():
    ends = ends_of(MILL, "F1", "AV30K", {"control_ring": "none"}, "traveller")
    assert ends[0].below
    found = judge(MILL, "F1", "AV30K", Trial(control_ring=False, traveller_mass=ends[0].low))
    assert any("no steady balloon" in note for note in found.notes)


def test_a_value_that_a_rule_of_the_frame_refuses_is_a_forbidden_end_too():
    ends = ends_of(MILL, "F1", "AV30K", {"control_height": "150 mm", "guide_height": "225 mm"}, "guide_height")
    assert ends


def test_the_fields_own_value_moves_nothing_on_its_own_slider_and_others_do():
    server = make_app("demo")

    def words(query):
        told = json.loads(request(server, f"/answer/ends/F1/AV30K?part=lappet&{query}").body)["ends"]
        return told["guide_height"]["words"]

    assert words("guide_height=240%20mm") == words("") != words("traveller=36%20mg")
    assert "below about" in words("u=in")
    assert " in" in words("u=in")


def test_what_cannot_be_used_as_typed_has_no_ends():
    server = make_app("demo")
    told = json.loads(request(server, "/answer/ends/F1/AV30K?part=ring&speed=60000%20rpm").body)
    assert told["ends"] == {}
