"""The mill's files on disk: written whole, with their mode, and only over what the writer has seen."""

from __future__ import annotations

import multiprocessing
import os
import stat
import sys

import pytest

from ringwright.editing import desk as desk_of
from ringwright.editing.change import Change, changed_content
from ringwright.editing.desk import REMEMBERED, Desk, Stale
from ringwright.editing.difference import difference
from ringwright.editing.entries import copied, removed
from ringwright.editing.files import MillFiles
from ringwright.editing.lock import held
from ringwright.mill import demo_mill_path, read_mill, write_starter
from ringwright.refusal import Refusal


@pytest.fixture
def folder(tmp_path):
    return write_starter(tmp_path / "mill")


@pytest.fixture
def desk(folder):
    return Desk(str(folder), demo=False)


def changed(files, file, *path, to):
    return files.replaced({file: changed_content(file, files.contents[file], [Change(path, to)])})


def strength(files, to):
    return changed(files, "yarns.toml", "yarn", "Y30", "strength", to=f'"{to} cN"')


def test_a_saved_change_is_in_the_file_and_nothing_else_is_there(desk, folder):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    files = desk.read()
    desk.save(files, strength(files, 330))
    assert read_mill(folder).yarns["Y30"].strength == pytest.approx(3.30)
    now = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert now == before | {"yarns.toml": before["yarns.toml"].replace(b'"325 cN"', b'"330 cN"')}


@pytest.mark.skipif(sys.platform == "win32", reason="Windows knows no such modes")
def test_the_mode_of_the_file_stays(desk, folder):
    (folder / "yarns.toml").chmod(0o640)
    files = desk.read()
    desk.save(files, strength(files, 330))
    assert stat.S_IMODE((folder / "yarns.toml").stat().st_mode) == 0o640


def test_a_file_that_is_a_link_stays_one_and_what_it_points_to_is_written(desk, folder, tmp_path):
    real = tmp_path / "kept" / "yarns.toml"
    real.parent.mkdir()
    (folder / "yarns.toml").rename(real)
    (folder / "yarns.toml").symlink_to(real)
    files = desk.read()
    desk.save(files, strength(files, 330))
    assert (folder / "yarns.toml").is_symlink()
    assert b'"330 cN"' in real.read_bytes()


def test_a_save_over_what_was_not_seen_writes_nothing_and_gives_what_is_there(desk, folder):
    seen = desk.read()
    other = Desk(str(folder), demo=False)
    other.save(other.read(), strength(other.read(), 340))
    with pytest.raises(Stale) as stale:
        desk.save(seen, strength(seen, 330))
    assert stale.value.now.written("yarns.toml")["yarn", "Y30", "strength"] == "340 cN"
    assert read_mill(folder).yarns["Y30"].strength == pytest.approx(3.40)


@pytest.mark.parametrize("way", ["new file", "file gone"])
def test_a_file_that_came_or_went_makes_a_save_stale(desk, folder, way):
    seen = desk.read()
    if way == "new file":
        (folder / "more.toml").write_text("", encoding="utf-8")
    else:
        (folder / "settings.toml").unlink()
    with pytest.raises(Stale):
        desk.save(seen, strength(seen, 330))


@pytest.mark.parametrize("broken", ["fsync", "replace"])
def test_a_disk_that_fails_leaves_every_file_as_it_was(desk, folder, monkeypatch, broken):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    files = desk.read()
    after = changed(strength(files, 330), "settings.toml", "setting", "F1-Y30", "yarn", to='"Y30 "')
    calls = []

    def fail(*given, **named):
        calls.append(given)
        if broken == "fsync" or len(calls) == 2:  # the second file fails after the first was moved
            raise OSError(28, "No space left on device")
        return real(*given, **named)

    real = getattr(os, broken)
    monkeypatch.setattr(os, broken, fail)
    with pytest.raises(Refusal, match=r"not writable .no space left on device.; it must be"):
        desk.save(files, after)
    monkeypatch.undo()
    assert calls
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may write everything")
def test_a_file_that_may_not_be_written_is_told(desk, folder):
    (folder / "yarns.toml").chmod(0o444)
    files = desk.read()
    with pytest.raises(Refusal, match=r"yarns\.toml is not writable .permission denied."):
        desk.save(files, strength(files, 330))


@pytest.mark.parametrize(("where", "demo"), [("demo", True), (str(demo_mill_path()), False)])
def test_the_demo_mill_is_never_written(where, demo):
    desk = Desk(where, demo=demo)
    files = desk.read()
    after = files.replaced({"yarns.toml": b""})
    with pytest.raises(Refusal, match=r"read-only; it must be a mill of your own. Start one with: ringwright init"):
        desk.save(files, after)
    assert desk.read().version == files.version


def test_a_folder_that_has_gone_is_told(desk, folder):
    files = desk.read()
    folder.rename(folder.with_name("elsewhere"))
    for act in (desk.read, lambda: desk.save(files, strength(files, 330))):
        with pytest.raises(Refusal, match=r"is without \.toml files; it must be the folder of a mill"):
            act()


def test_a_folder_that_another_program_holds_is_waited_for_and_then_told(desk, folder, monkeypatch):
    monkeypatch.setattr("ringwright.editing.lock.PATIENCE_S", 0.1)
    files = desk.read()
    with held(folder), pytest.raises(Refusal, match="another program is saving"):
        desk.save(files, strength(files, 330))
    desk.save(files, strength(files, 330))


def test_earlier_states_are_remembered_up_to_a_number(desk):
    first = files = desk.read()
    for number in range(REMEMBERED + 1):
        after = strength(files, 400 + number)
        desk.save(files, after)
        files = desk.read()
    assert desk.remembered(first.version) is None
    assert desk.remembered(files.version) is not None


def test_the_version_changes_with_a_name_and_with_a_byte():
    versions = {
        MillFiles(contents, "x").version
        for contents in ({"a": b"1", "b": b"2"}, {"a": b"12", "b": b""}, {"a": b"1", "c": b"2"}, {"a": b"1"})
    }
    assert len(versions) == 4


def add(folder, mark, times):
    """Add lines of one writer to a file, each over what was just read; try again when another was first."""
    desk = Desk(folder, demo=False)
    done = 0
    while done < times:
        files = desk.read()
        new = files.contents["settings.toml"] + f"# {mark} {done}\n".encode()
        try:
            desk.save(files, files.replaced({"settings.toml": new}))
        except Stale:
            continue
        done += 1


def test_two_programs_that_save_at_once_lose_nothing(folder):
    start = multiprocessing.get_context("spawn")
    writers = [start.Process(target=add, args=(str(folder), mark, 20)) for mark in ("left", "right")]
    for one in writers:
        one.start()
    for one in writers:
        one.join(60)
    assert [one.exitcode for one in writers] == [0, 0]
    lines = (folder / "settings.toml").read_text(encoding="utf-8").splitlines()
    told = [line for line in lines if line.startswith(("# left", "# right"))]
    assert sorted(told) == sorted(f"# {mark} {number}" for mark in ("left", "right") for number in range(20))
    assert [path.name for path in folder.iterdir() if path.name.startswith(".")] == []


@pytest.mark.parametrize("how", ["written", "replaced", "taken away"])
def test_an_editor_that_writes_at_the_same_moment_loses_nothing(desk, folder, monkeypatch, how):
    """An editor does not ask for the lock: what it writes while the new file is laid down must stay."""
    files, file, by_hand = desk.read(), folder / "yarns.toml", b"# by hand\n"
    lay_down = desk_of._draft

    def meanwhile(path, content):
        draft = lay_down(path, content)
        if how == "written":
            file.write_bytes(by_hand + files.contents["yarns.toml"])
        elif how == "replaced":
            (folder / "new").write_bytes(by_hand + files.contents["yarns.toml"])
            (folder / "new").replace(file)
        else:
            file.unlink()
        return draft

    monkeypatch.setattr(desk_of, "_draft", meanwhile)
    with pytest.raises(Stale) as stale:
        desk.save(files, strength(files, 330))
    there = file.read_bytes() if file.exists() else None
    assert there == (None if how == "taken away" else by_hand + files.contents["yarns.toml"])
    assert stale.value.now.contents.get("yarns.toml") == there
    assert [path.name for path in folder.iterdir() if path.name.startswith(".")] == []


def test_a_disk_that_is_full_by_the_second_move_still_puts_the_first_back(desk, folder, monkeypatch):
    """What is needed to put a file back is laid down before the first is moved: later there may be no room for it."""
    files = desk.read()
    after = changed(strength(files, 330), "mill.toml", "mill", "shift_length", to='"7 h"')
    lay_down = desk_of._draft
    moves: list[object] = []

    def full(path, content):
        if moves:
            raise OSError(28, "No space left on device")
        return lay_down(path, content)

    def move(draft, to):
        moves.append(draft)
        if len(moves) == 2:
            raise OSError(5, "Input/output error")
        os.replace(draft, to)  # noqa: PTH105 - the path's own is what is watched
        return to

    monkeypatch.setattr(desk_of, "_draft", full)
    monkeypatch.setattr(type(folder), "replace", move)
    with pytest.raises(Refusal, match="not writable"):
        desk.save(files, after)
    assert desk.read().contents == files.contents
    assert [path.name for path in folder.iterdir() if path.name.startswith(".")] == []


@pytest.mark.skipif(sys.platform == "win32", reason="Windows lets few make links")
def test_a_mill_behind_a_link_keeps_its_mark_and_its_line_ends(folder, tmp_path):
    link, file = tmp_path / "link", folder / "yarns.toml"
    link.symlink_to(folder, target_is_directory=True)
    windows = b"\xef\xbb\xbf" + file.read_bytes().replace(b"\n", b"\r\n")
    file.write_bytes(windows)
    desk = Desk(str(link), demo=False)
    files = desk.read()
    desk.save(files, strength(files, 330))
    assert file.read_bytes() == windows.replace(b'"325 cN"', b'"330 cN"')
    assert link.is_symlink()


def test_a_comment_with_a_strange_line_end_stays_whole(desk, folder):
    """A line separator is a sign like any other to TOML: a heading behind it is part of the comment."""
    file = folder / "yarns.toml"
    file.write_bytes("# kept \u2028[yarn.Y30]\n".encode() + file.read_bytes())
    files = desk.read()
    made = copied(files, "roving", "R07", "R08").contents["yarns.toml"].decode()
    assert made.startswith("# kept \u2028[yarn.Y30]\n")
    assert removed(files, "yarn", "Y30").contents["yarns.toml"].decode().startswith("# kept \u2028[yarn.Y30]\n")
    (shown,) = difference(files.contents, {**files.contents, "yarns.toml": made.encode()})
    first = next(line.number for line in shown.lines if line.kind == "becomes")
    assert made.split("\n")[first - 1] == next(line.text for line in shown.lines if line.kind == "becomes")
