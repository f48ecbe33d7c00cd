"""Rounds of spindle speeds: what is read, what is set aside, and who is named slow."""

from __future__ import annotations

import numpy as np
import pytest
from sample_drive import LOAD, RPM, changed, drawn, driven, frame

from ringwright.drive.demo_round import demo_round, planted, planted_words
from ringwright.drive.frame_drive import drive_frame
from ringwright.drive.readings import read_speeds
from ringwright.drive.slow import FALSE_SHARE, study_speeds
from ringwright.findings.finding import Sureness
from ringwright.refusal import Refusal

EXPECTED = 16000 * RPM


def read(text):
    return read_speeds(text, "round.csv", frame("F4"), EXPECTED)


def test_a_heading_rpm_is_understood_and_readings_are_si():
    found = read("spindle,rpm\n1,15900\n2,15950\n")
    assert [(one.spindle, round(one.speed / RPM)) for one in found.readings] == [(1, 15900), (2, 15950)]
    assert found.set_aside == ()


def test_each_bad_row_is_set_aside_with_a_sentence_and_nothing_is_lost():
    rows = [
        "F4,1,15900,2026-03-30T09:00:00+02:00", "F4,1009,15900,", "F4,2,fast,", "F3,3,15900,", "F4,4,7950,",
        "F4,5,15900,yesterday", "F4,6,15800,", "F4,6,15100,", "F4,7,12,", "F4,8,15900",
    ]  # fmt: skip
    found = read("frame,spindle,speed (rpm),moment\n" + "\n".join(rows) + "\n")
    assert [one.spindle for one in found.readings] == [1]
    assert len(found.readings) + len(found.set_aside) == len(rows)
    reasons = {one.line: one.reason for one in found.set_aside}
    assert "from 1 to 1008" in reasons[3]
    assert "this round is of F4" in reasons[5]
    assert "half" in reasons[6]
    assert "stroboscope" in reasons[6]
    assert "moment" in reasons[7]
    assert "contradict" in reasons[8]
    assert "line 8" in reasons[9]
    assert "from 500" in reasons[10]
    assert "4 cells" in reasons[11]


def test_mixed_units_are_read_each_in_its_own_and_told():
    found = read("spindle,speed\n1,15900 rpm\n2,265 Hz\n3,15880 rpm\n")
    assert [round(one.speed / RPM) for one in found.readings] == [15900, 15900, 15880]
    assert "mixes units" in found.notes[0]


def test_a_row_in_another_unit_than_the_heading_says_is_set_aside():
    found = read("spindle,speed (rpm)\n1,15900\n2,265 Hz\n")
    assert len(found.readings) == 1
    assert "in rpm" in found.set_aside[0].reason


def test_readings_that_agree_are_taken_together_by_their_median():
    assert read("spindle,rpm\n1,15900\n1,15910\n1,15890\n").by_spindle[1] == pytest.approx(15900 * RPM)


def test_an_unusable_heading_is_refused_with_the_columns_it_needs():
    with pytest.raises(Refusal, match="spindle"):
        read("spool,turns\n1,2\n")


@pytest.mark.parametrize("name", ["F1", "F4"])
def test_what_is_planted_in_the_demonstration_is_found_and_nothing_else(name):
    text, plan = demo_round(driven(name)), planted(name)
    found = read_speeds(text, "demo", frame(name), EXPECTED)
    study = study_speeds(driven(name), found.by_spindle)
    named = {one.spindles: one for one in study.answer.findings}
    tapes = {
        tuple(int(n) + 1 for n in np.flatnonzero(driven(name).belt == k - 1)): share
        for k, share in plan.slow_tapes.items()
    }
    wanted: dict[tuple[int, ...], float] = tapes | {(k,): share for k, share in plan.slow_spindles.items()}
    assert set(named) == set(wanted)
    for spindles, share in wanted.items():
        assert named[spindles].estimate.low < 100 * share < named[spindles].estimate.high
        assert named[spindles].sureness is Sureness.SURE
    assert len(found.set_aside) == len(plan.half_speed)
    assert planted_words(name).startswith("Planted in this imaginary round")


def test_nothing_beyond_chance_is_an_answer():
    study = study_speeds(driven("F1"), drawn(driven("F1"), 3))
    assert study.answer.findings == ()
    assert study.answer.sureness is Sureness.MAY_BE_CHANCE
    assert "no spindle and no belt" in study.answer.sentence


def test_a_few_readings_are_too_early_to_name_anyone():
    study = study_speeds(driven("F4"), drawn(driven("F4"), 1, last=11))
    assert study.answer.sureness is Sureness.TOO_EARLY


@pytest.mark.parametrize(("last", "rounds"), [(1008, 150), (60, 400), (24, 400)])
def test_rounds_without_a_fault_name_someone_hardly_oftener_than_promised(last, rounds):
    """Promised: 5 % of rounds at most (where nothing is wrong, every name is false); 3 standard errors are allowed."""
    false = sum(bool(study_speeds(driven("F4"), drawn(driven("F4"), seed, last=last)).answer.findings)
                for seed in range(rounds))  # fmt: skip
    error = np.sqrt(FALSE_SHARE * (1 - FALSE_SHARE) / rounds)
    assert false / rounds <= FALSE_SHARE + 3 * error


def test_one_very_slow_spindle_does_not_blame_its_tape():
    speeds = drawn(driven("F4"), 5)
    speeds[121] *= 0.9
    found = study_speeds(driven("F4"), speeds).answer.findings
    assert [(one.kind, one.spindles) for one in found] == [("slow spindle", (121,))]


def test_a_spindle_slow_within_a_slow_tape_is_named_beside_it():
    speeds = drawn(driven("F4"), 6)
    for k in (121, 122, 625, 626):
        speeds[k] *= 0.96
    speeds[122] *= 0.95
    found = study_speeds(driven("F4"), speeds).answer.findings
    assert [(one.kind, one.spindles) for one in found] == [
        ("slow group", (121, 122, 625, 626)), ("slow spindle", (122,)),
    ]  # fmt: skip
    assert found[1].estimate.value == pytest.approx(5, abs=0.6)


def test_a_belt_softer_than_the_mill_says_blames_no_spindle_and_is_told():
    softer = drive_frame(changed("F1", belt={"pull_at_one_percent": 450.0}), LOAD)
    study = study_speeds(driven("F1"), drawn(softer, 2))
    assert study.answer.findings == ()
    assert study.slope[0] == pytest.approx(2.0, abs=0.15)  # half the stiffness, twice the creep
    assert study.slope[1] > 1.5


def test_one_belt_of_two_that_runs_slow_is_named():
    speeds = {k: one * (0.99 if k > 504 else 1) for k, one in drawn(driven("F1"), 4).items()}
    found = study_speeds(driven("F1"), speeds).answer.findings
    assert [(one.kind, one.spindles[0], len(one.spindles)) for one in found] == [("slow group", 505, 504)]
    assert found[0].estimate.value == pytest.approx(1.0, abs=0.05)


def test_a_fast_spindle_is_told_apart_and_makes_no_task():
    speeds = drawn(driven("F4"), 7)
    speeds[300] *= 1.03
    study = study_speeds(driven("F4"), speeds)
    assert study.fast == (300,)
    assert study.answer.findings == ()
