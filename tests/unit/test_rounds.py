"""Rounds of readings: the text read row by row, the round kept, and nothing lost on the way."""

from __future__ import annotations

import re
import sqlite3
from dataclasses import replace

import pytest

from ringwright.events.round_table import AsideLine, Column, read_round_table
from ringwright.events.when import read_when
from ringwright.refusal import Refusal
from ringwright.store import Round, open_store
from ringwright.store.ledger import LEDGER, MIGRATIONS

LENGTH = Column(quantity="length", low=-5e-3, high=5e-3, range="from -5 mm to 5 mm")
COLUMNS = {
    "spindle": Column(whole=True, low=1, high=10, range="a spindle from 1 to 10"),
    "part": Column(words=("ring", "guide")), "dx": LENGTH, "note": Column(needed=False),
}  # fmt: skip
ROUND = Round(
    kind="centring", frame="F3", read_us=1_700_000_000_000_000, by="a fitter", source="typed", text="a\nb\nc\n",
    readings=({"line": 2, "spindle": 7, "part": "ring", "along": 1e-4},),
    set_aside=(AsideLine(line=3, text="c", reason="line 3 is c; it must be a reading."),), note="after the doff",
)  # fmt: skip


def read(text):
    return read_round_table(text, "round.csv", COLUMNS)


# The text


@pytest.mark.parametrize(
    "text",
    [
        "spindle,part,dx (mm)\n3,ring,0.15\n",
        "spindle;part;dx [mm]\n3;ring;0,15\n",
        "spindle\tpart\tdx (mm)\n3\tRing\t0,15\n",
        "# a remark\n\nspindle,part,dx\n3,ring,0.15 mm\n",
        "spindle,part,dx,unit\n3,ring,0.15,mm\n",
        "spindle,part,dx (cm)\n3,ring,0.015\n",
    ],
)
def test_the_same_reading_is_understood_in_every_way_of_writing_it(text):
    (row,) = read(text).rows
    assert (row.numbers["spindle"], row.words["part"]) == (3, "ring")
    assert row.numbers["dx"] == pytest.approx(0.15e-3, rel=1e-12)


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        ("11,ring,0.1", 'round.csv, line 2, spindle is "11"; it must be a spindle from 1 to 10.'),
        ("1.5,ring,0.1", 'round.csv, line 2, spindle is "1.5"; it must be a spindle from 1 to 10.'),
        ("3,rng,0.1", "Did you mean ring?"),
        ("3,ring,0.004 in", "Write the number in that unit"),
        ("3,ring,50", "it must be from -5 mm to 5 mm"),
        ("3,ring,", "dx is empty"),
        ("3,ring", "is a row of 2; it must be a row of 3 cells (spindle, part, dx)."),
        ("3,ring,0,15", "write decimals with a point"),
        ('3,ring,"0.1', "is a row of 1"),
        ("3,ring,nan", 'dx is "nan"'),
    ],
)
def test_a_bad_row_is_set_aside_with_a_sentence_that_names_it(row, sentence):
    table = read(f"spindle,part,dx (mm)\n{row}\n4,ring,0.1\n")
    (bad,) = table.set_aside
    assert sentence in bad.reason
    assert (bad.line, bad.text, len(table.rows)) == (2, row, 1)


def test_a_comma_that_reads_two_ways_is_not_guessed():
    (bad,) = read("spindle;part;dx (mm)\n3;ring;1,250\n").set_aside
    assert "so that it reads one way, as 1250 or 1.250" in bad.reason


def test_units_that_differ_from_row_to_row_are_taken_and_told():
    table = read("spindle,part,dx\n3,ring,0.1 mm\n4,ring,0.004 in\n")
    assert table.rows[1].numbers["dx"] == pytest.approx(0.004 * 25.4e-3)
    assert "1 in mm, 1 in in" in table.notes[0]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "round.csv is empty"),
        ("spindle,part,dx (mm)\n", "a heading alone"),
        ("spindle,prat,dx (mm)\n1,2,3\n", "Did you mean part?"),
        ("spindle,part,dx (kg)\n1,ring,3\n", 'is in "kg"'),
        ("spindle,part\n1,ring\n", "without a column dx"),
        ("spindle,part,dx (mm),dx (mm)\n1,ring,3,3\n", "a column twice"),
    ],
)
def test_a_text_that_cannot_be_read_at_all_is_refused(text, sentence):
    with pytest.raises(Refusal, match=re.escape(sentence)):
        read(text)


def test_a_day_is_its_noon_and_a_moment_needs_its_zone():
    noon = 1_774_958_400_000_000  # 2026-03-31 12:00 UTC: 20 543 days and a half of 86 400 s
    assert read_when("2026-03-31", "--when") == noon
    assert read_when("2026-03-31 14:00+02:00", "--when") == noon
    for text in ("2026-03-31 14:00", "2999-01-01", "soon", ""):
        with pytest.raises(Refusal, match="--when"):
            read_when(text, "--when")


# The store


def test_a_round_comes_back_as_it_was_kept(tmp_path):
    with open_store(tmp_path / "s", new=True) as store:
        kept, new = store.keep_round("Alder Vale", ROUND)
        assert (kept.number, new) == (1, True)
    with open_store(tmp_path / "s") as store:
        (back,) = store.rounds("Alder Vale", "centring", "F3")
        assert back == replace(ROUND, number=1)
        assert store.rounds("Alder Vale", "speed") == store.rounds("Alder Vale", "centring", "F1") == []


def test_the_same_round_is_known_and_the_same_text_on_another_day_is_refused(tmp_path):
    with open_store(tmp_path / "s", new=True) as store:
        store.keep_round("Alder Vale", ROUND)
        again, new = store.keep_round("Alder Vale", ROUND)
        assert (again.number, new) == (1, False)
        with pytest.raises(Refusal, match="same text as round 1"):
            store.keep_round("Alder Vale", replace(ROUND, read_us=ROUND.read_us + 1))
        assert len(store.rounds("Alder Vale")) == 1


def test_rounds_stand_in_the_order_in_which_they_were_read(tmp_path):
    with open_store(tmp_path / "s", new=True) as store:
        for days, text in ((2, "b"), (1, "a"), (3, "c")):
            store.keep_round("Alder Vale", replace(ROUND, text=text, read_us=days * 86_400_000_000))
        assert [one.text for one in store.rounds("Alder Vale")] == ["a", "b", "c"]


def test_a_store_made_before_rounds_were_known_takes_them(tmp_path, monkeypatch):
    at = next(k for k, script in enumerate(MIGRATIONS) if "CREATE TABLE round" in script)
    with monkeypatch.context() as old:
        old.setattr("ringwright.store.ledger.MIGRATIONS", MIGRATIONS[:at])
        with open_store(tmp_path / "s", new=True):
            pass
    with open_store(tmp_path / "s") as store:
        store.keep_round("Alder Vale", ROUND)
    with sqlite3.connect(tmp_path / "s" / LEDGER) as read_by_hand:
        assert read_by_hand.execute("SELECT frame, by, text FROM round").fetchall() == [("F3", "a fitter", "a\nb\nc\n")]
    read_by_hand.close()
