"""Stretches of running, made from the moments of a frame."""

from __future__ import annotations

from datetime import UTC, datetime
from math import pi

import pytest
from sample_records import RUNNING, Floor

HEAD = "frame,what,when\n"


@pytest.fixture
def floor(tmp_path):
    made = Floor(tmp_path, RUNNING)
    made.state()
    return made


def stretches(floor, *kinds):
    """(frame, kind, from, to) with hours and minutes of 1 March 2026, UTC."""
    return [
        (row["machine"], row["kind"], _clock(row["from_us"]), _clock(row["to_us"]))
        for row in floor.rows("running")
        if not kinds or row["kind"] in kinds
    ]


def _clock(at_us: int) -> str:
    return f"{datetime.fromtimestamp(at_us / 1e6, UTC):%H:%M}"


def moments(*told: str) -> str:
    """F1's moments, written as '10:00 start'."""
    return HEAD + "".join(f"F1,{one[6:]},2026-03-01 {one[:5]}:00\n" for one in told)


def test_starts_and_stops_make_runs_and_stops(floor):
    floor.take(moments("08:00 start", "09:00 stop", "09:10 start", "11:00 stop"))
    assert stretches(floor) == [
        ("F1", "run", "08:00", "09:00"),
        ("F1", "stop", "09:00", "09:10"),
        ("F1", "run", "09:10", "11:00"),
        ("F1", "stop", "11:00", "11:00"),
    ]
    assert [row["closed"] for row in floor.rows("running")] == [True, True, True, False]


def test_moments_may_come_in_any_order_and_in_any_number_of_files(floor):
    floor.take(moments("09:10 start", "11:00 stop"))
    floor.take(moments("09:00 stop", "08:00 start"), "earlier.csv")
    assert stretches(floor, "run") == [("F1", "run", "08:00", "09:00"), ("F1", "run", "09:10", "11:00")]


def test_a_run_that_no_record_ends_is_open_to_the_last_moment_known(floor):
    floor.take(HEAD + "F1,start,2026-03-01 08:00:00\nF2,start,2026-03-01 09:00:00\nF2,stop,2026-03-01 12:00:00\n")
    row = floor.rows("running")[0]
    assert (row["machine"], row["closed"], _clock(row["to_us"])) == ("F1", False, "12:00")


def test_a_frame_that_is_doffed_and_then_started_stood_between(floor):
    floor.take(moments("08:00 start", "10:00 doff", "10:05 start", "12:00 stop"))
    assert stretches(floor, "run", "doff") == [
        ("F1", "run", "08:00", "10:00"),
        ("F1", "doff", "10:00", "10:05"),
        ("F1", "run", "10:05", "12:00"),
    ]


def test_a_doff_with_a_length_is_no_running_time(floor):
    floor.state(columns='until = "to"')
    rows = ["F1,start,2026-03-01 08:00,", "F1,doff,2026-03-01 10:00,2026-03-01 10:04", "F1,stop,2026-03-01 12:00,"]
    floor.take("frame,what,when,to\n" + "\n".join(rows) + "\n")
    assert stretches(floor, "run") == [("F1", "run", "08:00", "10:00"), ("F1", "run", "10:04", "12:00")]


def test_runs_that_overlap_are_counted_once(floor):
    floor.state(columns='until = "to"')
    rows = ["F1,run,2026-03-01 08:00,2026-03-01 10:00", "F1,run,2026-03-01 09:00,2026-03-01 11:00"]
    floor.take("frame,what,when,to\n" + "\n".join(rows) + "\n")
    assert stretches(floor) == [("F1", "run", "08:00", "11:00")]


def test_a_new_speed_or_yarn_begins_a_new_stretch(floor):
    floor.state(columns='speed = "rpm"\nyarn = "lot"')
    rows = [
        "F1,start,2026-03-01 08:00,12000,AV30K", "F1,speed,2026-03-01 09:00,15000,", "F1,stop,2026-03-01 10:00,,",
    ]  # fmt: skip
    floor.take("frame,what,when,rpm,lot\n" + "\n".join(rows) + "\n")
    first, second = (row for row in floor.rows("running") if row["kind"] == "run")
    assert (first["speed"], second["speed"]) == (pytest.approx(400 * pi), pytest.approx(500 * pi))  # 200, 250 turns a s
    assert (first["yarn"], second["yarn"]) == ("AV30K", "AV30K")
    assert _clock(first["to_us"]) == _clock(second["from_us"]) == "09:00"


def test_a_traveller_change_while_running_is_a_row_without_a_length(floor):
    floor.take(moments("08:00 start", "09:30 traveller change", "12:00 stop"))
    assert stretches(floor, "run", "traveller change") == [
        ("F1", "run", "08:00", "12:00"),
        ("F1", "traveller change", "09:30", "09:30"),
    ]


def test_moments_that_cannot_be_are_set_aside(floor):
    floor.state(columns='until = "to"\nspeed = "rpm"')
    rows = [
        "F1,run,2026-03-01 08:00,,", "F1,run,2026-03-01 08:00,2026-03-01 07:00,", "F1,spun,2026-03-01 08:00,,",
        "F1,speed,2026-03-01 08:00,,fast", "F1,speed,2026-03-01 08:00,,", "F1,speed,2026-03-01 08:00,,90000",
    ]  # fmt: skip
    take = floor.take("frame,what,when,to,rpm\n" + "\n".join(rows) + "\n")
    reasons = floor.reasons(take)
    assert take.set_aside == 6
    assert "has no end" in reasons[2]
    assert "lies before the beginning" in reasons[3]
    assert "is none of start, stop" in reasons[4]
    assert "is not a number" in reasons[5]
    assert reasons[6] == "the speed is missing"
    assert "outside 0 to 40000 rpm" in reasons[7]


def test_moments_taken_twice_change_nothing(floor):
    text = moments("08:00 start", "09:00 stop")
    floor.take(text)
    rows = floor.rows("running")
    assert floor.take(text).known == 2
    assert floor.rows("running") == rows
