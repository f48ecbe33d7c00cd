"""A round kept by mistake is taken back: it stays to be read, counts for nothing, and a sudden end leaves it whole."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from dataclasses import replace
from typing import Any

import pytest
from click.testing import CliRunner
from test_rounds import ROUND

from ringwright.cli.main import ringwright
from ringwright.refusal import Refusal
from ringwright.store import open_store
from ringwright.store.ledger import LEDGER, MIGRATIONS
from ringwright.store.rounds import ROUND_BACK_SCRIPT, RoundBack
from ringwright.verbs import centring as centring_verbs
from ringwright.verbs import rounds as verbs
from ringwright.verbs.app import open_mill

MILL = "Alder Vale Spinning"
BACK = RoundBack(mill="alder-vale-spinning", number=1, at_us=9, by="a fitter", note="the wrong day")
TEXT = "spindle,part,dx (mm),dy (mm)\n3,ring,0.8,0\n4,ring,0.01,0\n"


@pytest.fixture
def folder(tmp_path):
    with open_store(tmp_path / "s", new=True) as store:
        store.keep_round(MILL, ROUND)
    return tmp_path / "s"


def test_a_round_taken_back_stays_to_be_read_and_its_text_may_be_kept_on_its_right_day(folder):
    right = replace(ROUND, read_us=ROUND.read_us + 86_400_000_000)
    with open_store(folder) as store:
        with pytest.raises(Refusal, match="take that round back first"):
            store.keep_round(MILL, right)
        with store.ledger.change():
            assert store.ledger.take_back_round(BACK)
        assert store.rounds(MILL) == []
        assert store.keep_round(MILL, right) == (replace(right, number=2), True)
        assert store.keep_round(MILL, right)[1] is False  # known: one that stands is still the only one of its text
        with store.ledger.change():
            assert not store.ledger.take_back_round(BACK)  # it was before
            assert not store.ledger.take_back_round(replace(BACK, number=7))
            assert not store.ledger.take_back_round(replace(BACK, number=2, mill="another"))
    with open_store(folder) as store:
        assert [one.number for one in store.rounds(MILL)] == [2]
        first, second = store.rounds(MILL, every=True)
        back: dict[str, Any] = {"taken_back_us": 9, "taken_back_by": "a fitter", "taken_back_note": "the wrong day"}
        assert (first, second) == (replace(ROUND, number=1, **back), replace(right, number=2))
        assert (first.stands, second.stands) == (False, True)


def test_two_rounds_of_one_text_cannot_stand_whoever_writes_them(folder):
    with sqlite3.connect(folder / LEDGER) as other, pytest.raises(sqlite3.IntegrityError):
        other.execute(
            "INSERT INTO round (mill, kind, frame, read_us, by, note, source, text, sha256, readings, set_aside, "
            "kept_at) SELECT mill, kind, frame, read_us, by, note, source, text, sha256, readings, set_aside, kept_at "
            "FROM round"
        )
    other.close()


def test_the_rounds_of_an_older_ledger_are_all_there_and_can_be_taken_back(tmp_path, monkeypatch):
    old_rounds(tmp_path / "s", monkeypatch)
    with open_store(tmp_path / "s") as store:
        assert [(one.text, one.readings, one.set_aside, one.by, one.stands) for one in store.rounds(MILL)] == [
            (text, ROUND.readings, ROUND.set_aside, ROUND.by, True) for text in ("a", "b")
        ]
        with store.ledger.change():
            assert store.ledger.take_back_round(replace(BACK, number=2))
        assert [one.text for one in store.rounds(MILL)] == ["a"]


def old_rounds(folder, monkeypatch):
    """Make a store of the version before rounds could be taken back, with two rounds as they were written then."""
    with monkeypatch.context() as old:
        old.setattr("ringwright.store.ledger.MIGRATIONS", MIGRATIONS[: MIGRATIONS.index(ROUND_BACK_SCRIPT)])
        with open_store(folder, new=True):
            pass
    with sqlite3.connect(folder / LEDGER) as written:
        for text in ("a", "b"):
            written.execute(
                "INSERT INTO round (mill, kind, frame, read_us, by, note, source, text, sha256, readings, set_aside, "
                "kept_at) VALUES ('alder-vale-spinning', 'centring', 'F3', 1, 'a fitter', '', 'typed', ?, ?, ?, ?, '')",
                (text, text, '[{"line": 2, "spindle": 7, "part": "ring", "along": 1e-4}]',
                 '[[3, "c", "line 3 is c; it must be a reading."]]'),
            )  # fmt: skip
    written.close()


DIES = """
import os, signal, sqlite3, sys
from ringwright.store import ledger, open_store
from ringwright.store.rounds import RoundBack

class Dying(sqlite3.Connection):
    def execute(self, sentence, *more):
        if sentence.strip().startswith(sys.argv[2]):
            os.kill(os.getpid(), signal.SIGKILL)
        return super().execute(sentence, *more)

whole = sqlite3.connect
ledger.sqlite3.connect = lambda *words, **more: whole(*words, factory=Dying, **more)
with open_store(sys.argv[1]) as store, store.ledger.change():
    store.ledger.take_back_round(RoundBack(mill="alder-vale-spinning", number=1, at_us=9, by="a fitter", note="why"))
"""


def killed_at(folder, sentence):
    words = [sys.executable, "-c", DIES, str(folder), sentence]
    return subprocess.run(words, check=False, capture_output=True).returncode  # noqa: S603 - our own words


@pytest.mark.skipif(os.name == "nt", reason="kill -9 is a signal of POSIX systems")
def test_a_sudden_end_while_a_round_is_taken_back_leaves_it_standing_and_one_after_it_changes_nothing(folder):
    assert killed_at(folder, "COMMIT") == -signal.SIGKILL
    with open_store(folder) as store:
        assert [one.stands for one in store.rounds(MILL, every=True)] == [True]
    assert killed_at(folder, "NOTHING IS CALLED SO") == 0
    with open_store(folder) as store:
        (one,) = store.rounds(MILL, every=True)
        assert (one.stands, one.taken_back_note, one.text) == (False, "why", ROUND.text)


@pytest.mark.skipif(os.name == "nt", reason="kill -9 is a signal of POSIX systems")
@pytest.mark.parametrize("moment", ["INSERT INTO round_that", "DROP TABLE round", "ALTER TABLE round_that", "COMMIT"])
def test_a_sudden_end_while_the_ledger_is_brought_up_to_date_loses_no_round(tmp_path, monkeypatch, moment):
    old_rounds(tmp_path / "s", monkeypatch)
    assert killed_at(tmp_path / "s", moment) == -signal.SIGKILL
    with open_store(tmp_path / "s") as store:
        assert [one.text for one in store.rounds(MILL)] == ["a", "b"]


def test_the_drift_and_the_work_list_know_nothing_of_a_round_taken_back(tmp_path):
    mill, store = open_mill("demo"), str(tmp_path / "s")
    for day in ("2026-05-04", "2026-06-04"):
        text = TEXT if day < "2026-06" else TEXT.replace("3,ring,0.8", "3,ring,0.01")
        asked = centring_verbs.AskedCentring(text=text, keep=store, when=day, by="a fitter")
        centring_verbs.centring_of(mill, "demo", ("F1", ""), asked)
    (found,) = centring_verbs.frame_rounds(mill, "demo", store, ["F1"])
    assert found.judged.corrections == ()
    told = verbs.take_back_round("demo", store, verbs.TakingBack(number="2", note="another frame", by="late"))
    assert told == "Took round 2 back (centring of F1, read on 2026-06-04). It stays in the store, marked."
    (found,) = centring_verbs.frame_rounds(mill, "demo", store, ["F1"])
    assert [one.spindle for one in found.judged.corrections] == [3]
    sheet = verbs.list_rounds("demo", store)
    assert sheet.answer.startswith(f"1 round kept in {store}; 1 taken back.")
    assert [row[-1].partition(" UTC ")[2] for row in sheet.tables[0].rows] == ["", "by late: another frame"]
    verbs.take_back_round("demo", store, verbs.TakingBack(number="1", note="too", by="late"))
    assert verbs.list_rounds("demo", store).answer.startswith(f"0 rounds kept in {store}; 2 taken back.")


def run(*words):
    return CliRunner().invoke(ringwright, list(words))


def test_what_cannot_be_taken_back_is_refused_with_every_fault(folder):
    refused = run("rounds", str(folder), "--take-back", "9")
    assert isinstance(refused.exception, Refusal)
    for part in ('--take-back is "9"', "These stand: 1.", "--note is empty", "--by is empty"):
        assert part in str(refused.exception)
    assert isinstance(run("rounds", "demo", "--take-back", "1", "--note", "x", "--by", "y").exception, Refusal)
    assert run("rounds", str(folder), "--note", "x").exit_code == 2
    done = run("rounds", str(folder), "--take-back", "1", "--note", "wrong frame", "--by", "late")
    assert "Took round 1 back (centring of F3" in done.output
    assert "late: wrong frame" in run("rounds", str(folder)).output.replace("\n", " ")
