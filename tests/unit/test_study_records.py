"""From tables to counts: the engine's answers against plain loops, and the traps of engines pinned down."""

from __future__ import annotations

import ibis
import numpy as np
import pyarrow as pa
import pytest
from sample_breaks import DAY, MINUTE, START, break_table, drawn_breaks, running_table, stretches_of

from ringwright.refusal import Refusal
from ringwright.study.calendar import HOUR_US, ShiftClock, Stretches, clock_of, cut
from ringwright.study.engine import open_engine, table_in_memory, table_of_files
from ringwright.study.records import COP_BINS, FrameShape, gather, read_stretches
from ringwright.study.sides import breaks_of_frame, sides_of_records


@pytest.fixture(scope="module")
def engine():
    return open_engine("200MB")


CLOCK = ShiftClock(length_us=8 * HOUR_US, start_us=6 * HOUR_US)


def test_pieces_cover_the_running_time_and_nothing_else():
    pieces = cut(stretches_of(DAY), CLOCK)
    length = (pieces.to_us - pieces.from_us) // MINUTE
    assert length.sum() == 200 + 196 + 567
    assert pieces.cells.hours.sum() * 60 == pytest.approx(963)


def test_a_piece_lies_in_one_hour():
    pieces = cut(stretches_of(DAY), CLOCK)
    assert (pieces.from_us // HOUR_US == (pieces.to_us - 1) // HOUR_US).all()
    assert (pieces.hour == pieces.from_us // HOUR_US).all()


def test_ages_count_from_the_end_of_the_doff_and_of_the_change():
    cells = cut(stretches_of(DAY), CLOCK).cells
    before = np.isnan(cells.since_doff)
    assert cells.hours[before].sum() * 60 == pytest.approx(200)  # nothing is known before the first doff
    first = cells.since_doff == 0.25
    assert cells.hours[first].sum() * 60 == pytest.approx(30 + 30)  # the first half hour after each of two doffs
    known = np.isfinite(cells.since_change)
    mean = (cells.since_change * cells.hours)[known].sum() / cells.hours[known].sum()
    assert mean * 60 == pytest.approx((3 + 570) / 2)  # minutes 433 to 1000 after a change that ended at 430
    assert cells.changes == 1


def test_shifts_are_numbered_by_the_local_clock():
    # At UTC+2 the shift of 6 h begins at minute 240 UTC.
    cells = cut(stretches_of([(0, 600, "run", "a", "")], offset_h=2), CLOCK).cells
    hours = {cells.shift_names[int(k)]: cells.hours[cells.shift == k].sum() for k in np.unique(cells.shift)}
    assert hours == pytest.approx({"2026-03-01 22:00": 4.0, "2026-03-02 06:00": 6.0})


def test_the_clock_of_shifts_is_read_from_where_their_names_change():
    rows = [(0, 300, "run", "a", "C"), (300, 780, "run", "a", "A"), (780, 1260, "run", "a", "B"),
            (1260, 1500, "run", "a", "C")]  # fmt: skip
    assert clock_of([stretches_of(rows)], 8 * 3600).start_us == 5 * HOUR_US
    assert clock_of([stretches_of([(0, 300, "run", "a", "")])], 8 * 3600).start_us == 6 * HOUR_US


def test_a_frame_that_never_ran_has_no_cells():
    assert len(cut(stretches_of([(0, 5, "stop", "", "")]), CLOCK).cells.hours) == 0


def gathered(rows, stretches, engine, *, spindles=8):
    shapes = {one.frame: FrameShape(spindles=spindles, sides=2) for one in stretches}
    running = table_in_memory(pa.concat_tables([running_table(one) for one in stretches]))
    breaks = table_in_memory(break_table(rows))
    read = read_stretches(running, engine, shapes)
    return gather(breaks, read, engine, shapes, 8 * 3600), breaks, shapes


def runs(one: Stretches, t: int) -> bool:
    run = one.kind == "run"
    return bool(((one.from_us[run] <= t) & (t < one.to_us[run])).any())


def test_the_engine_counts_what_a_plain_loop_counts(engine):
    both = [stretches_of(DAY), stretches_of([(30, 700, "run", "a", "")], frame="F2")]
    rows = drawn_breaks()
    records, breaks, shapes = gathered(rows, both, engine)
    for place, one in enumerate(both):
        mine = [row for row in rows if row[0] == one.frame and runs(one, row[2])]
        assert records.cells[place].breaks.sum() == len(mine)
        assert records.spindles[place].counts.tolist() == [sum(r[1] == s for r in mine) for s in range(1, 9)]
        told = [r for r in mine if r[3] is not None]
        binned = [sum(int(float(np.float32(r[3])) * COP_BINS + 1e-6) == b for r in told) for b in range(COP_BINS)]
        assert records.cop[place].counts.tolist() == binned
        assert records.cop[place].without_share == len(mine) - len(told)
        assert records.outside[one.frame] == sum(r[0] == one.frame for r in rows) - len(mine)
        sides = breaks_of_frame(breaks, records.pieces[one.frame], engine, shapes[one.frame])
        assert [len(side.places) for side in sides] == [sum(r[1] <= 4 for r in mine), sum(r[1] > 4 for r in mine)]
        assert sorted(sides[1].places.tolist()) == sorted(r[1] - 4 for r in mine if r[1] > 4)


def test_sides_come_frame_after_frame_in_order_of_time_however_many_are_read_at_once(engine, monkeypatch):
    three = [stretches_of(DAY, frame=name) for name in ("F1", "F2", "F3")]  # no break is on F3
    records, breaks, shapes = gathered(drawn_breaks(), three, engine)
    for at_once in (1, 2500, 10**6):
        monkeypatch.setattr("ringwright.study.sides._ROWS_AT_ONCE", at_once)
        read = list(sides_of_records(records, engine, shapes))
        assert [(side.frame, side.side) for side in read] == [(f, s) for f in ("F1", "F2", "F3") for s in (1, 2)]
        alone = [side for f in shapes for side in breaks_of_frame(breaks, records.pieces[f], engine, shapes[f])]
        for got, other in zip(read, alone, strict=True):
            assert (np.diff(got.times) >= 0).all()
            assert got.times.tolist() == other.times.tolist()
            assert got.places.tolist() == other.places.tolist()
    assert sum(len(side.times) for side in read) == sum(cells.breaks.sum() for cells in records.cells)


def test_a_whole_percent_of_the_cop_is_in_the_bin_that_begins_there(engine):
    # Held in 32 bits 0.35 is a little less; an engine that multiplies in 64 bits would put it one bin lower.
    rows = [("F1", 1, START + MINUTE, place / 20) for place in range(20)]
    records, _, _ = gathered(rows, [stretches_of(DAY)], engine)
    assert records.cop[0].counts.tolist() == [1] * 20


def test_a_shift_is_named_as_most_of_its_pieces_are():
    rows = [(0, 300, "run", "a", "C"), (300, 780, "run", "a", "A"), (780, 900, "run", "a", ""),
            (900, 1000, "run", "a", "B")]  # fmt: skip
    cells = cut(stretches_of(rows), ShiftClock(length_us=8 * HOUR_US, start_us=6 * HOUR_US)).cells
    named = {cells.shift_names[number][-5:]: label for number, label in cells.shift_labels.items()}
    assert named == {"22:00": "C", "06:00": "A", "14:00": "B"}


def test_each_cell_has_the_breaks_of_its_own_time(engine):
    one = stretches_of(DAY)
    rows = [row for row in drawn_breaks() if row[0] == "F1"]
    records, _, _ = gathered(rows, [one], engine)
    cells = records.cells[0]
    times = [t for _, _, t, _ in rows if runs(one, t)]
    yarn_b = cells.yarn == cells.yarns.index("b")
    assert cells.breaks[yarn_b].sum() == sum(t >= START + 433 * MINUTE for t in times)
    early = cells.since_doff == 0.25
    windows = [(204, 234), (433, 463)]
    assert cells.breaks[early].sum() == sum(a <= (t - START) / MINUTE < b for t in times for a, b in windows)


def test_a_full_cop_belongs_to_the_last_bin(engine):
    rows = [("F1", 1, START + MINUTE, 1.0), ("F1", 1, START + MINUTE, 0.95), ("F1", 1, START + MINUTE, 0.0)]
    records, _, _ = gathered(rows, [stretches_of(DAY)], engine)
    assert records.cop[0].counts.tolist() == [1] + [0] * 18 + [2]


def test_the_first_moment_of_a_stretch_counts_and_its_last_does_not(engine):
    rows = [("F1", 1, START, None), ("F1", 2, START + 200 * MINUTE, None), ("F1", 3, START + 200 * MINUTE - 1, None)]
    records, _, _ = gathered(rows, [stretches_of(DAY)], engine)
    assert records.spindles[0].counts.tolist() == [1, 0, 1, 0, 0, 0, 0, 0]
    assert records.outside == {"F1": 1}


@pytest.mark.parametrize("year", [1970, 2026, 2038, 2100])
def test_the_hour_of_a_time_is_right_to_the_microsecond(engine, year):
    # The engine divides whole numbers as real ones; this must not move a break into the next hour.
    first = int(np.datetime64(f"{year}-01-01").astype("datetime64[us]").astype(np.int64))
    hours = first + np.arange(24 * 366) * HOUR_US
    times = np.concatenate([hours, hours - 1, hours + 1])
    table = ibis.memtable(pa.table({"t_us": times}))
    told = engine.to_pyarrow(table.mutate(hour=table.t_us // HOUR_US))
    assert (told["hour"].to_numpy() == told["t_us"].to_numpy() // HOUR_US).all()


def test_a_file_that_is_no_parquet_is_told(tmp_path, engine):
    file = tmp_path / "breaks.parquet"
    file.write_bytes(b"not a table")
    with pytest.raises(Refusal, match="not readable"):
        table_of_files(engine, [file])
