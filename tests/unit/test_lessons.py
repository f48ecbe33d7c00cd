"""The lessons: their equations, their answers against the commands', and what they say where none can be given."""

from __future__ import annotations

import math
import re
import sys
import xml.etree.ElementTree as ET
from io import BytesIO

import numpy as np
import pytest
from pypdf import PdfReader

from ringwright.centring.kinematic import angle_swing, tension_swing
from ringwright.cli.main import main
from ringwright.judgement import cautions
from ringwright.lessons.asking import ask
from ringwright.lessons.belts import spindles_of_one, twist_lost
from ringwright.lessons.catalogue import LESSONS, before, lesson_at, next_after
from ringwright.lessons.control_ring import without_ring
from ringwright.lessons.drive_power import belt_pull, belt_speed, drum_speed, spindle_power
from ringwright.lessons.ground import Ground, doff_of
from ringwright.lessons.lesson import read_control
from ringwright.lessons.lesson_pdf import lesson_pdf
from ringwright.lessons.separators import gap, yarn_length
from ringwright.lessons.traveller import thrown_outward
from ringwright.lessons.wharve import speed_at_same_drum
from ringwright.physics.krause import winding_tension
from ringwright.refusal import Refusal
from ringwright.report.number import Number
from ringwright.report.position_inputs import Balloon
from ringwright.setting.choice import Trial
from ringwright.setting.doff import solve_doff
from ringwright.setting.problem import wall
from ringwright.units import from_unit, written_in
from ringwright.verbs import app
from ringwright.verbs.separating import AskedSeparators, separators_sheet

RPM = math.pi / 30
FRAMES = [("F1", "AV30K"), ("F2", "AV40B"), ("F3", "AV20W"), ("F4", "AV60C")]


@pytest.fixture(scope="module")
def mill():
    return app.open_mill("demo")


@pytest.fixture(scope="module")
def f1(mill):
    return Ground(mill=mill, frame="F1", yarn="AV30K")


@pytest.fixture
def run(monkeypatch, capsys):
    """Run the program with these words; give its exit status, what it prints, and what it says of errors."""

    def ran(*words):
        monkeypatch.setattr(sys, "argv", ["ringwright", *words])
        status = 0
        try:
            main()
        except SystemExit as done:
            status = int(done.code or 0)
        printed = capsys.readouterr()
        assert "Traceback" not in printed.out + printed.err
        return status, printed.out, printed.err

    return ran


def answer(ground, key, word=""):
    lesson = LESSONS[key]
    return lesson.answer(ground, read_control(lesson, ground, word))


def value(shown, name, *, moved=True):
    """A number of a lesson's table, SI."""
    (row,) = [row for row in shown.rows if row.name == name]
    number = row.moved if moved else row.other
    assert isinstance(number, Number), f"{name} is {number}"
    return number.value


def exact_swing(offset, ring, package, friction):
    """Half the range of angle and of Krause's tension over a turn, from the exact places of traveller and spindle."""
    turn = np.linspace(0.0, 2 * np.pi, 3601)
    x, y = ring / 2 * np.cos(turn), ring / 2 * np.sin(turn)
    to_axis = np.arctan2(-y, offset - x)
    touch = to_axis + np.arcsin(package / 2 / np.hypot(offset - x, y))
    to_centre = np.arctan2(-y, -x)
    angle = (touch - to_centre + np.pi) % (2 * np.pi) - np.pi
    tension = winding_tension(1.0, angle, friction)
    centred = winding_tension(1.0, math.asin(package / ring), friction)
    return (angle.max() - angle.min()) / 2, (tension.max() - tension.min()) / 2 / centred


# Equations


@pytest.mark.parametrize(("package", "share"), [(0.021, 0.03128), (0.0378, 0.01416)])
def test_the_swing_of_a_spindle_off_centre_is_that_of_exact_geometry(package, share):
    # 0.5 mm off a 42 mm ring, friction 0.2; the shares by hand from (2e/D)(1 - mu tan a)/(sin a + mu cos a).
    angle = math.asin(package / 0.042)
    exact_angle, exact = exact_swing(0.5e-3, 0.042, package, 0.2)
    assert tension_swing(0.5e-3, 0.042, angle, 0.2) == pytest.approx(share, abs=5e-6)
    assert tension_swing(0.5e-3, 0.042, angle, 0.2) == pytest.approx(exact, rel=0.02)
    assert angle_swing(0.5e-3, 0.042, angle) == pytest.approx(exact_angle, rel=0.02)


def test_a_centred_spindle_swings_nothing_and_twice_the_offset_swings_twice():
    assert tension_swing(0.0, 0.04, 0.5, 0.1) == 0.0
    assert tension_swing(2e-4, 0.04, 0.5, 0.1) == pytest.approx(2 * tension_swing(1e-4, 0.04, 0.5, 0.1))


def test_speeds_and_pull_at_the_wharve_are_those_of_hand_arithmetic():
    # 20 mm at 15 000 rpm: pi x 0.020 m x 250 /s = 15.708 m/s; a drum of 200 mm then turns at 1500 rpm.
    speed = 15_000 * RPM
    assert belt_speed(0.020, speed, 0.0) == pytest.approx(15.708, abs=5e-4)
    assert belt_speed(0.020, speed, 0.02) == pytest.approx(15.708 / 0.98, abs=5e-4)
    assert drum_speed(15.708, 0.200) / RPM == pytest.approx(1500, abs=0.1)
    assert belt_pull(20.0, 0.020, speed) == pytest.approx(20 / 15.708, abs=5e-5)
    assert speed_at_same_drum(speed, 0.020, 0.025) / RPM == pytest.approx(12_000)


def test_belts_share_spindles_and_slip_takes_twist_by_hand_arithmetic():
    assert [spindles_of_one(1008, belts) for belts in (1, 2, 20)] == [1008, 504, 51]
    assert twist_lost(800.0, 0.01) == pytest.approx(8.0)


def test_a_traveller_is_thrown_outward_as_the_handbook_example_says():
    # 40 mg, 16 000 rpm, 42 mm ring: 40e-6 x (1675.5)^2 x 0.021 = 2.358 N.
    assert thrown_outward(40e-6, 16_000 * RPM, 0.042) == pytest.approx(2.358, abs=5e-4)


def test_the_length_of_drawn_yarn_is_that_of_a_straight_line_and_of_a_ring():
    straight = Balloon(depth=[0.0, 0.3], radius=[0.0, 0.4], azimuth=[0.0, 0.0], tension=[1, 1])
    assert yarn_length(straight) == pytest.approx(0.5)
    turns = np.linspace(0, 2 * np.pi, 721)
    circle = Balloon(depth=[0.0] * 721, radius=[0.02] * 721, azimuth=turns.tolist(), tension=[1.0] * 721)
    assert yarn_length(circle) == pytest.approx(2 * np.pi * 0.02)
    assert gap(0.070, 0.030, 0.045) == pytest.approx(-0.005)


# Answers


def test_the_lessons_are_those_of_the_job():
    assert list(LESSONS) == [
        "traveller", "bare-tube", "lappet", "control-ring", "separator", "off-centre", "spindle-oil", "wharve", "belts",
        "creel-brake",
    ]  # fmt: skip
    assert next_after("creel-brake").key == "traveller"
    assert all(next_after(before(key).key).key == key for key in LESSONS)
    assert all(lesson_at(key).question.endswith("?") for key in LESSONS)


@pytest.mark.parametrize(("frame", "yarn"), FRAMES)
@pytest.mark.parametrize("key", LESSONS)
def test_a_lesson_is_whole_over_its_span_on_every_frame_that_has_the_part(mill, key, frame, yarn):
    lesson, ground = LESSONS[key], Ground(mill=mill, frame=frame, yarn=yarn)
    if lesson.missing(ground):
        assert (key, frame) == ("belts", "F4")
        return
    low, high, step = lesson.control.span(ground)
    start = lesson.control.start(ground)
    unit = "" if lesson.control.unit == "1" else lesson.control.unit
    assert low < high
    assert (high - low) / step >= 10
    for word in (f"{low:.10g} {unit}", f"{high:.10g} {unit}", ""):
        shown = answer(ground, key, word)
        assert len(shown.reasons) == 3
        assert all(re.search(r"\d", reason) for reason in shown.reasons), shown.reasons
        assert all("nan" not in words and "inf " not in words for words in (*shown.reasons, *shown.notes))
        assert len(shown.rows) >= 5
        assert len(shown.pictures) == 2
        for figure in (*[picture.figure for picture in shown.pictures], shown.chart.figure if shown.chart else "<a/>"):
            ET.fromstring(figure)  # noqa: S314 - it is our own figure
    assert read_control(lesson, ground, "") == start
    assert lesson.sources(ground)
    assert lesson.left_out


def test_a_lesson_agrees_with_the_doff_command(mill, f1):
    whole = solve_doff(mill, "F1", "AV30K")
    shown = answer(f1, "lappet", "112 mm")
    # The lesson looks at 16 strokes of 6 places, the command at 80 of 25.
    assert value(shown, "Tension at the triangle, highest") == pytest.approx(
        np.nanmax(whole.forces.triangle_tension), rel=0.01
    )
    assert value(shown, "Winding tension, highest") == pytest.approx(np.nanmax(whole.forces.winding_tension), rel=0.01)
    still = solve_doff(mill, "F1", "AV30K", Trial(guide_fixed=True))
    assert value(shown, "Winding tension, highest", moved=False) == pytest.approx(
        np.nanmax(still.forces.winding_tension), rel=0.01
    )


def test_a_part_left_where_the_mill_has_it_answers_as_the_mill_has_it(f1):
    for key, word in (("lappet", "112 mm"), ("control-ring", "44 mm"), ("traveller", "45 mg")):
        shown = answer(f1, key, word)
        assert value(shown, "Winding tension, highest") == np.nanmax(doff_of(f1).forces.winding_tension)


def test_a_lighter_traveller_pulls_less_and_lets_the_balloon_grow(f1):
    light, heavy = answer(f1, "traveller", "36 mg"), answer(f1, "traveller", "56 mg")
    assert value(light, "Winding tension, highest") < value(heavy, "Winding tension, highest")
    assert value(light, "Balloon, largest radius") > value(heavy, "Balloon, largest radius")
    # Shapes do not depend on speed; force follows mass alone at one speed.
    assert value(light, "Thrown outward, main speed") / value(heavy, "Thrown outward, main speed") == pytest.approx(
        36 / 56
    )


def test_a_traveller_too_light_to_hold_the_balloon_is_told_in_words(f1):
    shown = answer(f1, "traveller", "20 mg")
    assert "too light to hold the balloon" in shown.reasons[1]
    assert any("No steady balloon" in note for note in shown.notes)
    lost = answer(f1, "separator", "20 mg")
    assert any(row.moved == "no steady balloon" for row in lost.rows)


def test_the_traveller_found_without_a_ring_holds_the_balloon_within_its_room(mill, f1):
    found = without_ring(f1)
    doff = solve_doff(mill, "F1", "AV30K", Trial(control_ring=False, traveller_mass=found.mass))
    room = wall(doff.choice.frame)
    assert np.nanmax(doff.forces.largest_radius) <= room + 1e-4
    lighter = solve_doff(mill, "F1", "AV30K", Trial(control_ring=False, traveller_mass=0.94 * found.mass))
    assert np.nanmax(lighter.forces.largest_radius) > room
    assert found.winding_tension == pytest.approx(np.nanmax(doff.forces.winding_tension), rel=0.01)


def test_a_smaller_wharve_makes_the_belt_pull_harder_in_inverse_ratio(f1):
    shown = answer(f1, "wharve", "15.2 mm")
    assert value(shown, "Pull for one wharve") / value(shown, "Pull for one wharve", moved=False) == pytest.approx(
        19 / 15.2
    )
    assert value(shown, "Pull for one wharve") == pytest.approx(spindle_power(f1) / (0.0076 * 16_000 * RPM), rel=1e-9)


def test_two_belts_carry_half_of_what_one_carries(f1):
    shown = answer(f1, "belts", "2")
    name = "Pull that adds up on one belt"
    assert value(shown, name) == pytest.approx(value(shown, name, moved=False) / 2)


def test_two_belts_halve_the_stretch_and_so_the_spread_of_speed(f1):
    shown = answer(f1, "belts", "2")
    for name in ("Stretch from slack end to tight end", "Fastest spindle over slowest"):
        assert value(shown, name) == pytest.approx(value(shown, name, moved=False) / 2, rel=0.05)
    # By hand: the pull that adds up, with the rollers' drag (0.8 % of 6 N each), over 90 000 N of stiffness.
    pull = value(shown, "Pull that adds up on one belt") + 504 * 0.008 * 6
    assert value(shown, "Stretch from slack end to tight end") == pytest.approx(pull / 90_000, rel=0.02)


def test_pull_in_hand_falls_with_the_wharve(f1):
    shown = answer(f1, "wharve", "15.2 mm")
    hand = "Pull in hand over what it takes"
    assert value(shown, hand) / value(shown, hand, moved=False) == pytest.approx(15.2 / 19, rel=0.02)


def test_on_the_bare_tube_the_yarn_pulls_harder_than_on_the_cop(f1):
    shown = answer(f1, "bare-tube", "100 %")
    assert value(shown, "Winding tension") > value(shown, "Winding tension", moved=False)
    assert value(shown, "Wound on a diameter of", moved=False) == pytest.approx(0.036)


def test_without_plates_a_lesson_speaks_of_half_the_gauge(mill):
    frame = mill.frames["F1"]
    bare = frame.model_copy(update={"separators": frame.separators.model_copy(update={"fitted": False})})
    ground = Ground(mill=mill.model_copy(update={"frames": mill.frames | {"F1": bare}}), frame="F1", yarn="AV30K")
    shown = answer(ground, "control-ring")
    assert "half the gauge is 35.0" in shown.reasons[0]
    assert "plate" not in "".join(row.name for row in shown.rows)


@pytest.mark.parametrize(
    ("key", "word", "told"),
    [
        ("lappet", "900 mm", "must be between 0"),
        ("traveller", "45 mm", "Traveller mass"),
        ("belts", "2.5", "must be a whole number"),
        ("off-centre", "-1 mm", "must be between 0"),
    ],
)
def test_a_value_that_cannot_be_used_is_refused_in_one_sentence(f1, key, word, told):
    with pytest.raises(Refusal) as caught:
        read_control(LESSONS[key], f1, word)
    assert told in str(caught.value)


def test_a_frame_without_the_part_says_why_it_cannot_show_the_lesson(mill):
    with pytest.raises(Refusal, match="driven by tapes, not by belts"):
        ask(mill, "belts", "F4", "", "")
    frame = mill.frames["F1"].model_copy(update={"control_ring": None})
    without = mill.model_copy(update={"frames": mill.frames | {"F1": frame}})
    with pytest.raises(Refusal, match="no control ring"):
        ask(without, "control-ring", "F1", "AV30K", "")
    assert ask(without, "lappet", "F1", "AV30K", "").shown.rows


# The command


def test_the_command_lists_every_lesson(run):
    status, said, _ = run("lesson")
    assert status == 0
    assert all(f"  {key} " in said for key in LESSONS)


def test_the_command_tells_a_lesson_and_writes_one_landscape_page(run, tmp_path):
    status, said, errors = run("lesson", "wharve", "demo", "--frame", "F4", "--at", "25 mm", "--out", str(tmp_path))
    assert status == 0, errors
    assert "Left out: The start of the frame" in said
    assert max(len(line) for line in said.splitlines()) <= 110
    (paper,) = tmp_path.iterdir()
    (sheet,) = PdfReader(paper).pages
    assert [float(v) / 72 * 25.4 for v in sheet.mediabox[2:]] == pytest.approx([297, 210], abs=0.5)
    words = sheet.extract_text().replace("\n", " ")
    assert "Why are wharves neither small nor large?" in words
    assert "Stop and lock out before work on spindle tapes" in words


@pytest.mark.parametrize("key", LESSONS)
def test_every_lesson_fits_one_page_wherever_its_part_stands_and_in_all_units(f1, key):
    lesson = LESSONS[key]
    control = lesson.control
    low, high, _ = control.span(f1)
    for end in (low, 0.6 * low + 0.4 * high, high):
        value = from_unit(float(round(end)) if control.whole else end, control.quantity, control.unit)
        for units in ((), ("Ne", "tpi", "in")):
            with written_in(units):
                shown = lesson.answer(f1, value)
                paper = lesson_pdf(lesson, f1, shown, cautions(f1.choice.frame, f1.choice.yarn)[:3])
            assert len(PdfReader(BytesIO(paper)).pages) == 1, (key, end, units)


def test_an_unknown_lesson_is_refused_with_the_nearest(run):
    status, _, errors = run("lesson", "lapet")
    assert status == 1
    assert "Did you mean lappet?" in errors


def test_thicker_oil_damps_in_ratio_of_its_viscosity_at_work(f1):
    shown = answer(f1, "spindle-oil", "40 mm2/s")
    name = "Damping of the film at the foot"
    oil = "Oil at its temperature"
    assert value(shown, name) / value(shown, name, moved=False) == pytest.approx(
        value(shown, oil) / value(shown, oil, moved=False), rel=1e-9
    )


def test_oil_far_too_thin_and_far_too_thick_both_let_the_tip_sweep_more(f1):
    peaks = [
        value(answer(f1, "spindle-oil", f"{word} mm2/s"), "Sweep of the tip passing it, full cop")
        for word in (2, 25, 100)
    ]
    assert peaks[1] < peaks[0]
    assert peaks[1] < peaks[2]


def test_a_missing_plate_costs_half_as_many_breaks_again_where_half_of_them_strike(f1):
    shown = answer(f1, "separator")
    name = "More in 1000 hours of each spindle"
    own = f1.mill.money.breaks_per_1000_spindle_hours
    assert value(shown, name, moved=False) == pytest.approx(0.5 * own)
    assert value(shown, name) == pytest.approx(0.001 * own)


def test_the_lesson_and_the_command_agree_on_when_a_missing_plate_is_named(f1):
    shown = answer(f1, "separator")
    sheet = separators_sheet(f1.mill, "F1", "AV30K", AskedSeparators())
    (told,) = [row.raw for row in sheet.rows if row.name == "Shifts until a missing plate is named"]
    assert value(shown, "Until the records name it", moved=False) == told
