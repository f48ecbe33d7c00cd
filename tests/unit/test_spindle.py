"""The spindle of a frame from empty tube to full cop."""

from __future__ import annotations

import json

import numpy as np
import pytest
from click.testing import CliRunner

from ringwright.cli.main import ringwright
from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.setting.choice import choose
from ringwright.setting.problem import cop_shape, doff_problem
from ringwright.spindle import AS_BUILT, TriedSpindle, card_line, study_spindle
from ringwright.spindle.building import NECK, build
from ringwright.spindle.judged import nearest_critical, warnings_of
from ringwright.spindle.study import sweep_of
from ringwright.spindle.variants import variants
from ringwright.verbs.whirling import AskedSpindle, spindle_sheet


@pytest.fixture(scope="module")
def mill():
    return read_mill(demo_mill_path())


@pytest.fixture(scope="module")
def choice(mill):
    return choose(mill, "F1", "AV30K")


@pytest.fixture(scope="module")
def study(choice):
    return study_spindle(choice)


def with_rotor(choice, **changes):
    rotor = choice.frame.rotor.model_copy(update=changes)
    return type(choice)(
        frame=choice.frame.model_copy(update={"rotor": rotor}), yarn=choice.yarn, setting=choice.setting,
        traveller=choice.traveller, air_density=choice.air_density,
    )  # fmt: skip


def test_the_full_cop_on_the_rotor_weighs_what_the_doff_winds(choice, study):
    # The doff's content is a closed form of cones; the rotor sums slices between kinks of the outline.
    assert study.spindle.cop_mass[0] == pytest.approx(0.0, abs=1e-5)
    assert study.spindle.cop_mass[-1] == pytest.approx(doff_problem(choice).content, rel=5e-3)


def test_the_empty_spindle_weighs_what_its_parts_weigh(study):
    # By hand: steel cones foot to neck, neck to tube, along the tube; aluminium round the last; wharve and tube.
    def cone(one, other, height):
        return np.pi / 12 * height * (one**2 + one * other + other**2)

    along = 0.200 - 0.020
    steel = cone(0.0048, 0.0078, 0.100) + cone(0.0078, 0.0095, 0.035) + cone(0.0095, 0.0065, along)
    sleeve = cone(0.014, 0.011, along) - cone(0.0095, 0.0065, along)
    assert study.spindle.turning_mass[0] == pytest.approx(7850 * steel + 2700 * sleeve + 0.070 + 0.038, rel=1e-4)


def test_a_stiff_spindle_on_its_foot_spring_leans_at_the_speed_that_energy_says(choice):
    # Neck made a pin, blade made stiff: the spindle turns about the neck against the foot's spring alone, and
    # S^2 = k L^2 / (sum of (M - J) over the leaning shape), by the balance of energy at the critical speed.
    rotor = choice.frame.rotor.model_copy(
        update={"neck_stiffness": 1e12, "foot_diameter": 0.02, "neck_diameter": 0.02, "blade_diameter": 0.0200,
                "sleeve_foot_diameter": 0.0, "sleeve_tip_diameter": 0.0, "tip_diameter": 0.0160}
    )  # fmt: skip
    stiff = with_rotor(choice, **{name: getattr(rotor, name) for name in type(rotor).model_fields})
    spindle = build(stiff.frame, stiff.frame.rotor, np.array([cop_shape(stiff.frame).last_foot]), 0.0)
    heights = spindle.shaft.heights
    lean = np.stack([heights, np.ones_like(heights)], axis=1).ravel()
    about = lean @ (spindle.system.mass[0] - spindle.system.polar[0]) @ lean
    expected = np.sqrt(rotor.foot_stiffness * rotor.bearing_distance**2 / about)
    from ringwright.physics.whirl import critical_speeds  # noqa: PLC0415

    assert critical_speeds(spindle.system, 1)[0, 0] == pytest.approx(expected, rel=0.01)


def test_a_spindle_that_hardly_turns_sweeps_what_the_dial_gauge_reads(study):
    slow = np.array([0.5])
    still = type(study.spindle)(**{f: getattr(study.spindle, f) for f in study.spindle.__slots__})
    from ringwright.spindle.study import _alone  # noqa: PLC0415

    assert sweep_of(_alone(still, -1), slow)[0][0] == pytest.approx(study.rotor.tube_runout_tip, rel=1e-4)


def test_a_true_spindle_does_not_sweep(choice):
    true = with_rotor(choice, tube_runout_foot=0.0, tube_runout_tip=0.0, blade_runout=0.0, spindle_unbalance=0.0,
                      cop_offset=0.0)  # fmt: skip
    found = study_spindle(true)
    assert found.worst_sweep.max() == 0.0
    assert found.neck_force.max() == 0.0


def test_twice_a_cause_makes_twice_its_sweep(choice, study):
    twice = study_spindle(with_rotor(choice, cop_offset=2 * choice.frame.rotor.cop_offset))
    assert twice.sweeps[3] == pytest.approx(2 * study.sweeps[3], rel=1e-12)
    assert twice.sweeps[0] == pytest.approx(study.sweeps[0], rel=1e-12)


def test_yarn_on_the_tube_lowers_every_critical_speed(study):
    assert (np.diff(study.criticals[:, :2], axis=0) <= 1e-9).all()


def test_the_worst_case_is_never_under_the_usual_one(study):
    assert (study.worst_sweep >= study.sweep).all()


def test_the_force_on_neck_and_foot_holds_the_turning_mass(study):
    # Newton at one place: forces of both supports together = spin^2 x (mass x motion + unbalance), cause by cause.
    from ringwright.spindle.study import _moved  # noqa: PLC0415

    spindle, speeds = study.spindle, study.course.speed
    moved = _moved(spindle, speeds)[:, 5]
    everywhere = np.tile([1.0, 0.0], len(spindle.shaft.heights))
    turning = speeds[5] ** 2 * (moved @ (spindle.system.mass[5] @ everywhere) + spindle.unbalance[:, 5] @ everywhere)
    held = sum(
        (one.stiffness + 1j * speeds[5] * one.damping) * moved[:, 2 * one.node] for one in (spindle.neck, spindle.foot)
    )
    assert held == pytest.approx(turning, rel=1e-8)
    assert spindle.neck.node == NECK


def test_three_times_as_many_elements_move_nothing_that_is_told(choice, study, monkeypatch):
    from ringwright.spindle import building  # noqa: PLC0415

    for name, many in (("BELOW", 18), ("BETWEEN", 9), ("ALONG", 42), ("NECK", 18)):
        monkeypatch.setattr(building, name, many)
    fine = study_spindle(choice)
    assert study.criticals[:, :2] == pytest.approx(fine.criticals[:, :2], rel=2e-3)
    assert study.sweep == pytest.approx(fine.sweep, rel=5e-3)
    assert study.neck_force == pytest.approx(fine.neck_force, rel=2e-2)


def test_a_reduced_rotor_whirls_as_the_whole_one(study, monkeypatch):
    from ringwright.physics import whirl as module  # noqa: PLC0415
    from ringwright.spindle.study import _alone  # noqa: PLC0415

    of = _alone(study.spindle, -1).system
    reduced = module.whirl(of, 1675.0, 4)
    monkeypatch.setattr(module, "_REDUCE_ABOVE", 1000)
    whole = module.whirl(of, 1675.0, 4)
    assert reduced.frequency == pytest.approx(whole.frequency, rel=1e-6)
    assert reduced.decrement == pytest.approx(whole.decrement, rel=1e-5)
    assert reduced.shape[:, ::2] == pytest.approx(whole.shape[:, ::2], abs=1e-4)


def test_warm_oil_damps_less_and_little_oil_least(choice):
    by_name = {one.name.split(",")[0]: one for one in variants(choice, AS_BUILT)}
    cool, as_is, warm = (by_name[name] for name in ("oil 20 degrees cooler", "as it is", "oil 20 degrees warmer"))
    assert cool.damping > as_is.damping > warm.damping > by_name["oil nearly gone"].damping
    assert cool.passing_sweep < as_is.passing_sweep < warm.passing_sweep < by_name["oil nearly gone"].passing_sweep


def test_an_oil_too_thick_is_as_bad_as_one_too_thin(choice):
    # The foot held fast by its oil no longer damps: between the two there is a best oil.
    peaks = [study_spindle(choice, TriedSpindle(oil_viscosity=v * 1e-6)).passings[1].sweep for v in (2.5, 30.0, 490.0)]
    assert peaks[1] < peaks[0]
    assert peaks[1] < peaks[2]


def test_a_soft_neck_brings_the_second_critical_speed_near_the_course(mill):
    near = nearest_critical(study_spindle(choose(mill, "F3", "AV30K")))
    assert near.order == 2
    assert near.margin < 0.10
    assert nearest_critical(study_spindle(choose(mill, "F1", "AV30K"))).margin > 0.3


def test_a_critical_speed_too_near_is_told_with_its_limit(mill):
    told = warnings_of(study_spindle(choose(mill, "F3", "AV30K")))
    assert any("second critical speed" in one and "15" in one for one in told)


def test_the_card_has_one_line_of_it(mill):
    line = card_line(mill, "F1", "AV30K")
    assert line.startswith("Spindle tip sweeps up to 0.07")
    assert "too near" not in line
    assert "too near" in card_line(mill, "F3", "AV20W")
    assert len(line) < 80


def test_a_sleeve_wider_than_the_tube_is_refused_and_told_on_the_card(mill):
    frame = mill.frames["F1"]
    wide = frame.model_copy(update={"rotor": frame.rotor.model_copy(update={"sleeve_foot_diameter": 0.025})})
    other = mill.model_copy(update={"frames": mill.frames | {"F1": wide}})
    with pytest.raises(Refusal, match=r"sleeve_foot_diameter is 25.*less than the tube's diameter there of 20\.6"):
        study_spindle(choose(other, "F1", "AV30K"))
    assert "not computed; frame.F1.rotor.sleeve_foot_diameter" in card_line(other, "F1", "AV30K")


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({"foot_spring": "0 N/mm"}, "spring of the foot step is 0"),
        ({"oil": "thick"}, "oil at 40 degrees is"),
        ({"oil": "22"}, "without a unit"),
        ({"gap": "5 mm"}, "gap"),
    ],
)
def test_what_cannot_be_tried_is_told_in_a_sentence(mill, asked, told):
    with pytest.raises(Refusal) as refused:
        spindle_sheet(mill, "F1", "AV30K", AskedSpindle(**asked))
    assert told in str(refused.value)
    assert "it must be" in str(refused.value)


def test_all_that_was_typed_wrong_is_told_together(mill):
    with pytest.raises(Refusal) as refused:
        spindle_sheet(mill, "F1", "AV30K", AskedSpindle(oil="thick", gap="5 mm", neck="3", speed="90000 rpm"))
    assert [fault.where for fault in refused.value.faults] == [
        "oil at 40 degrees", "neck bearing", "main speed", "gap of the oil film",
    ]  # fmt: skip


def test_a_grade_of_oil_is_its_viscosity(mill):
    grade, number = (spindle_sheet(mill, "F1", "AV30K", AskedSpindle(oil=oil)) for oil in ("VG 22", "22 mm2/s"))
    assert grade.rows == number.rows


def test_the_command_prints_the_sheet_and_writes_its_files(tmp_path):
    out = tmp_path / "out"
    ran = CliRunner().invoke(
        ringwright, ["spindle", "demo", "--frame", "F1", "--yarn", "AV30K", "--json", "--out", str(out)]
    )
    assert ran.exit_code == 0
    told = json.loads(ran.stdout)
    assert {row["origin"].split(",")[0] for row in told["rows"]} <= {
        "measured", "computed", "assumed", "common practice",
    }  # fmt: skip
    assert told["cautions"]
    assert sorted(path.suffix for path in out.iterdir()) == [".html", ".pdf", ".svg", ".svg", ".svg"]
