"""Trials: planned from the mill's own scatter, judged by shift, never praised by chance or by the frame."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from sample_cells import frame_cells

from ringwright.findings.finding import Sureness
from ringwright.refusal import Refusal
from ringwright.study.cells import by_shift
from ringwright.study.trial import ShiftSpread, plan_trial, shift_spread, spindle_hours_by_chance_alone
from ringwright.study.trial_rows import read_trial
from ringwright.study.trial_verdict import ShiftRow, judge_trial


def rows_of(counts, *, swap=True, exposure=9.6):
    """Rows of two frames side by side: pairs of breaks with the old and the new setting, by shift."""
    rows = []
    for k, (old, new) in enumerate(counts):
        first_is_new = swap and k < len(counts) / 2
        for frame, is_new in (("F1", first_is_new), ("F2", not first_is_new)):
            setting, breaks = ("new", new) if is_new else ("old", old)
            rows.append(ShiftRow(shift=f"s{k}", frame=frame, setting=setting, breaks=breaks, exposure=exposure))
    return rows


def test_a_clear_difference_is_told_with_its_size():
    answer = judge_trial(rows_of([(400, 300), (500, 380), (440, 325), (610, 465), (380, 290), (450, 335)]), "old")
    assert answer.estimate is not None
    assert answer.estimate.value == pytest.approx(0.75, abs=0.02)
    assert answer.sureness is Sureness.SURE
    assert "fewer breaks" in answer.sentence


def test_shifts_that_differ_among_themselves_do_not_hide_it():
    even = judge_trial(rows_of([(400, 320)] * 3 + [(410, 322)] * 3), "old")
    wild = judge_trial(rows_of([(200, 160), (800, 640), (400, 320), (205, 161), (820, 644), (410, 322)]), "old")
    assert even.estimate is not None
    assert wild.estimate is not None
    assert wild.estimate.value == pytest.approx(even.estimate.value, abs=0.01)
    assert wild.sureness is not Sureness.MAY_BE_CHANCE


def test_chance_is_not_praised():
    answer = judge_trial(rows_of([(400, 300), (380, 450), (440, 400), (410, 430), (390, 350), (450, 470)]), "old")
    assert answer.sureness is Sureness.MAY_BE_CHANCE
    assert answer.findings == ()
    assert answer.sentence.startswith("No difference is shown")
    assert "shifts in all" in answer.sentence


def test_frames_that_keep_their_setting_cannot_be_judged():
    answer = judge_trial(rows_of([(400, 300)] * 6, swap=False), "old")
    assert answer.sureness is Sureness.TOO_EARLY
    assert "swap" in answer.sentence


def test_a_difference_of_the_frames_is_not_one_of_the_settings():
    # F2 breaks twice as much as F1 whatever it runs: swapped half way, the settings come out alike.
    rows = []
    for k in range(6):
        for frame, rate in (("F1", 300), ("F2", 600)):
            setting = "new" if (frame == "F1") == (k < 3) else "old"
            rows.append(ShiftRow(shift=f"s{k}", frame=frame, setting=setting, breaks=rate + 7 * (k % 2), exposure=9.6))
    answer = judge_trial(rows, "old")
    assert answer.estimate is not None
    assert answer.estimate.value == pytest.approx(1, abs=0.03)
    assert answer.sureness is Sureness.MAY_BE_CHANCE


def test_two_shifts_are_too_early():
    assert judge_trial(rows_of([(400, 300)] * 2), "old").sureness is Sureness.TOO_EARLY


def after_rows(old, new, frames=("F1",)):
    return [
        ShiftRow(shift=f"s{k:02}", frame=frame, setting=setting, breaks=breaks, exposure=9.6)
        for frame in frames
        for k, (setting, breaks) in enumerate([("old", n) for n in old] + [("new", n) for n in new])
    ]


def test_settings_one_after_the_other_are_judged_by_shift_and_warned_of():
    answer = judge_trial(after_rows([480, 500, 470, 490, 505], [380, 400, 390, 410, 395]), "old")
    assert answer.estimate is not None
    assert answer.estimate.value == pytest.approx(1975 / 2445)
    assert answer.findings
    assert "one after the other" in answer.cannot_say


def test_frames_that_share_a_shift_are_not_counted_as_many_shifts():
    # Three frames repeat one frame's shifts: their common air makes them one, so the interval must not shrink.
    old, new = [400, 560, 430, 520], [380, 500, 360, 480]
    one, three = judge_trial(after_rows(old, new), "old"), judge_trial(after_rows(old, new, ("F1", "F2", "F3")), "old")
    assert one.estimate is not None
    assert three.estimate is not None
    width = [math.log(e.high / e.low) for e in (one.estimate, three.estimate)]
    assert width[1] == pytest.approx(width[0], rel=0.01)


def test_a_frame_that_stood_still_in_some_shifts_makes_no_difference():
    # F2 breaks twice as much as F1 and stood still in all but one of the shifts with the new setting.
    rows = list(after_rows([300] * 4, [300] * 4, ("F1",)))
    for k in (0, 1, 2, 3, 4):
        setting = "old" if k < 4 else "new"
        rows.append(ShiftRow(shift=f"s{k:02}", frame="F2", setting=setting, breaks=600, exposure=9.6))
    answer = judge_trial(rows, "old")
    assert answer.estimate is not None
    assert answer.estimate.value == pytest.approx(1)
    assert answer.findings == ()


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ([("a", 4)], "two, one of them old"),
        ([("old", 4), ("a", 4), ("b", 4)], "two, one of them old"),
        ([("old", 4), ("new", -1)], "0 or more"),
    ],
)
def test_a_trial_that_is_none_is_refused(rows, told):
    given = [
        ShiftRow(shift=f"s{k}", frame="F1", setting=name, breaks=n, exposure=1.0) for k, (name, n) in enumerate(rows)
    ]
    with pytest.raises(Refusal, match=told):
        judge_trial(given, "old")


def test_the_shifts_needed_are_those_that_simulated_trials_needed():
    # 4000 simulated trials a cell (computed apart), 480 breaks, -20 %. Before and after, 10 shifts a side at spreads of
    # 15 % and 5 % saw it in 81 %. Side by side, 6 shifts at 30 % and 10 % in 79 %, 3 shifts at 15 % and 5 % in 55 %.
    mild = plan_trial(0.8, ShiftSpread(common=0.15, own=0.05, breaks=480))
    wild = plan_trial(0.8, ShiftSpread(common=0.30, own=0.10, breaks=480))
    assert mild.before_after == 10
    assert 30 <= wild.before_after <= 36
    assert 3 < mild.side_by_side <= 6
    assert 6 <= wild.side_by_side <= 8


def test_a_trial_of_equal_settings_cannot_be_planned():
    with pytest.raises(Refusal, match="more than 1 %"):
        plan_trial(1.0, ShiftSpread(common=0.1, own=0.1, breaks=480))


def test_spindle_hours_without_scatter():
    # (1.959964 + 0.841621)^2 / 2 / (sqrt 50 - sqrt 40)^2 = 7.0421, by hand
    assert spindle_hours_by_chance_alone((50, 40)) == pytest.approx(7.0421, abs=1e-3)


def test_the_scatter_is_parted_into_what_frames_share_and_what_they_do_not():
    rng = np.random.default_rng(8)
    common = rng.gamma(1 / 0.15**2, 0.15**2, 400)
    tables = [by_shift(frame_cells(rng, name=f"F{k}", shifts=400, spread=0.06, common=common)) for k in range(4)]
    found = shift_spread(tables)
    assert found.common == pytest.approx(0.15, rel=0.15)
    assert found.own == pytest.approx(0.06, rel=0.25)
    assert found.breaks == pytest.approx(240, rel=0.05)  # 1000 spindles, 8 h, 30 per 1000


def test_few_shifts_do_not_tell_the_scatter():
    with pytest.raises(Refusal, match="at least 8"):
        shift_spread([by_shift(frame_cells(np.random.default_rng(1), shifts=5))])


HEAD = "shift,frame,setting,breaks,spindle_hours\n"


def written(folder: Path, text: str) -> str:
    file = folder / "trial.csv"
    file.write_text(text, encoding="utf-8")
    return str(file)


def test_a_trial_is_read_from_a_table(tmp_path):
    rows = read_trial(written(tmp_path, HEAD + "s1,F1,old,12,9600\ns1,F2,new, 10 ,9580.5\n"))
    assert rows[1] == ShiftRow(shift="s1", frame="F2", setting="new", breaks=10, exposure=9.5805)


def test_a_trial_with_semicolons_is_read(tmp_path):
    assert len(read_trial(written(tmp_path, (HEAD + "s1,F1,old,12,9600\n").replace(",", ";")))) == 1


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("shift,frame,setting,break,spindle_hours\n", "without breaks"),
        (HEAD, "without rows"),
        (HEAD + "s1,F1,old,12.5,9600\n", 'line 2, breaks is "12.5"'),
        (HEAD + "s1,F1,old,many,9600\n", "line 2, breaks"),
        (HEAD + "s1,F1,old,nan,9600\n", "line 2, breaks"),
        (HEAD + "s1,F1,old,inf,9600\n", "line 2, breaks"),
        (HEAD + "s1,F1,old," + "9" * 200_000 + ",9600\n", "not readable"),
        (HEAD + "s1,F1,old,5,0\n", "line 2, spindle_hours"),
        (HEAD + "s1,F1,old,5\n", "spindle_hours is empty"),
        (HEAD + "s1,,old,5,9600\n", "frame is empty"),
        (HEAD + "s1,F1,old,5,9600\ns1,F1,new,5,9600\n", "first in line 2"),
    ],
)  # fmt: skip
def test_each_fault_of_a_trial_is_told_with_its_line(tmp_path, text, told):
    with pytest.raises(Refusal) as refusal:
        read_trial(written(tmp_path, text))
    assert told in str(refusal.value)


def test_all_faults_of_a_trial_are_told_together(tmp_path):
    with pytest.raises(Refusal) as refusal:
        read_trial(written(tmp_path, HEAD + "s1,F1,old,-5,9600\ns2,F1,old,5,-1\n"))
    assert len(refusal.value.faults) == 2


def test_a_trial_that_is_not_there_is_told(tmp_path):
    with pytest.raises(Refusal, match="not readable"):
        read_trial(str(tmp_path / "none.csv"))
