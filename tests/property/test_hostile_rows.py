"""Every hostile row is taken, known, or set aside with a reason that is true."""

from __future__ import annotations

import csv
from datetime import UTC, datetime, timedelta

import pyarrow.parquet as pq
import pytest
from tests.property.hostile import HEADINGS, SOURCE, Plain, reasons_of, rows, untrue

from ringwright.events.source import read_source
from ringwright.mill import demo_mill_path, read_mill
from ringwright.store import open_store, take_file


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_every_row_of_a_hostile_file_is_taken_known_or_set_aside_with_a_true_reason(tmp_path, seed):
    lines = rows(8000, seed)
    (tmp_path / "s.toml").write_text(SOURCE, encoding="utf-8")
    file = tmp_path / "hostile.csv"
    file.write_bytes(b"\n".join([",".join(HEADINGS).encode(), *lines]) + b"\n")
    plain, latest = Plain(), datetime.now(UTC) + timedelta(hours=1)
    for number, raw in enumerate(lines, start=2):
        plain.hear(number, raw, latest)
    mill = read_mill(demo_mill_path())
    with open_store(tmp_path / "store", new=True) as store:
        take = take_file(file, read_source(tmp_path / "s.toml"), mill, store)
        held = sum(pq.read_metadata(path).num_rows for path in store.paths("breaks", take.mill))
        reasons = reasons_of(store.root / take.set_aside_file)
    assert reasons.keys() == plain.set_aside.keys()
    assert (take.taken, take.known, take.set_aside) == (len(plain.taken), len(plain.known), len(plain.set_aside))
    assert held == take.taken
    assert untrue(reasons, plain) == []


def test_the_reasons_file_starts_with_two_columns_of_our_own(tmp_path):
    (tmp_path / "s.toml").write_text(SOURCE, encoding="utf-8")
    file = tmp_path / "one.csv"
    file.write_text(",".join(HEADINGS) + "\n1,F9,1,2026-03-01 10:00:00,1,AV30K,,\n", encoding="utf-8")
    with open_store(tmp_path / "store", new=True) as store:
        take = take_file(file, read_source(tmp_path / "s.toml"), read_mill(demo_mill_path()), store)
        text = (store.root / take.set_aside_file).read_text(encoding="utf-8")
    (row,) = csv.DictReader(text.splitlines())
    assert row["set_aside_line"] == "2"
    assert row["set_aside_reason"] == "the machine 'F9' is not a frame of the mill; known: F1, F2, F3, F4"
    assert row["frame"] == "F9"
