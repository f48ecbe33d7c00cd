"""Whole entries of a mill added and removed: nothing else touched, faults told, and nobody's work lost."""

from __future__ import annotations

import filecmp
import re
from types import MappingProxyType
from urllib.parse import urlencode

import pytest
from click.testing import CliRunner
from web_request import request

from ringwright.cli.main import ringwright
from ringwright.editing.entries import copied, removed
from ringwright.editing.files import MillFiles
from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.verbs import app
from ringwright.web.server import make_app

OWN = {"origin": "http://localhost:8733", "content_type": "application/x-www-form-urlencoded"}
DEMO = MillFiles(MappingProxyType({p.name: p.read_bytes() for p in sorted(demo_mill_path().glob("*.toml"))}), "demo")


@pytest.mark.parametrize(("kind", "name", "new"), [
    ("frame", "F1", "F9"), ("yarn", "AV30K", "AV50"), ("traveller", "T45", "T48"), ("roving", "R07", "R08"),
    ("setting", "F1-AV30K", "F2-AV20W"),
])  # fmt: skip
def test_a_copy_says_the_same_makes_a_mill_and_touches_no_other_line(kind, name, new):
    after = copied(DEMO, kind, name, new)
    assert after.faults == ()
    (file,) = (one for one in DEMO.contents if after.contents[one] != DEMO.contents[one])
    old, now = DEMO.contents[file].decode().splitlines(), after.contents[file].decode().splitlines()
    left = iter(now)
    assert all(line in left for line in old)  # every line of before is still there, in its order
    entry, twin = DEMO.data(file)[kind][name], after.data(file)[kind][new]
    if kind == "setting":
        assert (twin["frame"], twin["yarn"]) == ("F2", "AV20W")
        twin = twin | {"frame": entry["frame"], "yarn": entry["yarn"]}
    assert twin == entry


def test_comments_go_with_the_copy():
    text = copied(DEMO, "setting", "F1-AV30K", "F2-AV20W").contents["settings.toml"].decode()
    twin = text[text.index("[setting.F2-AV20W]") :]
    assert "# measured: as set on the frame" in twin.split("[setting.F2-AV20W.origins]")[0]


def test_what_was_added_and_is_removed_again_leaves_the_file_as_it_was():
    for kind, name, new in (("yarn", "AV30K", "AV50"), ("setting", "F1-AV30K", "F2-AV20W")):
        assert removed(copied(DEMO, kind, name, new), kind, new).contents == DEMO.contents


def test_what_a_setting_needs_cannot_be_taken_out():
    after = removed(DEMO, "yarn", "AV60C")
    assert any("AV60C" in str(fault) and "yarn" in str(fault) for fault in after.faults)


@pytest.mark.parametrize(("kind", "name", "new", "sentence"), [
    ("yarn", "AV30K", "AV60C", "a name that is not taken"),
    ("yarn", "AV30K", "", "letters, digits"),
    ("yarn", "AV30K", "a b", "letters, digits"),
    ("yarn", "AV30K", "x]\n[mill", "letters, digits"),
    ("yarn", "AV31K", "N", "AV30K"),
    ("setting", "F1-AV30K", "F1-AV99", "the name of a frame and of a yarn"),
])  # fmt: skip
def test_what_cannot_be_added_is_refused_in_a_sentence(kind, name, new, sentence):
    with pytest.raises(Refusal, match=re.escape(sentence)):
        copied(DEMO, kind, name, new)


@pytest.mark.parametrize("text", [
    'yarn = { A = { count = "20 tex" } }\n',
    'yarn.A.count = "20 tex"\nyarn.A.strength = "300 cN"\n',
    '[yarn]\nA = { count = "20 tex" }\n',
])  # fmt: skip
def test_an_entry_that_has_no_heading_of_its_own_is_left_to_a_person(text):
    files = MillFiles(MappingProxyType({"a.toml": text.encode()}), "m")
    for make in (lambda: copied(files, "yarn", "A", "B"), lambda: removed(files, "yarn", "A")):
        with pytest.raises(Refusal, match="changed in the file itself"):
            make()


def test_several_tables_of_one_name_go_along_and_comments_with_brackets_stay():
    fibres = '[[yarn.A.fibres]]  # first\nname = "cotton"\n[[yarn.A.fibres]]\nname = "flax"\n'
    text = f'[yarn.A] # [a] "b]"\n{fibres}[yarn."B b"]\n'
    files = MillFiles(MappingProxyType({"a.toml": text.encode()}), "m")
    made = copied(files, "yarn", "A", "C.1").contents["a.toml"].decode()
    twin = text.split('[yarn."B b"]', maxsplit=1)[0].replace("yarn.A", 'yarn."C.1"')
    assert made == text.replace('[yarn."B b"]', f'\n{twin}\n[yarn."B b"]')


def test_line_ends_of_another_system_and_a_mark_stay_and_a_heading_in_a_text_is_no_heading():
    text = '\ufeff# top\r\n[yarn.A]   # [the] first\r\ncount = "20 tex"\r\nnote = """\r\n[yarn.B]\r\n"""\r\n'
    files = MillFiles(MappingProxyType({"a.toml": text.encode()}), "m")
    with pytest.raises(Refusal, match="changed in the file itself"):
        removed(files, "yarn", "A")
    plain = text.replace('note = """\r\n[yarn.B]\r\n"""\r\n', "")
    files = MillFiles(MappingProxyType({"a.toml": plain.encode()}), "m")
    made = copied(files, "yarn", "A", "C").contents["a.toml"].decode()
    assert made == plain + '\r\n# top\r\n[yarn.C]   # [the] first\r\ncount = "20 tex"\r\n'


@pytest.fixture
def mill(tmp_path):
    where = app.init(str(tmp_path / "mill"), demo=True)
    return where, make_app(str(where))


def post(made, **fields):
    return request(made, "/mill-entries", method="POST", body=urlencode(fields).encode(), **OWN)


def version_of(page):
    found = re.search(r'name="version" value="(\w+)"', page)
    assert found
    return found[1]


def test_the_difference_is_shown_before_a_new_entry_is_saved(mill):
    where, made = mill
    before = (where / "travellers.toml").read_bytes()
    shown = post(made, what="copy", kind="traveller", name="T45", new="T48")
    assert shown.status == 200
    assert "[traveller.T48]" in shown.text
    assert (where / "travellers.toml").read_bytes() == before
    asked = {"what": "copy", "kind": "traveller", "name": "T45", "new": "T48", "act": "save"}
    saved = post(made, **asked, version=version_of(shown.text))
    assert (saved.status, saved.headers["location"].partition("?")[0]) == (303, "/mill/traveller/T48")
    assert "T48" in read_mill(where).travellers
    late = post(made, **asked | {"new": "T49"}, version=version_of(shown.text))
    assert "changed since the difference was shown" in late.text
    assert "T49" not in read_mill(where).travellers


def test_an_entry_that_is_needed_is_not_removed_and_one_that_is_not_is(mill):
    where, made = mill
    kept = post(made, what="remove", kind="frame", name="F1")
    assert kept.status == 422
    assert "Nothing is saved" in kept.text
    version = version_of(kept.text)
    assert post(made, what="remove", kind="frame", name="F1", act="save", version=version).status == 422
    assert "F1" in read_mill(where).frames
    assert post(made, what="remove", kind="setting", name="F1-AV40B", act="save", version=version).status == 303
    assert "F1-AV40B" not in read_mill(where).settings
    assert "F1-AV40B is out of the files" in request(made, "/mill?gone=F1-AV40B").text


def test_the_demo_and_other_sites_change_nothing(mill):
    _, made = mill
    other = {"origin": "http://evil.example"}
    assert request(made, "/mill-entries", method="POST", body=b"kind=yarn", **other).status == 403
    reply = post(make_app("demo"), what="remove", kind="yarn", name="AV30K")
    assert reply.status == 422
    assert "ringwright init --demo mymill" in reply.text


def test_a_copy_of_the_demo_is_the_demo_and_is_written_only_once(tmp_path):
    goal = tmp_path / "mine"
    done = CliRunner().invoke(ringwright, ["init", "--demo", str(goal)])
    assert done.exit_code == 0
    assert f"ringwright serve {goal}" in done.output
    same = filecmp.dircmp(demo_mill_path(), goal, ignore=["__pycache__"])
    assert (same.left_only, same.right_only, same.diff_files) == ([], [], [])
    assert CliRunner().invoke(ringwright, ["init", "--demo", str(goal)]).exit_code == 1
