"""How start.py tells that something is missing; that it sets up and runs is shown by CI, which calls it."""

from __future__ import annotations

import pytest
import start


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setattr(start, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(start, "STAMP", tmp_path / ".venv" / "stamp.json")


@pytest.mark.parametrize(
    ("output", "words"),
    [
        ("WARNING: Retrying after connection broken by NewConnectionError: failed to resolve", "check the network"),
        ("ERROR: No matching distribution found for hatchling>=1.27", "check the network"),
        ("ERROR: Could not install packages: [Errno 28] No space left on device", "the disk is full"),
        ("something\nerror: metadata-generation-failed\n", "error: metadata-generation-failed"),
        ("", "no reason given"),
    ],
)
def test_a_failed_install_is_told_in_one_sentence(output, words):
    with pytest.raises(SystemExit) as told:
        start.explain(output)
    assert words in str(told.value)
    assert len(str(told.value).splitlines()) == 1


def test_an_environment_that_someone_else_made_is_left_alone():
    start.VENV.mkdir()
    (start.VENV / "theirs").touch()
    with pytest.raises(SystemExit, match="was not made by start"):
        start.make_environment()
    assert (start.VENV / "theirs").exists()


def test_a_python_that_cannot_make_environments_is_told_what_to_install(monkeypatch):
    monkeypatch.setattr(start, "ways_to_make_environment", list)
    with pytest.raises(SystemExit, match="apt install python3"):
        start.make_environment()
    assert not start.VENV.exists()


def test_a_damaged_stamp_counts_as_none():
    start.VENV.mkdir()
    start.STAMP.write_text("{", encoding="utf-8")
    assert start.read_stamp() == {}


def test_a_changed_setting_asks_for_a_new_install(monkeypatch):
    monkeypatch.delenv("RINGWRIGHT_NO_COMPILE", raising=False)
    before = start.fingerprint()
    assert start.fingerprint() == before
    monkeypatch.setenv("RINGWRIGHT_NO_COMPILE", "1")
    assert start.fingerprint() != before


def test_an_unknown_word_is_refused():
    with pytest.raises(SystemExit, match="'tset' is not known"):
        start.main(["tset"])
