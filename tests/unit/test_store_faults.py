"""What the store does when disk, rights or files fail: it says so, names the place, and stays whole."""

from __future__ import annotations

import errno
import os
import random
import resource
import shutil
import signal
import sqlite3
import tempfile
from pathlib import Path

import pyarrow.parquet as pq
import pytest
from sample_records import MILL, Floor

from ringwright.refusal import Refusal
from ringwright.store import open_store, store_mill
from ringwright.store.ledger import LEDGER, MIGRATIONS, open_ledger
from ringwright.study.records import BREAK_COLUMNS

HEAD = "frame,spindle,when\n"
MARCH = HEAD + "F1,1,2026-03-01 10:00:00\n"
APRIL = HEAD + "F1,1,2026-04-01 10:00:00\n"


@pytest.fixture
def floor(tmp_path):
    made = Floor(tmp_path)
    made.state()
    return made


def month(floor, number):
    return floor.folder / "store" / "breaks" / f"mill={MILL}" / f"month={number}" / "breaks.parquet"


def test_a_damaged_file_is_named_and_the_other_months_go_on(floor):
    floor.take(MARCH)
    path = month(floor, 202603)
    held = bytearray(path.read_bytes())
    held[len(held) // 2] ^= 0xFF
    path.write_bytes(held)
    with pytest.raises(Refusal, match=r"month=202603.*damaged or gone"):
        floor.take(HEAD + "F1,2,2026-03-01 10:00:00\n")
    assert floor.take(APRIL).taken == 1
    assert pq.read_metadata(month(floor, 202604)).num_rows == 1


def test_no_bit_that_turns_in_a_file_changes_an_answer_without_a_word(floor):
    rows = "".join(f"F{1 + n % 4},{1 + n * 7 % 1008},2026-03-01 10:{n // 60:02d}:{n % 60:02d}\n" for n in range(3000))
    floor.take(HEAD + rows)
    path = month(floor, 202603)
    held, rng = path.read_bytes(), random.Random(5)  # noqa: S311 - to repeat it
    with open_store(floor.folder / "store") as store:
        (whole,) = store.whole_paths("breaks", MILL, BREAK_COLUMNS)
        good = pq.read_table(whole, columns=list(BREAK_COLUMNS))
        refused = 0
        for _ in range(200):
            harmed = bytearray(held)
            harmed[rng.randrange(len(harmed))] ^= 1 << rng.randrange(8)
            path.write_bytes(harmed)
            try:
                store.whole_paths("breaks", MILL, BREAK_COLUMNS)
            except Refusal as refusal:
                refused += "month=202603" in str(refusal)
            else:  # in a column that no study reads, or in what readers pass over
                assert pq.read_table(path, columns=list(BREAK_COLUMNS)).equals(good)
    assert refused > 50


@pytest.mark.parametrize("harm", ["cut", "gone", "other"])
def test_a_file_that_is_cut_or_gone_or_another_is_named(floor, harm):
    floor.take(MARCH)
    path = month(floor, 202603)
    if harm == "cut":
        path.write_bytes(path.read_bytes()[:-20])
    elif harm == "gone":
        path.unlink()
    else:
        pq.write_table(pq.ParquetFile(path).read().slice(0, 0), path)
    with pytest.raises(Refusal, match="month=202603"):
        floor.take(HEAD + "F1,2,2026-03-01 10:00:00\n")


def test_a_file_that_no_take_in_made_is_not_overwritten(floor):
    floor.take(APRIL)
    path = month(floor, 202603)
    path.parent.mkdir()
    path.write_bytes(b"my own")
    with pytest.raises(Refusal, match="not in the ledger"):
        floor.take(MARCH)
    assert path.read_bytes() == b"my own"


def test_a_full_disk_is_told_and_nothing_of_the_file_is_taken(floor):
    floor.take(APRIL)
    lines = "".join(
        f"F1,{1 + n % 1008},2026-03-0{1 + n % 9} 10:{n // 60 % 60:02d}:{n % 60:02d}\n" for n in range(40000)
    )
    kept = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    (floor.folder / "records.csv").write_text(HEAD + lines, encoding="utf-8")
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(
        resource.RLIMIT_FSIZE, (100_000, limits[1])
    )  # no file may grow beyond: as on a disk that is full
    try:
        with pytest.raises(Refusal, match=r"not usable|damaged"):
            floor.take(floor.folder / "records.csv")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        signal.signal(signal.SIGXFSZ, kept)
    assert [row["t_us"] for row in floor.rows()] == [1775030400000000]  # 2026-04-01 08:00 UTC
    assert list((floor.folder / "store" / ".incoming").iterdir()) == []
    assert floor.take(floor.folder / "records.csv").taken > 0


def test_a_take_in_that_a_person_stops_takes_nothing_and_leaves_nothing(floor, monkeypatch):
    floor.take(APRIL)
    asked = []

    def stop(name, *_):
        asked.append(name)
        raise KeyboardInterrupt

    for place in ("ringwright.store.take.merge", "ringwright.store.take._checked"):  # in the midst, and at the start
        monkeypatch.setattr(place, stop)
        with pytest.raises(KeyboardInterrupt):
            floor.take(MARCH)
        monkeypatch.undo()
        assert len(floor.rows()) == 1
        assert list((floor.folder / "store" / ".incoming").iterdir()) == []
    assert len(asked) == 2
    assert floor.take(MARCH).taken == 1


def test_a_disk_that_is_full_at_the_very_commit_is_told(floor, monkeypatch):
    floor.take(APRIL)

    def full(_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), "the disk")

    monkeypatch.setattr("ringwright.store.store.sync", full)
    with pytest.raises(Refusal, match="no space left on device"):
        floor.take(MARCH)
    monkeypatch.undo()
    assert floor.take(MARCH).taken == 1


@pytest.mark.skipif(not hasattr(os, "seteuid"), reason="needs rights as POSIX systems have them")
def test_a_folder_that_may_not_be_written_is_named():
    folder = Path(tempfile.mkdtemp())
    floor = Floor(folder)
    floor.state()
    floor.take(APRIL)
    (folder / "march.csv").write_text(MARCH, encoding="utf-8")
    folder.chmod(0o755)
    ours = os.geteuid()
    for place in [folder / "store", *(folder / "store").rglob("*")]:
        place.chmod(0o555 if place.is_dir() else 0o444)
    try:
        if ours == 0:
            os.seteuid(65534)
        with pytest.raises(Refusal, match=r"ledger.sqlite is not usable \(.*(readonly|unable to open)"):
            floor.take(folder / "march.csv")
    finally:
        os.seteuid(ours)
        shutil.rmtree(folder)


def test_a_store_in_a_place_that_cannot_be_is_named(floor):
    (floor.folder / "store").write_text("I am a file")
    with pytest.raises(Refusal, match="store is not usable"):
        floor.take(MARCH)


def test_a_folder_with_other_things_in_it_does_not_become_a_store(floor):
    (floor.folder / "store").mkdir()
    (floor.folder / "store" / "letter.txt").write_text("dear")
    with pytest.raises(Refusal, match="other things in it"):
        floor.take(MARCH)


def test_a_ledger_that_is_no_database_is_named(floor):
    floor.take(MARCH)
    (floor.folder / "store" / LEDGER).write_bytes(b"nonsense" * 1000)
    with pytest.raises(Refusal, match="not a database"):
        floor.take(APRIL)


def test_a_second_take_in_waits_and_then_says_why(floor, monkeypatch):
    monkeypatch.setattr("ringwright.store.ledger.PATIENCE_S", 0.1)
    floor.take(MARCH)
    with open_store(floor.folder / "store") as store, store.ledger.change(), pytest.raises(Refusal, match="at work"):
        floor.take(APRIL)


def test_two_mills_that_are_written_alike_are_not_mixed(floor):
    floor.take(MARCH)
    with open_store(floor.folder / "store") as store, pytest.raises(Refusal, match="with another name"):
        store.ledger.know_mill(MILL, "alder vale spinning")
    assert store_mill("Alder Vale Spinning") == MILL
    assert store_mill("Spinnerei Süd") == "spinnerei-sud"


def test_a_ledger_of_an_older_version_is_brought_up_to_date(tmp_path, monkeypatch):
    open_ledger(tmp_path).close()
    monkeypatch.setattr("ringwright.store.ledger.MIGRATIONS", (*MIGRATIONS, "ALTER TABLE take ADD COLUMN note TEXT"))
    open_ledger(tmp_path).close()
    with sqlite3.connect(tmp_path / LEDGER) as read:
        assert read.execute("PRAGMA user_version").fetchone() == (len(MIGRATIONS) + 1,)
        assert "note" in [row[1] for row in read.execute("PRAGMA table_info(take)")]
        assert read.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    read.close()
    monkeypatch.undo()
    with pytest.raises(Refusal, match="newer Ringwright"):
        open_ledger(tmp_path)


def test_drafts_that_were_committed_but_not_placed_are_placed_by_the_next_take_in(floor, monkeypatch):
    floor.take(APRIL)

    def dies(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("ringwright.store.store.put_in_place", dies)
    with pytest.raises(KeyboardInterrupt):
        floor.take(MARCH)
    monkeypatch.undo()
    assert not month(floor, 202603).exists()
    assert floor.take(MARCH).known == 1
    assert month(floor, 202603).exists()


def test_a_file_that_changes_while_it_is_read_is_refused(floor, monkeypatch):
    floor.state()
    file = floor.folder / "records.csv"
    file.write_text(HEAD + "F9,1,2026-03-01 10:00:00\n", encoding="utf-8")
    settle = "ringwright.store.take._join"

    def grows(*_: object) -> None:
        with file.open("a", encoding="utf-8") as more:
            more.write("F1,1,2026-03-01 10:00:00\n")

    monkeypatch.setattr(settle, grows)
    with pytest.raises(Refusal, match="changed while it was read"):
        floor.take(file)


def test_a_parquet_file_that_is_damaged_is_refused(floor):
    file = floor.folder / "records.parquet"
    file.write_bytes(b"PAR1 and nothing behind it")
    with pytest.raises(Refusal, match="not a whole Parquet file"):
        floor.take(file)


@pytest.mark.parametrize("text", [b"", b"\n", b"a,b\n", b'"', b"\0\0\0", b"frame,spindle\n", b"\xff\xfe\xfd"])
def test_a_file_without_the_headings_is_refused_with_a_sentence(floor, text):
    with pytest.raises(Refusal, match=r"empty|without a column"):
        floor.take(text)
