"""The whole doff against hand arithmetic, the laws of the yarn and a position written out by hand."""

from dataclasses import fields, replace

import numpy as np
import pytest

from ringwright.mill import Mill
from ringwright.physics.outcome import Outcome
from ringwright.physics.position import Positions, solve
from ringwright.refusal import Refusal
from ringwright.setting.choice import Trial, choose
from ringwright.setting.doff import compare_doffs, solve_doff
from ringwright.setting.places import Sampling
from ringwright.setting.problem import cop_shape, delivery_course, wall

RPM = 2 * np.pi / 60
SMALL = Sampling(strokes=7, places=6)
TRAIN = {"pairs": [["change", 40]], "wheels": [30, 40, 50]}
GUIDE = {"height": "225 mm", "lift": "110 mm", "stroke": "12 mm", "nip_height": "450 mm", "nip_offset": "60 mm"}
TUBE = {"length": "210 mm", "bottom_diameter": "22 mm", "top_diameter": "17 mm"}
BUILD = {
    "lift": "180 mm",
    "cop_diameter": "36.5 mm",
    "chase": "46 mm",
    "base_height": "22 mm",
    "yarn_per_stroke": "5 m",
}
CONTROL_RING = {"diameter": "44 mm", "height": "100 mm", "lift": "115 mm", "stroke": "20 mm"}
SPEEDS = {"start_speed": "13000 rpm", "base_speed": "15000 rpm", "main_speed": "16500 rpm", "tip_speed": "15500 rpm"}


def a_mill(frame=None, yarn=None, setting=None):
    drafting = {
        "front_roller_diameter": "27 mm",
        "middle_roller_diameter": "27 mm",
        "back_roller_diameter": "27 mm",
        "break_draft": 1.2,
        "gearing": {"total_draft": TRAIN, "break_draft": TRAIN, "twist": TRAIN},
    }
    spindle, drive = {"highest_speed": "20000 rpm", "wharve_diameter": "20 mm"}, {"kind": "single-spindle motors"}
    f1 = {"name": "F1", "spindles": 1008, "gauge": "70 mm", "ring": {"diameter": "40 mm"}, "spindle": spindle}
    f1 |= {"tube": TUBE, "build": BUILD, "guide": GUIDE, "control_ring": CONTROL_RING, "drafting": drafting}
    f1 |= {"drive": drive | {"drum_diameter": None}} | (frame or {})
    cotton = {"name": "cotton", "share": "100 %", "fineness": "1.6 dtex", "length": "28 mm"}
    av30k = {"name": "AV30K", "count": "19.7 tex", "process": "combed", "twist_multiplier": "3.6 TM", "strength": "3 N"}
    av30k |= {"strength_cv": "8 %", "end_use": "knitting", "fibres": [cotton]} | (yarn or {})
    chosen = {"name": "F1-AV30K", "frame": "F1", "yarn": "AV30K", "roving": "R1", "traveller": "T40", **SPEEDS}
    roving = {"name": "R1", "count": "0.9 hank", "twist_multiplier": "1.2 TM", "bobbin_mass": "1.5 kg"}
    return Mill(
        name="Alder Vale",
        frames={"F1": f1},
        yarns={"AV30K": av30k},
        rovings={"R1": roving},
        travellers={"T40": {"name": "T40", "mass": "40 mg", "profile": "round"}},
        settings={"F1-AV30K": chosen | (setting or {})},
    )


MILL = a_mill()


@pytest.fixture(scope="module")
def doff():
    return solve_doff(MILL, "F1", "AV30K", sampling=SMALL)


@pytest.fixture(scope="module")
def without_ring():
    return solve_doff(MILL, "F1", "AV30K", Trial(control_ring=False, traveller_mass=50e-6), SMALL)


def test_the_tube_is_measured_where_the_rail_stands():
    # 22 mm at the foot, 17 mm at 210 mm: at 10 mm 22 - 5 * 10/210 = 21.7619, at 190 mm 22 - 5 * 190/210 = 17.4762
    shape = cop_shape(MILL.frames["F1"])
    assert 1e3 * shape.tube_foot_diameter == pytest.approx(21.7619, abs=5e-5)
    assert 1e3 * shape.tube_top_diameter == pytest.approx(17.4762, abs=5e-5)


def test_a_doff_with_one_speed_takes_content_over_production():
    # D 37, d 19, lift 160, chase 46, base 20 mm, 0.5 g/cm3: 31113 pi mm3 (see the cop's own test) = 48.87 g; 30 Ne at
    # TM 3.9 and 18,000 rpm makes 25.28 g/h, so the doff takes 1.933 h
    plain = {"length": "180 mm", "bottom_diameter": "19 mm", "top_diameter": "19 mm"}
    build = BUILD | {"lift": "160 mm", "cop_diameter": "37 mm", "base_height": "20 mm"}
    mill = a_mill(
        frame={"tube": plain, "build": build},
        yarn={"count": "30 Ne", "twist_multiplier": "3.9 TM"},
        setting=dict.fromkeys(SPEEDS, "18000 rpm"),
    )
    problem = solve_doff(mill, "F1", "AV30K", sampling=Sampling(2, 2)).problem
    assert 1e3 * problem.content == pytest.approx(48.87, abs=0.005)
    assert problem.doff_time / 3600 == pytest.approx(1.933, abs=0.0005)


def test_the_speeds_stand_at_their_shares_of_the_doff(doff):
    setting = MILL.settings["F1-AV30K"]
    course = delivery_course(setting, MILL.yarns["AV30K"])
    assert course.shares == pytest.approx((0.0, 0.05, 0.10, 0.90, 1.0))
    # 3.6 TM at 590.54/19.7 = 29.9766 Ne: 3.6 * 5.47509 = 19.7103 turns/inch; 16 500 rpm: 837.13 in/min = 0.35438 m/s
    assert course.speeds[2] == pytest.approx(0.35438, rel=2e-5)
    assert doff.places.spindle_speed[0] == pytest.approx(13000 * RPM)
    assert doff.mean_spindle_speed < 16500 * RPM


def test_rails_stand_at_foot_and_top_of_first_and_last_stroke(doff):
    places = doff.places
    top = int(np.argmax(places.ring_height[:6]))
    got = 1e3 * np.array([places.ring_height, places.guide_height, places.control_ring_height])[:, [0, top]]
    assert got == pytest.approx(np.array([[0.0, 46.0], [225.0, 237.0], [100.0, 120.0]]))
    assert 1e3 * places.ring_height.max() == pytest.approx(180.0, abs=0.5)  # within the climb of one stroke
    assert 1e3 * places.guide_height.max() == pytest.approx(225 + 110 + 12, abs=0.5)


def test_the_traveller_lags_by_the_yarn_that_it_winds(doff):
    places = doff.places
    wound = places.traveller_lag * places.winding_diameter / 2
    assert wound == pytest.approx(places.yarn_speed, rel=1e-12)
    # on the shoulder of 36.5 mm: 1000 / (36.5 pi) = 8.721 turns a metre are missing
    assert places.missing_twist.min() == pytest.approx(8.721, abs=5e-4)


def test_a_place_is_the_position_that_a_person_would_write_down(doff):
    # second place of the last stroke sampled, every number from the mill or from the place's own heights
    i = 6 * 6 + 1
    places = doff.places
    values = {
        "yarn_linear_density": 19.7e-6,
        "ring_diameter": 0.040,
        "balloon_height": places.guide_height[i] - places.ring_height[i],
        "traveller_speed": places.spindle_speed[i] - 2 * places.yarn_speed[i] / places.winding_diameter[i],
        "traveller_mass": 40e-6,
        "winding_diameter": places.winding_diameter[i],
        "ring_traveller_friction": 0.10,
        "yarn_traveller_friction": 0.30,
        "fixed_tension_ratio": 0.0,
        "drag_coefficient": 1.0,
        "air_density": 1.2,
        "yarn_density": 1000 / 1.1,
        "feed_speed": 0.0,
        "gravity": 0.0,
        "control_ring_diameter": 0.044,
        "control_ring_depth": places.guide_height[i] - places.control_ring_height[i],
        "control_ring_friction": 0.20,
        "gauge": 0.069,
    }
    alone = solve(Positions(**{name: np.array([value]) for name, value in values.items()}))
    for name in ("guide_tension", "winding_tension", "largest_radius", "ring_force", "control_ring_force"):
        assert getattr(doff.forces, name)[i] == pytest.approx(getattr(alone, name)[0], rel=1e-6), name
    # plates of 1 mm at 70 mm gauge: their faces stand 34.5 mm from the axis
    assert doff.forces.separator_room[i] == pytest.approx(0.0345 - alone.largest_radius[0], rel=1e-6)


def test_without_separators_the_neighbour_stands_half_the_gauge_away():
    assert wall(a_mill(frame={"separators": {"fitted": False}}).frames["F1"]) == pytest.approx(0.035)


def test_tension_grows_along_the_yarn_and_drops_only_by_the_balloon_s_own_pull(without_ring):
    forces, places = without_ring.forces, without_ring.places
    assert np.all(forces.outcome == Outcome.STEADY)
    assert np.all(forces.triangle_least <= forces.triangle_tension)
    assert np.all(forces.triangle_tension <= forces.triangle_most)
    assert np.all(forces.triangle_most <= forces.guide_tension)
    assert np.all(forces.guide_tension < forces.winding_tension)
    # T + m w^2 r^2 / 2 is the same at the guide (r = 0) and at the ring
    pull = 19.7e-6 * (places.traveller_speed * 0.020) ** 2 / 2
    assert forces.guide_tension - forces.ring_tension == pytest.approx(pull, rel=1e-9)


def test_the_traveller_s_heat_is_friction_force_and_speed(doff):
    rubbing = doff.places.traveller_speed * 0.020
    assert doff.forces.traveller_heat == pytest.approx(0.10 * doff.forces.ring_force * rubbing, rel=1e-12)


def test_an_envelope_holds_the_least_and_most_of_each_stroke(doff):
    envelope = doff.envelope(doff.forces.guide_tension)
    first = doff.forces.guide_tension[:6]
    assert (envelope.least[0], envelope.most[0]) == (first.min(), first.max())
    assert envelope.least.shape == doff.stroke_time.shape == (7,)


def test_ten_per_cent_more_speed_is_twenty_one_per_cent_more_tension(doff):
    # without feed and gravity the balloon's shape does not know its speed, and every force goes with its square
    main = MILL.settings["F1-AV30K"].main_speed
    faster = solve_doff(MILL, "F1", "AV30K", Trial(main_speed=1.1 * main), SMALL)
    assert faster.forces.winding_tension == pytest.approx(1.21 * doff.forces.winding_tension, rel=1e-7)
    assert faster.problem.doff_time == pytest.approx(doff.problem.doff_time / 1.1, rel=1e-12)
    assert faster.problem.content == doff.problem.content


def test_a_fixed_guide_lets_the_balloon_shrink_by_the_whole_climb_of_the_ring_rail():
    compared = compare_doffs(MILL, "F1", "AV30K", sampling=SMALL)
    foot = slice(0, None, 6)
    moving, still = (one.places.balloon_height[foot] for one in (compared.as_chosen, compared.guide_fixed))
    # at the feet of the strokes: the ring climbs 134 mm and the guide 110 mm, or not at all
    assert 1e3 * (moving[0] - moving[-1]) == pytest.approx(24, abs=0.5)
    assert 1e3 * (still[0] - still[-1]) == pytest.approx(134, abs=0.5)
    assert any("at or above the guide" in note for note in compared.guide_fixed.notes)


def test_without_the_control_ring_the_yarn_is_pulled_harder_over_the_body():
    compared = compare_doffs(MILL, "F1", "AV30K", Trial(traveller_mass=50e-6), SMALL)
    bare = compared.without_control_ring
    assert bare is not None
    assert np.all(bare.forces.control_ring_force == 0)
    pressed = compared.as_chosen.forces.control_ring_force > 0
    assert pressed.sum() > 20
    assert np.all((bare.forces.winding_tension > compared.as_chosen.forces.winding_tension)[pressed])


def test_a_frame_without_control_ring_is_not_compared_with_itself():
    mill = a_mill(frame={"control_ring": None})
    assert compare_doffs(mill, "F1", "AV30K", sampling=Sampling(2, 2)).without_control_ring is None


def test_places_without_a_steady_balloon_are_named_and_hold_no_numbers():
    light = solve_doff(MILL, "F1", "AV30K", Trial(control_ring=False, traveller_mass=25e-6), SMALL)
    refused = light.forces.outcome != Outcome.STEADY
    assert 0 < refused.sum() < len(light.places)
    for field in fields(light.forces):
        if field.name not in {"outcome", "neck_room"}:
            assert np.array_equal(np.isnan(getattr(light.forces, field.name)), refused), field.name
    assert light.notes[0].startswith(f"At {refused.sum()} of 42 places of the doff")
    assert "The traveller has 25" in light.notes[0]


def test_a_balloon_wider_than_its_room_is_said_to_rub():
    wide = solve_doff(MILL, "F1", "AV30K", Trial(control_ring=False, traveller_mass=45e-6), SMALL)
    inside = wide.forces.separator_room < 0
    assert inside.any()
    note = next(note for note in wide.notes if "separator" in note)
    assert note.startswith(f"At {inside.sum()} of 42 places of the doff the balloon reaches up to ")
    assert not any("separator" in note for note in solve_doff(MILL, "F1", "AV30K", sampling=SMALL).notes)


@pytest.mark.parametrize(
    ("frame", "yarn", "words"),
    [("F2", "AV30K", 'frame is "F2"; .* Did you mean F1'), ("F1", "AV30W", 'yarn is "AV30W"; .* Did you mean AV30K')],
)
def test_an_unknown_name_is_refused_with_the_nearest(frame, yarn, words):
    with pytest.raises(Refusal, match=words):
        solve_doff(MILL, frame, yarn)


def test_what_is_tried_out_of_range_is_refused_together():
    with pytest.raises(Refusal) as refusal:
        choose(MILL, "F1", "AV30K", Trial(traveller_mass=1.0, main_speed=30000 * RPM, ring_friction=2.0))
    assert [fault.where for fault in refusal.value.faults] == ["traveller mass", "ring friction", "main speed"]


def test_a_trial_changes_the_choice_and_nothing_in_the_mill():
    trial = Trial(guide_fixed=True, control_ring=False, traveller_mass=45e-6, ring_friction=0.13)
    choice = choose(MILL, "F1", "AV30K", trial)
    assert (choice.setting.guide_fixed, choice.frame.control_ring, choice.frame.ring.friction) == (True, None, 0.13)
    assert choice.traveller.mass == 45e-6
    assert choose(MILL, "F1", "AV30K").traveller.mass == pytest.approx(40e-6)


def test_a_sampling_that_shows_nothing_is_refused():
    with pytest.raises(Refusal, match="number of places in a stroke is 1; it must be between 2 and 500"):
        replace(SMALL, places=1)
