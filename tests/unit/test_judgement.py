"""A setting of the demonstration mill judged: the friction band, the notes and the cautions."""

from __future__ import annotations

import numpy as np
import pytest

from ringwright.judgement import Judgement, cautions, judge, rooms
from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.setting.choice import Trial
from ringwright.setting.doff import solve_doff
from ringwright.setting.places import Sampling

MILL = read_mill(demo_mill_path())
SETTINGS = [(setting.frame, setting.yarn) for setting in MILL.settings.values()]
EVERYWHERE = {
    "fold", "neck", "lift_off", "lift_off_force", "separator", "separator_room", "tube", "cop", "strength_share",
    "traveller_speed", "traveller_heat", "spindle", "spindle_speed", "drive_slip",
}  # fmt: skip
VERDICTS = {"safe", "ok", "okay", "good", "bad", "danger", "alarm", "score", "safety"}


@pytest.fixture(scope="module")
def judged() -> dict[tuple[str, str], Judgement]:
    return {setting: judge(MILL, *setting) for setting in SETTINGS}


def by_key(judgement):
    return {room.key: room for room in judgement.rooms}


@pytest.mark.parametrize("setting", SETTINGS, ids="-".join)
def test_every_setting_of_the_demonstration_mill_is_held_against_every_limit(judged, setting):
    judgement = judged[setting]
    found = by_key(judgement)
    assert set(found) - {"control_ring_heat"} == EVERYWHERE
    assert len(found) == len(judgement.rooms)
    assert judgement.places_solved == 3 * 20 * 13
    assert judgement.places_followed >= 24
    assert judgement.places_drawn >= 40
    for room in judgement.rooms:
        assert room.source
        assert room.owner
        assert room.origin in {"measured", "computed", "assumed", "common practice"}
        assert room.sentence.startswith(f"{room.name}: ")
        assert room.sentence.endswith(".")
        assert "nan" not in room.sentence
        assert "  " not in room.sentence


@pytest.mark.parametrize("setting", SETTINGS, ids="-".join)
def test_no_word_of_a_judgement_is_a_verdict(judged, setting):
    judgement = judged[setting]
    text = " ".join([*judgement.notes, *(room.sentence for room in judgement.rooms)])
    assert not VERDICTS & set(text.lower().replace(",", " ").replace(".", " ").replace(":", " ").split())


@pytest.mark.parametrize("setting", SETTINGS, ids="-".join)
def test_the_interval_holds_the_room_and_the_rooms_stand_nearest_first(judged, setting):
    judgement = judged[setting]
    for room in judgement.rooms:
        if room.low is not None:
            assert room.low <= room.room <= room.high
            assert room.band == "ring friction 0.08 to 0.13"
    used = [room.used for room in judgement.rooms if room.used is not None]
    assert used == sorted(used, reverse=True)
    assert all(room.used is None for room in judgement.rooms[len(used) :])


def test_speeds_have_no_interval_because_friction_does_not_move_them(judged):
    found = by_key(judged["F1", "AV30K"])
    for key in ("traveller_speed", "spindle", "spindle_speed"):
        assert found[key].low is None


def test_more_ring_friction_leaves_less_room_to_strength_and_heat_and_more_to_the_separator():
    # The traveller's drag pulls the yarn taut: more tension and heat, a slimmer balloon.
    few = Sampling(strokes=4, places=4)
    low, high = (
        {
            room.key: room.room or 0.0
            for room in rooms(solve_doff(MILL, "F1", "AV30K", Trial(ring_friction=mu), few), MILL.limits)
        }
        for mu in (0.08, 0.13)
    )
    assert low["strength_share"] > high["strength_share"]
    assert low["traveller_heat"] > high["traveller_heat"]
    assert low["separator"] < high["separator"]
    assert low["fold"] < high["fold"]


def test_the_ends_of_the_band_are_the_rooms_at_its_ends(judged):
    judgement = judged["F3", "AV20W"]
    ends = [
        {room.key: room.room or 0.0 for room in judge(MILL, "F3", "AV20W", Trial(ring_friction=mu)).rooms}
        for mu in (0.08, 0.13)
    ]
    room = by_key(judgement)["traveller_heat"]
    assert sorted((room.low, room.high)) == pytest.approx(sorted(end["traveller_heat"] for end in ends))


def test_a_friction_that_is_tried_has_no_band():
    tried = judge(MILL, "F1", "AV30K", Trial(ring_friction=0.2))
    assert tried.frictions == (0.2,)
    assert tried.band == "ring friction 0.20 as tried, no band"
    assert all(room.low is None for room in tried.rooms)
    assert tried.places_solved == 20 * 13


def test_the_rooms_agree_with_the_doff_they_come_from(judged):
    judgement = judged["F1", "AV30K"]
    found, forces, mill = by_key(judgement), judgement.doff.forces, MILL
    assert found["traveller_heat"].value == np.nanmax(forces.traveller_heat)
    assert found["strength_share"].value == np.nanmax(forces.triangle_most)
    assert found["strength_share"].limit == pytest.approx(0.25 * mill.yarns["AV30K"].strength)
    assert found["separator"].room == pytest.approx(float(np.nanmin(forces.separator_room)))


def test_places_without_a_steady_balloon_come_first(judged):
    usual = judged["F1", "AV30K"]
    light = judge(MILL, "F1", "AV30K", Trial(traveller_mass=0.8 * by_key(usual)["fold"].limit))
    assert light.notes[0].startswith("At ring friction 0.10, ")
    assert "have no steady balloon" in light.notes[0]
    assert light.notes[1].startswith("At ring friction 0.08, ")
    assert by_key(light)["fold"].room < 0
    assert not any("no steady balloon" in note for note in usual.notes)


def test_thermoplastic_fibres_bring_a_warning_and_cotton_does_not(judged):
    warned = [note for note in judged["F1", "AV40B"].notes if "can melt" in note]
    assert len(warned) == 1
    assert warned[0].startswith("This yarn holds polyester (65\u202f%), which rubbing heat can melt: ")
    assert "at the traveller and at the control ring" in warned[0]
    assert not any("can melt" in note for note in judged["F1", "AV30K"].notes)
    heat = by_key(judged["F1", "AV40B"])["control_ring_heat"]
    assert heat.not_met.startswith("no limit is stated; yarn rubs on the control ring with at most ")


def test_the_notes_say_how_many_places_were_looked_at(judged):
    judgement = judged["F1", "AV30K"]
    start = "260 places of the doff were solved at each of ring friction 0.08, 0.10, 0.13. "
    note = next(note for note in judgement.notes if note.startswith(start))
    assert f"looked for at {judgement.places_followed} of them, tube and cop at {judgement.places_drawn}" in note


def test_an_unknown_yarn_is_refused_with_the_nearest_name():
    with pytest.raises(Refusal, match="AV30K"):
        judge(MILL, "F1", "AV30")


@pytest.mark.parametrize("setting", SETTINGS, ids="-".join)
def test_cautions_begin_with_the_lock_out_and_defer_to_the_mill_and_trained_people(setting):
    frame, yarn = MILL.frames[setting[0]], MILL.yarns[setting[1]]
    found = cautions(frame, yarn)
    assert found[0].words.startswith("Stop and lock out before reaching past the guards")
    for caution in found:
        assert caution.words.startswith(caution.act)
        assert caution.words.endswith("Your mill's rules and trained people come first.")
    work = {caution.work for caution in found}
    assert {
        "changing travellers",
        "changing or setting rings",
        "setting control rings",
        "being in the ring room",
    } < work


def test_cautions_fit_the_frame_and_the_yarn():
    frame, yarn = MILL.frames["F4"], MILL.yarns["AV40B"]
    found = cautions(frame, yarn)
    assert any(caution.work == "work on spindle tapes" for caution in found)
    assert any("polyester and cotton" in caution.harm for caution in found)
    without = cautions(frame.model_copy(update={"control_ring": None}), yarn)
    assert not any("control ring" in caution.work for caution in without)
    motors = frame.model_copy(update={"drive": frame.drive.model_copy(update={"kind": "single-spindle motors"})})
    assert any("authorised people" in caution.act for caution in cautions(motors, yarn))
