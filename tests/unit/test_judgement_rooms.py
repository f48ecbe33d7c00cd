"""The room to each limit against planted values and hand arithmetic, and how it is told."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from ringwright.judgement.balloon_rooms import branch_rooms, separator_rooms
from ringwright.judgement.close_look import CloseLook, look_closely
from ringwright.judgement.inside import Inside, inside_of
from ringwright.judgement.judging import rooms
from ringwright.judgement.notes import unsteady_notes
from ringwright.judgement.room import Authority, Kind, Room, nearest_first, place_of
from ringwright.judgement.stated import stated_rooms
from ringwright.mill import Limit, demo_mill_path, read_mill
from ringwright.physics.outcome import Outcome
from ringwright.physics.position import Threads
from ringwright.setting.choice import Trial
from ringwright.setting.doff import solve_doff
from ringwright.setting.places import Sampling

RPM = 2 * np.pi / 60
MILL = read_mill(demo_mill_path())
SMALL = Sampling(strokes=3, places=4)
COUNT = 12
KIND = Kind(key="heat", name="Heat", quantity="power", unit="W", measured="rubs with")
AUTHORITY = Authority(source="a trial", owner="the mill", origin="measured")


@pytest.fixture(scope="module")
def doff():
    return solve_doff(MILL, "F1", "AV30K", sampling=SMALL)


@pytest.fixture(scope="module")
def blend():
    return solve_doff(MILL, "F1", "AV40B", sampling=SMALL)


def planted(doff, name, value, at, otherwise):
    """Give the doff with one quantity of its forces the same everywhere but at one place."""
    values = np.full(len(doff.places), otherwise)
    values[at] = value
    return replace(doff, forces=replace(doff.forces, **{name: values}))


def unlooked():
    return np.full(COUNT, np.nan)


def at_place(value, at):
    values = unlooked()
    values[at] = value
    return values


def a_look(**changes):
    nothing = Inside(
        balloon_at_tube=unlooked(), tube=unlooked(), tube_height=unlooked(), balloon_at_cop=unlooked(), cop=unlooked()
    )
    usual: dict[str, Any] = {
        "fold": unlooked(), "neck": unlooked(), "lift_off": unlooked(), "lightest": np.full(COUNT, 1e-6), "lost": 0,
        "radial_force": unlooked(), "inside": nothing, "followed_at": np.ones(COUNT, bool),
        "shapes_at": np.ones(COUNT, bool),
    }  # fmt: skip
    return CloseLook(**(usual | changes))


def by_key(found):
    return {room.key: room for room in found}


def a_room(**changes):
    place = place_of(solve_doff(MILL, "F1", "AV30K", sampling=Sampling(strokes=2, places=2)), 0)
    usual: dict[str, Any] = {
        "kind": KIND, "authority": AUTHORITY, "place": place, "room": 4.0, "value": 8.0, "limit": 12.0, "scale": 12.0,
    }  # fmt: skip
    return Room(**(usual | changes))


def test_the_strength_room_is_the_share_of_strength_less_the_largest_tension_at_the_triangle(doff):
    # 25 % of 325 cN is 81.25 cN; less 50 cN leaves 31.25 cN. 50/81.25 = 0.6154 of the way is used.
    here = planted(doff, "triangle_most", 0.50, at=7, otherwise=0.20)
    room = by_key(stated_rooms(here, MILL.limits))["strength_share"]
    assert (room.value, room.limit) == (pytest.approx(0.50), pytest.approx(0.8125))
    assert room.room == pytest.approx(0.3125)
    assert room.used == pytest.approx(0.6154, abs=5e-5)
    assert room.place.index == 7
    assert (room.quantity, room.unit) == ("force", "cN")


def test_a_limit_that_is_passed_has_negative_room_and_says_so(doff):
    room = by_key(stated_rooms(planted(doff, "traveller_heat", 14.5, at=4, otherwise=6.0), MILL.limits))[
        "traveller_heat"
    ]
    assert room.room == pytest.approx(-2.5)  # 12 W stated, 14.5 W planted
    assert room.words == "passed by 2.5\u202fW"
    assert room.sentence.endswith("traveller rubs on the ring with 14.5\u202fW, limit 12.0\u202fW.")


def test_places_without_a_value_do_not_hide_the_worst_of_the_others(doff):
    here = planted(doff, "traveller_heat", 9.0, at=3, otherwise=np.nan)
    room = by_key(stated_rooms(here, MILL.limits))["traveller_heat"]
    assert (room.place.index, room.room) == (3, pytest.approx(3.0))


def test_spindle_and_traveller_are_held_against_their_own_limits(doff):
    found = by_key(stated_rooms(doff, MILL.limits))
    # The frame's spindles are built for 20 000 rpm, the mill allows 18 000 rpm, the main speed is 16 000 rpm.
    assert found["spindle"].room / RPM == pytest.approx(4000)
    assert found["spindle_speed"].room / RPM == pytest.approx(2000)
    # 20 mm radius at 16 000 rpm would be 33.51 m/s; yarn of 19.1 m/min wound on 36 mm takes off some 169 rpm.
    assert found["traveller_speed"].value == pytest.approx(33.51 - 0.35, abs=0.05)
    assert found["spindle"].owner == "spindles of F1"


def test_a_limit_carries_the_source_owner_and_origin_word_of_the_mill(doff):
    heat = by_key(stated_rooms(doff, MILL.limits))["traveller_heat"]
    assert heat.origin == "assumed"
    assert heat.source == "no source; to be replaced by the mill's own trials of traveller life"
    assert heat.owner == "ring-frame technologist, Alder Vale (invented)"


def test_a_limit_that_nobody_states_says_the_most_there_is_instead_of_a_room(doff):
    here = planted(doff, "traveller_heat", 9.0, at=5, otherwise=6.0)
    room = by_key(stated_rooms(here, {}))["traveller_heat"]
    assert room.room is None
    assert room.not_met.startswith("no limit is stated; traveller rubs on the ring with at most 9.0\u202fW, at minute ")


def test_winding_tension_has_a_row_only_where_the_mill_states_a_limit(doff):
    assert "winding_share" not in by_key(stated_rooms(doff, MILL.limits))
    stated = Limit(name="winding_share", value=0.20, source="measured, a trial", owner="the mill")
    here = planted(doff, "winding_tension", 0.55, at=1, otherwise=0.30)
    room = by_key(stated_rooms(here, {"winding_share": stated}))["winding_share"]
    assert room.room == pytest.approx(0.10)  # 20 % of 325 cN is 65 cN, less 55 cN
    assert (room.origin, room.source) == ("measured", "a trial")


def test_control_ring_heat_is_friction_times_force_times_speed_round_the_ring(blend):
    at = 2
    here = planted(blend, "control_ring_force", 0.10, at=at, otherwise=0.0)
    stated = Limit(name="control_ring_heat", value=1.0, source="assumed, an example")
    room = by_key(stated_rooms(here, {"control_ring_heat": stated}))["control_ring_heat"]
    # friction 0.20, 10 cN, radius 22 mm at the traveller's speed
    power = 0.20 * 0.10 * float(here.places.traveller_speed[at]) * 0.022
    assert room.value == pytest.approx(power)
    assert room.room == pytest.approx(1.0 - power)
    assert room.place.index == at


def test_control_ring_heat_is_asked_for_thermoplastic_yarn_on_a_frame_with_control_rings(doff, blend):
    free = solve_doff(MILL, "F1", "AV40B", Trial(control_ring=False), SMALL)
    assert "control_ring_heat" in by_key(stated_rooms(blend, MILL.limits))
    assert "control_ring_heat" not in by_key(stated_rooms(doff, MILL.limits))
    assert "control_ring_heat" not in by_key(stated_rooms(free, MILL.limits))


def test_the_separator_room_is_from_the_widest_place_to_the_plates_face_and_to_the_mills_own_room(doff):
    # Gauge 70 mm, plate 1 mm: the face is 34.5 mm from the axis. Of the 14.5 mm beyond the ring 9.5 mm are used.
    found = separator_rooms(planted(doff, "largest_radius", 29.5e-3, at=6, otherwise=25e-3), MILL.limits)
    face, own = found
    assert face.room == pytest.approx(5.0e-3)
    assert face.used == pytest.approx(9.5 / 14.5)
    assert own.room == pytest.approx(4.0e-3)  # the mill wants 1 mm left
    assert (face.name, face.owner, own.key) == ("Separator", "physics", "separator_room")


def test_where_the_balloon_reaches_into_the_plate_it_says_how_often_it_rubs(doff):
    face = separator_rooms(planted(doff, "largest_radius", 36e-3, at=6, otherwise=25e-3), {})[0]
    assert face.words == "passed by 1.5\u202fmm"
    assert "At 1 of 12 places it rubs on the plate" in face.remark


def test_without_plates_the_neighbour_is_half_the_gauge_away(doff):
    frame = doff.choice.frame
    bare = frame.model_copy(update={"separators": frame.separators.model_copy(update={"fitted": False})})
    here = replace(doff, choice=replace(doff.choice, frame=bare))
    face = separator_rooms(planted(here, "largest_radius", 30e-3, at=0, otherwise=25e-3), {})[0]
    assert face.name == "Neighbour"
    assert face.room == pytest.approx(5.0e-3)


def test_the_fold_room_is_the_traveller_less_the_heaviest_fold(doff):
    look = a_look(fold=at_place(19e-6, 8), radial_force=at_place(1.2, 8))
    fold = by_key(branch_rooms(doff, look))["fold"]
    assert fold.room == pytest.approx(26e-6)  # 45 mg in use
    assert (fold.value, fold.limit, fold.place.index) == (pytest.approx(45e-6), pytest.approx(19e-6), 8)
    assert fold.words == "26.0\u202fmg lighter"
    assert fold.used == pytest.approx(19 / 45)


def test_lift_off_is_told_as_mass_and_as_the_radial_force_left(doff):
    look = a_look(lift_off=at_place(5e-6, 1), radial_force=at_place(1.2, 8))
    found = by_key(branch_rooms(doff, look))
    assert found["lift_off"].words == "40.0\u202fmg lighter"
    force = found["lift_off_force"]
    assert force.words == "120.0\u202fcN left"
    thrown = 45e-6 * float(doff.places.traveller_speed[8]) ** 2 * 0.020
    assert force.used == pytest.approx(1 - 1.2 / thrown)


@pytest.mark.parametrize(
    ("changes", "key", "sentence"),
    [
        ({"fold": at_place(9e-6, 0)}, "neck", "Neck: not met: the balloon folds before it necks."),
        (
            {"lift_off": at_place(9e-6, 0)},
            "neck",
            "Neck: not met: the traveller lifts off before the balloon necks.",
        ),
        (
            {"fold": at_place(9e-6, 0), "lift_off": at_place(9e-6, 1)},
            "neck",
            "Neck: not met: the balloon folds, or the traveller lifts off, before it necks.",
        ),
        ({"lift_off": at_place(9e-6, 0)}, "fold", "Fold: not met: the traveller lifts off before the balloon folds."),
        (
            {"fold": at_place(9e-6, 0)},
            "lift_off",
            "Lift-off: not met: the balloon folds before the traveller lifts off.",
        ),
        ({}, "fold", "Fold: not met down to a traveller of 1.0\u202fmg, where the search ends."),
        (
            {"lost": 2},
            "fold",
            "Fold: not found: at 2 of 12 places looked at the balloon could not be followed to the end.",
        ),
    ],
)
def test_a_limit_that_is_nowhere_met_says_what_comes_before_it(doff, changes, key, sentence):
    room = by_key(branch_rooms(doff, a_look(**changes)))[key]
    assert room.room is None
    assert room.sentence == sentence


def test_the_inside_is_measured_at_the_tip_of_the_tube(doff):
    # A cone of yarn from the eyelet down to the ring at height 0; the tip stands 190 mm up and has 17.4/2 = 8.7 mm.
    guide = float(doff.places.guide_height[0])
    down = np.linspace(0, guide, 80)[:, None]
    cone = Threads(depth=down, radius=0.020 * down / guide, azimuth=0 * down, tension=0 * down)
    inside = inside_of(doff, cone, np.array([0]))
    assert 1e3 * inside.balloon_at_tube[0] == pytest.approx(20 * (1e3 * guide - 190) / (1e3 * guide))
    assert 1e3 * inside.tube[0] == pytest.approx(8.7)
    assert 1e3 * inside.tube_height[0] == pytest.approx(190)
    assert np.isnan(inside.balloon_at_tube[1:]).all()


def test_a_balloon_that_is_nowhere_nearer_the_cop_than_the_traveller_does_not_meet_it(doff):
    last = len(doff.places) - doff.places_per_stroke  # the foot of the last stroke: 18 mm of cop in a ring of 20 mm
    depth = np.linspace(0, float(doff.places.balloon_height[last]), 80)[:, None]
    bulging = 0.020 + 0.004 * np.sin(np.pi * depth / depth[-1])
    still = Threads(depth=depth, radius=bulging, azimuth=0 * depth, tension=0 * depth)
    assert np.isnan(inside_of(doff, still, np.array([last])).balloon_at_cop).all()


def test_a_balloon_that_hugs_the_nose_of_the_cop_is_measured_there(doff):
    last = len(doff.places) - doff.places_per_stroke
    places, build = doff.places, doff.choice.frame.build
    depth = np.linspace(0, float(places.balloon_height[last]), 400)[:, None]
    # 23 mm up from the foot, half the 46 mm of the cone; its radius is half-way from 18 mm to the tube at its top,
    # which stands at foot + 46 mm: 20.6 - 3.2 * (10 + height)/200 across.
    foot = float(places.foot_height[last])
    top = (20.6e-3 - 3.2e-3 * (10e-3 + foot + build.chase) / 200e-3) / 2
    middle = (18e-3 + top) / 2
    above = places.guide_height[last] - depth - foot
    radius = np.where(abs(above - 0.023) < 0.0006, middle + 0.0005, 0.020)
    hugging = Threads(depth=depth, radius=radius, azimuth=0 * depth, tension=0 * depth)
    inside = inside_of(doff, hugging, np.array([last]))
    # The points stand some 0.5 mm apart, and the cone falls some 0.2 mm for each mm of height.
    assert inside.balloon_at_cop[last] == pytest.approx(middle + 0.0005)
    assert inside.cop[last] == pytest.approx(middle, abs=1.5e-4)


def test_rooms_are_sorted_by_the_share_of_the_way_used_and_those_without_stand_last():
    near, far = a_room(room=1.0), a_room(room=6.0)
    none = a_room(place=None, room=None, value=None, limit=None, not_met="not met")
    passed = a_room(room=-1.0)
    assert nearest_first([none, far, near, passed]) == (passed, near, far, none)


def test_a_room_is_told_with_interval_place_value_and_limit():
    room = a_room(low=3.0, high=5.0, band="ring friction 0.08 to 0.13")
    assert room.sentence == (
        "Heat: 4.0\u202fW (3.0 to 5.0 over ring friction 0.08 to 0.13) at minute 0, foot of a stroke, winding on "
        "20.4\u202fmm; rubs with 8.0\u202fW, limit 12.0\u202fW."
    )
    assert room.used_interval == (pytest.approx(7 / 12), pytest.approx(9 / 12))


@pytest.mark.parametrize(
    ("room", "low", "high", "words"),
    [
        (4.0, 3.0, 5.0, "3.0 to 5.0"),
        (-4.0, -5.0, -3.0, "3.0 to 5.0"),
        (1.0, -0.5, 2.0, "passed by 0.5 to room of 2.0"),
        (4.0, 3.99, 4.01, ""),
    ],
)
def test_an_interval_reads_as_its_room_reads(room, low, high, words):
    assert a_room(room=room, low=low, high=high).interval_words == words


def test_a_room_wants_either_its_value_or_the_reason_for_having_none():
    with pytest.raises(ValueError, match="the reason"):
        a_room(room=None)
    with pytest.raises(ValueError, match="needs its place"):
        a_room(place=None)


def test_foot_top_rise_and_fall_of_a_stroke_are_told_apart(doff):
    # Four places in a stroke with two thirds on the rise: 0, 2/9, 4/9 and 2/3 of its yarn, the last being the top.
    parts = [place_of(doff, index).part for index in range(4)]
    assert parts == ["foot", "rise", "rise", "top"]
    fine = solve_doff(MILL, "F1", "AV30K", sampling=Sampling(strokes=2, places=6))
    assert [place_of(fine, index).part for index in range(6)] == ["foot", "rise", "rise", "rise", "top", "fall"]


def test_a_doff_without_a_steady_balloon_anywhere_says_so_in_every_room():
    # 1 mg cannot hold a balloon of 19.7 tex yarn on this frame.
    none = solve_doff(MILL, "F1", "AV30K", Trial(traveller_mass=1e-6), Sampling(strokes=2, places=2))
    assert (none.forces.outcome != Outcome.STEADY).all()
    found = by_key(rooms(none, MILL.limits))
    assert found["strength_share"].not_met == "not known: there is no steady balloon at any place of the doff"
    assert found["tube"].room is None
    assert found["cop"].room is None
    assert found["separator"].room is None
    assert min(found["fold"].room or 0, found["lift_off"].room or 0) < 0


def test_a_place_without_a_steady_balloon_names_the_limit_passed_where_and_by_how_much():
    followed = look_closely((solve_doff(MILL, "F1", "AV30K", sampling=SMALL),))[0].fold
    mass = 0.8 * np.nanmax(followed)
    light = solve_doff(MILL, "F1", "AV30K", Trial(traveller_mass=mass), SMALL)
    refused = light.forces.outcome == Outcome.FOLD
    assert 0 < refused.sum() < COUNT
    (look,) = look_closely((light,))
    # A second way to the same masses: following the branch, and being stopped on the way to the traveller.
    both = refused & np.isfinite(followed)
    assert both.any()
    assert look.fold[both] == pytest.approx(followed[both], rel=1e-4)
    note = unsteady_notes((light,), (look,))[0]
    short = 1e6 * (np.nanmax(look.fold[refused]) - mass)
    assert note.startswith(f"At ring friction 0.10, {refused.sum()} of 12 places have no steady balloon, from minute ")
    assert f"the fold is passed by up to {short:.1f}\u202fmg, at minute " in note
    assert f"the traveller has {1e6 * mass:.1f}\u202fmg" in note


def test_places_that_could_not_be_solved_are_counted_and_not_called_a_limit(doff):
    outcome = doff.forces.outcome.copy()
    outcome[2] = Outcome.NOT_CONVERGED
    here = replace(doff, forces=replace(doff.forces, outcome=outcome))
    (note,) = unsteady_notes((here,), (a_look(),))
    assert note.startswith("At ring friction 0.10, 1 of 12 places could not be solved, at minute 0")


def test_the_slip_of_the_drive_is_held_against_its_limit_all_through_the_doff(doff):
    room = by_key(stated_rooms(doff, MILL.limits))["drive_slip"]
    assert (room.value, room.limit) == (pytest.approx(0.01), pytest.approx(0.02))  # as written in the demo mill
    assert room.used == pytest.approx(0.5)
    assert room.owner == "workshop, Alder Vale (invented)"
    assert "at every place of the doff; speed lost between drum and wharve 1.0" in room.sentence
    assert "The slip of F1 itself is common practice" in room.sentence
