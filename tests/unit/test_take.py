"""Taking end breaks in: what is taken, what is known, what is set aside and why."""

from __future__ import annotations

from datetime import UTC, datetime

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from sample_records import Floor

HEAD = "frame,spindle,when\n"


@pytest.fixture
def floor(tmp_path):
    made = Floor(tmp_path)
    made.state()
    return made


def us(*parts: int) -> int:
    return int(datetime(*parts, tzinfo=UTC).timestamp()) * 1_000_000  # type: ignore[misc,arg-type]


def test_a_break_is_kept_with_its_time_in_utc_and_its_local_day_and_minute(floor):
    floor.state(columns='cop = "at"\ncause = "why"', tables='[cop]\nunit = "mm"\n[causes]\nS = "slub"')
    floor.take("frame,spindle,when,at,why\nF1,700,2026-03-01 00:30:00,90,S\n")
    (row,) = floor.rows()
    assert row["t_us"] == us(2026, 2, 28, 23, 30)  # Berlin is an hour ahead of UTC in winter
    assert (row["local_day"], row["local_minute"]) == (20513, 30)  # 56 years of 365 days, 14 leap days, 31 + 28 days
    assert (row["machine"], row["spindle"], row["side"]) == ("F1", 700, 2)
    assert row["cop_share"] == pytest.approx(0.5)  # 90 mm of a lift of 180 mm
    assert (row["cause"], row["zone"], row["local_text"]) == ("slub", "Europe/Berlin", "2026-03-01 00:30:00")


def test_months_are_those_of_utc(floor):
    floor.take(HEAD + "F1,1,2026-03-01 00:30:00\nF1,1,2026-03-01 01:30:00\n")
    assert sorted(path.name for path in (floor.folder / "store" / "breaks").glob("*/*")) == [
        "month=202602",
        "month=202603",
    ]


def test_a_file_taken_twice_changes_nothing(floor):
    text = HEAD + "F1,1,2026-03-01 10:00:00\nF2,2,2026-03-01 11:00:00\n"
    first = floor.take(text)
    rows = floor.rows()
    second = floor.take(text)
    assert (first.taken, first.known, second.taken, second.known) == (2, 0, 0, 2)
    assert floor.rows() == rows


def test_rows_come_in_any_order_and_are_sorted(floor):
    floor.take(HEAD + "F2,1,2026-03-01 10:00:00\nF1,5,2026-03-01 11:00:00\nF1,4,2026-03-01 09:00:00\n")
    floor.take(HEAD + "F1,9,2026-03-01 10:00:00\n", "more.csv")
    assert [(row["machine"], row["spindle"]) for row in floor.rows()] == [("F1", 4), ("F1", 9), ("F1", 5), ("F2", 1)]


def test_every_reason_of_a_row_is_told_with_its_line(floor):
    take = floor.take(HEAD + "F9,0,yesterday\n\nF1,1009,2026-03-01 10:00:00\nF1,2\n")
    reasons = floor.reasons(take)
    assert (take.taken, take.set_aside) == (0, 3)
    assert reasons == {
        2: "the machine 'F9' is not a frame of the mill; known: F1, F2, F3, F4; "
        "the time 'yesterday' does not read as iso",
        4: "the spindle '1009' is outside 1 to 1008 of frame F1",
        5: "the line has 2 columns; the line of headings has 3",
    }


def test_rows_set_aside_are_mended_and_taken_again(floor):
    take = floor.take(HEAD + 'F1,1,2026-03-01 10:00:00\nF9,"2",2026-03-01 11:00:00\nF1,3,2026-03-29 02:30:00\n')
    path = floor.folder / "store" / take.set_aside_file
    text = path.read_text(encoding="utf-8")
    again = floor.take(path)
    assert (again.taken, again.known, again.set_aside) == (0, 0, 2)
    assert (floor.folder / "store" / again.set_aside_file).read_text(encoding="utf-8").splitlines()[1:] == [
        line.replace("3,", "2,", 1) if line.startswith("3,") else line.replace("4,", "3,", 1)
        for line in text.splitlines()[1:]
    ]
    path.write_text(
        text.replace("F9", "F2").replace("2026-03-29 02:30:00", "2026-03-29 02:30:00 +01:00"), encoding="utf-8"
    )
    mended = floor.take(path)
    assert (mended.taken, mended.set_aside) == (2, 0)
    assert [row["t_us"] for row in floor.rows()][-2] == us(2026, 3, 29, 1, 30)


def test_a_spreadsheet_may_take_the_quotes_off_a_reason(floor):
    take = floor.take(HEAD + "F9,2,2026-03-01 11:00:00\n")
    path = floor.folder / "store" / take.set_aside_file
    text = path.read_text(encoding="utf-8").replace("F9,2", "F2,2")
    line, reason = text.splitlines()[1].split(",", 1)
    assert reason.startswith('"')
    path.write_text(HEAD.join(["set_aside_line,set_aside_reason,", f"{line},unknown frame,F2,2,2026-03-01 11:00:00\n"]))
    assert floor.take(path).taken == 1


def test_the_hour_that_is_missing_and_the_hour_that_repeats_are_set_aside_unless_something_tells(floor):
    take = floor.take(HEAD + "F1,1,2026-03-29 02:30:00\nF1,1,2025-10-26 02:30:00\n")
    reasons = floor.reasons(take)
    assert "never showed '2026-03-29 02:30:00'" in reasons[2]
    assert "came twice" in reasons[3]


def test_order_tells_the_two_passes_of_the_repeated_hour(floor):
    floor.state(time='repeated_hour = "by order"')
    rows = [
        "F1,1,2025-10-26 02:10:00",
        "F1,2,2025-10-26 02:50:00",
        "F2,9,2025-10-26 02:20:00",
        "F1,3,2025-10-26 02:05:00",
    ]
    take = floor.take(HEAD + "\n".join(rows) + "\n")
    assert [(row["spindle"], row["t_us"]) for row in floor.rows()] == [
        (1, us(2025, 10, 26, 0, 10)),
        (2, us(2025, 10, 26, 0, 50)),
        (3, us(2025, 10, 26, 1, 5)),
    ]
    assert (
        "the order of the frame's rows does not tell" in floor.reasons(take)[4]
    )  # F2 has one row, which tells nothing


def test_a_column_tells_the_two_passes_of_the_repeated_hour(floor):
    floor.state(columns='fold = "dst"', time='repeated_hour = "by column"\nfirst = "S"\nsecond = "W"')
    rows = ["F1,1,2025-10-26 02:30:00,S", "F1,1,2025-10-26 02:30:00,W", "F1,1,2025-10-26 02:30:00,?"]
    take = floor.take("frame,spindle,when,dst\n" + "\n".join(rows) + "\n")
    assert [row["t_us"] for row in floor.rows()] == [us(2025, 10, 26, 0, 30), us(2025, 10, 26, 1, 30)]
    assert list(floor.reasons(take)) == [4]


def test_each_row_may_have_its_own_zone(floor):
    floor.state(columns='zone = "tz"')
    rows = ["F1,1,2026-03-01 10:00:00,Asia/Kolkata", "F1,2,2026-03-01 10:00:00,", "F1,3,2026-03-01 10:00:00,../etc"]
    take = floor.take("frame,spindle,when,tz\n" + "\n".join(rows) + "\n")
    assert [row["t_us"] for row in floor.rows()] == [us(2026, 3, 1, 4, 30), us(2026, 3, 1, 9, 0)]
    assert floor.reasons(take)[4] == "the zone '../etc' is no IANA name"


def test_a_time_in_the_future_is_set_aside(floor):
    take = floor.take(HEAD + "F1,1,2090-03-01 10:00:00\n")
    assert "lies in the future" in floor.reasons(take)[2]


def test_spindles_are_counted_through_both_sides(floor):
    floor.state(columns='side = "side"', tables='[spindles]\nnumbering = "side and number"\nsides = { L = 1, R = 2 }')
    take = floor.take(
        "frame,side,spindle,when\nF1,R,1,2026-03-01 10:00:00\nF1,L,504,2026-03-01 10:00:00\n"
        "F1,L,505,2026-03-01 10:00:00\nF1,X,1,2026-03-01 10:00:00\n"
    )
    assert [(row["spindle"], row["side"]) for row in floor.rows()] == [(504, 1), (505, 2)]
    assert floor.reasons(take) == {
        4: "the spindle '505' is outside 1 to 504 of a side of frame F1",
        5: "the side 'X' is none of L, R",
    }


def test_an_event_that_contradicts_a_known_one_is_set_aside(floor):
    floor.state(columns='cause = "why"\nid = "id"')
    head = "frame,spindle,when,why,id\n"
    floor.take(head + "F1,1,2026-03-01 10:00:00,slub,7\n")
    take = floor.take(
        head + "F1,1,2026-03-01 10:00:00,lap,7\nF1,1,2026-03-01 10:00:00,,7\nF2,1,2026-03-01 10:00:00,,7\n", "more.csv"
    )
    assert (take.taken, take.known, take.set_aside) == (0, 1, 2)
    assert floor.reasons(take) == {
        2: "the event is known with cause 'slub', here it has 'lap'",
        4: "the id '7' was already taken for another event",
    }


def test_names_of_the_source_become_names_of_the_mill(floor):
    floor.state(columns='yarn = "lot"', tables='[machines]\n"RF 101" = "F3"\n[yarns]\n"30 combed" = "AV30K"')
    take = floor.take(
        "frame,spindle,when,lot\nRF 101,1,2026-03-01 10:00:00,30 combed\nF3,2,2026-03-01 10:00:00,Ne 12\n"
    )
    (row,) = floor.rows()
    assert (row["machine"], row["yarn"]) == ("F3", "AV30K")
    assert "the yarn 'Ne 12' is not known" in floor.reasons(take)[3]


def test_semicolons_commas_as_decimal_sign_quotes_and_other_codings_are_read(floor):
    floor.state(
        more='separator = ";"\ndecimal = ","\nencoding = "cp1252"', columns='cop = "at"\noperator = "who"',
        time='format = "%d.%m.%Y %H:%M"',
    )  # fmt: skip
    floor.take(
        'frame;spindle;when;at;who\r\n"F1";"12";"01.03.2026 10:00";"0,25";"Spätschicht; Süd"\r\n'.encode("cp1252")
    )
    (row,) = floor.rows()
    assert (row["spindle"], row["cop_share"], row["operator"]) == (12, 0.25, "Spätschicht; Süd")


@pytest.mark.parametrize("end", ["\n", "\r\n", ""])
def test_the_last_line_may_lack_its_end(floor, end):
    assert floor.take(f"{HEAD}F1,1,2026-03-01 10:00:00{end}").taken == 1


def test_wide_files_are_read_and_their_rows_set_aside_can_be_taken_again(floor):
    floor.state(more='encoding = "utf-16"')
    take = floor.take((HEAD + "F1,1,2026-03-01 10:00:00\nF9,1,2026-03-01 10:00:00\n").encode("utf-16"))
    assert (take.taken, take.set_aside) == (1, 1)
    path = floor.folder / "store" / take.set_aside_file
    path.write_text(path.read_text(encoding="utf-8").replace("F9,1", "F4,1"), encoding="utf-8")
    assert floor.take(path).taken == 1


def test_a_parquet_file_gives_what_the_same_csv_gives(floor):
    floor.take(HEAD + "F1,1,2026-03-01 10:00:00\nF1,2,2026-03-01 11:00:00\nF9,2,2026-03-01 11:00:00\n")
    rows = floor.rows()
    other = Floor(floor.folder / "other")
    other.folder.mkdir()
    other.state()
    when = pa.array([datetime(2026, 3, 1, hour) for hour in (10, 11, 11)], pa.timestamp("ms"))  # noqa: DTZ001
    table = pa.table({"frame": ["F1", "F1", "F9"], "spindle": pa.array([1, 2, 2], pa.int16()), "when": when})
    pq.write_table(table, other.folder / "r.parquet")
    take = other.take(other.folder / "r.parquet")
    assert (take.taken, take.set_aside) == (2, 1)
    same = ("event_id", "machine", "spindle", "side", "t_us", "local_day", "local_minute")
    assert [[row[name] for name in same] for row in other.rows()] == [[row[name] for name in same] for row in rows]
    mended = floor.folder / "other" / "store" / take.set_aside_file
    mended.write_text(mended.read_text(encoding="utf-8").replace("F9,2", "F2,2"), encoding="utf-8")
    assert other.take(mended).taken == 1


def test_many_blocks_and_rows_put_away_by_month_give_the_same_as_one(floor, monkeypatch):
    lines = [
        f"F{1 + n % 4},{1 + n % 1008},2026-0{1 + n % 3}-01 10:{n // 60 % 60:02d}:{n % 60:02d}" for n in range(3000)
    ]
    text = HEAD + "\n".join(lines) + "\n"
    floor.take(text)
    whole = [{**row, "take": 0} for row in floor.rows()]
    other = Floor(floor.folder / "other")
    other.folder.mkdir()
    other.state()
    monkeypatch.setattr("ringwright.events.csv_lines.BLOCK", 1000)
    monkeypatch.setattr("ringwright.store.take._ROWS_IN_MEMORY", 100)
    other.take(text)
    assert [{**row, "take": 0} for row in other.rows()] == whole
