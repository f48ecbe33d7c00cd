"""A part of the records by the mill's clock, a trial judged from the records, and a study that is stopped."""

from __future__ import annotations

import signal
import subprocess
import sys
import time

import numpy as np
import pytest
from click.testing import CliRunner
from sample_breaks import DAY, HOUR_US, MINUTE, START, break_table, drawn_breaks, stretches_of

from ringwright.cli.main import ringwright
from ringwright.refusal import Refusal
from ringwright.study.calendar import ShiftClock, cut
from ringwright.study.engine import answer, open_engine, table_in_memory
from ringwright.study.period import Period, breaks_within, read_period, stretches_within
from ringwright.verbs import records, studying

FIRST = START // MINUTE  # 2 March 2026, 0 h


def test_a_day_as_the_end_is_taken_whole_and_a_minute_is_not():
    assert read_period("2026-03-02", "2026-03-02") == Period(from_minute=FIRST, to_minute=FIRST + 1440)
    assert read_period("", "2026-03-02 06:00") == Period(to_minute=FIRST + 360)
    assert read_period("", "").whole
    assert read_period("2026-03-02", "").words == "from 2026-03-02 00:00"


def test_ends_that_cannot_be_are_refused_together():
    with pytest.raises(Refusal) as refused:
        read_period("yesterday", "2026-03-02 06:00+01:00")
    assert [fault.where for fault in refused.value.faults] == ["--from", "--to"]
    with pytest.raises(Refusal, match="later than --from"):
        read_period("2026-03-02 06:00", "2026-03-02 06:00")


def test_running_time_is_clipped_by_the_local_clock_and_ages_count_from_before():
    # The mill is two hours ahead of UTC: local 4:20 to 8:20 is UTC minute 140 to 380.
    one = stretches_of(DAY, offset_h=2)
    part = stretches_within(one, Period(from_minute=FIRST + 260, to_minute=FIRST + 500))
    cells = cut(part, ShiftClock(length_us=8 * HOUR_US, start_us=6 * HOUR_US)).cells
    assert cells.hours.sum() * 60 == pytest.approx(60 + 176)  # minutes 140 to 200 and 204 to 380
    later = cut(stretches_within(one, Period(from_minute=FIRST + 420)), ShiftClock(length_us=8 * HOUR_US, start_us=0))
    # Of minutes 300 to 400, 430 on: the doff that ended at minute 204 still tells the age at minute 300.
    first = later.cells.since_doff[np.isfinite(later.cells.since_doff)]
    assert first.min() == 0.25
    assert len(first) == len(later.cells.since_doff)


def test_breaks_outside_are_left_out():
    engine = open_engine("200MB")
    rows = drawn_breaks()
    part = Period(from_minute=FIRST + 100, to_minute=FIRST + 300)
    told = answer(engine, breaks_within(table_in_memory(break_table(rows)), part))
    assert len(told) == sum(START + 100 * MINUTE <= t < START + 300 * MINUTE for _, _, t, _ in rows)


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("floor")
    studying.write_demo(str(folder / "demo"), clean=True)
    for name in ("breaks", "running"):
        file, source = folder / "demo" / f"{name}.parquet", folder / "demo" / f"{name}.source.toml"
        records.take(str(file), str(source), "demo", str(folder / "store"), lambda *_: None)
    return str(folder / "store")


def run(*words):
    return CliRunner().invoke(ringwright, list(words))


TRIAL = """frame,setting,from,to
F1,40 mg,2026-03-09,2026-03-15
F2,45 mg,2026-03-09,2026-03-15
F1,45 mg,2026-03-16,2026-03-22
F2,40 mg,2026-03-16,2026-03-22
"""


def test_a_trial_is_judged_from_the_records(store, tmp_path):
    file = tmp_path / "trial.csv"
    file.write_text(TRIAL, encoding="utf-8")
    told = run("trial", "judge", str(file), "--records", store)
    assert told.exit_code == 0, told.exception
    # Nothing was planted, so nothing must be praised; 2 weeks of 3 shifts a day, less those cut by the ends of days.
    assert "No difference is shown" in told.output
    assert "a change of 20% fewer is not among that" in " ".join(told.output.split())
    shifts = int(told.output.split("of 2 frames in ")[1].split()[0])
    assert 36 <= shifts <= 42


def test_a_trial_whose_runs_cannot_be_is_refused_by_line(store, tmp_path):
    file = tmp_path / "trial.csv"
    file.write_text(TRIAL + "F1,40 mg,2026-03-21,2026-03-23\nF1,40 mg,2026-04-01,soon\n", encoding="utf-8")
    refused = run("trial", "judge", str(file), "--records", store)
    assert "line 6" in str(refused.exception)
    assert "line 4 has too" in str(refused.exception)
    assert "line 7, to" in str(refused.exception)
    file.write_text(TRIAL.replace("2026-03-15", "2026-03-09").replace("F1,45 mg", "F9,45 mg"), encoding="utf-8")
    assert "F9" in str(run("trial", "judge", str(file), "--records", store).exception)


def test_several_stores_are_asked_each_by_itself_and_stand_side_by_side(store):
    part = ("--question", "rates", "--frame", "F1", "--from", "2026-03-09", "--to", "2026-03-20")
    told = run("study", store, store, *part)
    assert told.exit_code == 0, told.exception
    assert told.output.count("From records of Alder Vale Spinning in") == 2
    assert told.output.startswith("Breaks per 1000 spindle-hours of each mill")
    assert run("study", store, store, store, "--mill", "demo", "--mill", "demo").exit_code == 2
    empty = run("study", store, "--from", "2019-01-01", "--to", "2019-02-01")
    assert "Ask for another time" in str(empty.exception)


def test_steps_are_told_as_they_are_begun(store):
    heard = []
    asked = studying.Asked(records=store, mill="demo", questions=("cop", "rates"), frames=("F1",))
    studying.study(asked, lambda done, steps, word: heard.append((done, steps, word[:9])))
    assert heard == [(0, 3, "counting"), (1, 3, "How many "), (2, 3, "Where in "), (3, 3, "")]


ENDLESS = """
import sys
import ibis
from ringwright.cli import main
from ringwright.study import engine
from ringwright.verbs import studying

def endless(asked, progress):
    opened = engine.open_engine("200MB")
    one = ibis.memtable({"a": list(range(200_000))})
    other = ibis.memtable({"b": list(range(2_000_000))})
    both = one.cross_join(other)  # hours of work
    print("begun", flush=True)
    engine.answer(opened, both.filter(both.a + both.b == -1))

studying.study = endless
sys.argv = ["ringwright", "study", "demo"]
main.main()
"""


def test_a_study_stops_in_the_midst_of_a_query_with_one_sentence():
    child = subprocess.Popen(  # noqa: S603 - this Python
        [sys.executable, "-c", ENDLESS], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),  # noqa: PLW1509
    )  # fmt: skip
    assert child.stdout is not None
    assert child.stdout.readline() == "begun\n"
    time.sleep(0.5)
    asked = time.monotonic()
    child.send_signal(signal.SIGINT)
    _, said = child.communicate(timeout=20)
    assert time.monotonic() - asked < 10
    assert said.strip() == "Stopped; what was not finished is not kept."
    assert child.returncode == 130
