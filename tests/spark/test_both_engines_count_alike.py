"""DuckDB and Spark run the same expressions: every number of every answer is compared, and the traps are set."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
import pytest
from sample_breaks import DAY, HOUR_US, MINUTE, START, break_table, drawn_breaks, running_table, stretches_of

from ringwright.report.study_text import study_values
from ringwright.study.engine import answer, open_engine, table_in_memory, table_of_files
from ringwright.study.period import Period, breaks_within, stretches_within
from ringwright.study.records import FrameShape, gather, read_stretches
from ringwright.study.sides import sides_of_records
from ringwright.study.spark import open_spark
from ringwright.verbs import records as taking
from ringwright.verbs import studying

# Spark's bridge to Java leaves sockets for Python to clear away.
pytestmark = [pytest.mark.filterwarnings("ignore::ResourceWarning"),
              pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")]  # fmt: skip

Row = tuple[str, int, int, float | None]
SHAPES = {"F1": FrameShape(spindles=8, sides=2), "F2": FrameShape(spindles=8, sides=2)}


PART = Period(from_minute=START // MINUTE + 100, to_minute=START // MINUTE + 900)


@pytest.fixture(scope="module")
def spark():
    """Give the one session of this process; a study that asks for Spark works in it too."""
    opened = open_spark("800MB", "local[2]")
    yield opened
    opened.disconnect()


@pytest.fixture(scope="module")
def engines(spark):
    return open_engine("200MB"), spark


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    """Give the demo's six weeks in a store."""
    folder = tmp_path_factory.mktemp("floor")
    studying.write_demo(str(folder / "demo"))
    for name in ("breaks", "running"):
        file, source = folder / "demo" / f"{name}.parquet", folder / "demo" / f"{name}.source.toml"
        taking.take(str(file), str(source), "demo", str(folder / "store"), lambda *_: None)
    return str(folder / "store")


@pytest.mark.usefixtures("spark")
def test_every_number_of_every_answer_is_the_same(store):
    asked = {"records": store, "mill": "demo", "since": "2026-03-05", "until": "2026-04-06 14:00"}
    by_duckdb = studying.study(studying.Asked(**asked))
    by_spark = studying.study(studying.Asked(**asked, engine="spark", master="local[2]", memory="800MB"))
    told = [study_values(one.answers, one.origin, one.outside) for one in (by_duckdb, by_spark)]
    assert len(told[0]["answers"]) == 7 * 4 + 8 + 1  # of 4 frames, of their 8 sides, and of the shifts of all
    assert told[1] == told[0]
    assert by_spark.rate == by_duckdb.rate


def hard_breaks():
    """Draw breaks, and add those that engines have counted differently: at the ends of hours, stretches and bins."""
    edges = [START, START + 200 * MINUTE, START + 204 * MINUTE, START + HOUR_US]
    rows: list[Row] = [("F1", 1 + k % 8, edge + step, None) for k, edge in enumerate(edges) for step in (-1, 0, 1)]
    rows += [("F2", 1 + k % 8, START + 250 * MINUTE + k, k / 20) for k in range(21)]
    just_under = [float(np.nextafter(np.float32(k / 20), np.float32(0))) for k in range(1, 21)]
    rows += [("F2", 3, START + 250 * MINUTE, share) for share in just_under]
    rows += [("a frame of another mill", 1, START + MINUTE, 0.5)]
    return [*drawn_breaks(), *rows]


@pytest.mark.parametrize("period", [Period(), PART])
def test_every_count_on_the_way_is_the_same(engines, tmp_path, period):
    folder = tmp_path / "breaks" / "mill=x" / "month=202603"  # names that engines make columns of, each of another type
    folder.mkdir(parents=True)
    pq.write_table(break_table(hard_breaks()), folder / "breaks.parquet")
    both = [stretches_of(DAY), stretches_of([(30, 700, "run", "a", "")], frame="F2")]
    got = [counted(engine, folder / "breaks.parquet", both, period) for engine in engines]
    assert got[1] == got[0]
    assert sum(sum(one) for one in got[0]["cells"]) > 2000


def counted(engine, file: Path, both, period):
    breaks = breaks_within(table_of_files(engine, [file]), period)
    running = table_in_memory(running_table(both[0])).union(table_in_memory(running_table(both[1])))
    stretches = [stretches_within(one, period) for one in read_stretches(running, engine, SHAPES)]
    records = gather(breaks, stretches, engine, SHAPES, 8 * 3600)
    return {
        "cells": [one.breaks.tolist() for one in records.cells],
        "hours": [one.hours.tolist() for one in records.cells],
        "spindles": [one.counts.tolist() for one in records.spindles],
        "cop": [(one.counts.tolist(), one.without_share) for one in records.cop],
        "outside": records.outside,
        "sides": [(s.places.tolist(), s.times.tolist()) for s in sides_of_records(records, engine, SHAPES)],
    }


def test_the_hour_of_a_time_is_the_same_to_the_microsecond_in_every_century(engines):
    first = np.datetime64("1970-01-01").astype("datetime64[us]").astype(np.int64)
    hours = first + np.arange(0, 24 * 366 * 130, 997, dtype=np.int64) * HOUR_US
    rows = [("F1", 1, int(t), None) for t in np.concatenate([hours, hours - 1, hours + 1]) if t >= 0]
    table = table_in_memory(break_table(rows))
    asked = table.select("t_us", hour=table.t_us // HOUR_US).order_by("t_us")
    told = [answer(engine, asked).to_pydict() for engine in engines]
    assert told[1] == told[0]
    assert told[0]["hour"] == [t // HOUR_US for t in told[0]["t_us"]]
