"""A change in the text of a mill file: the value asked for, and not a byte of anything else."""

from __future__ import annotations

import pytest

from ringwright.editing.change import Change, changed_content
from ringwright.editing.leaves import document_of
from ringwright.editing.literal import literal_of
from ringwright.mill.starter import starter_texts
from ringwright.refusal import Refusal


def after(text, *changes):
    content = text if isinstance(text, bytes) else text.encode()
    made = changed_content("a.toml", content, [Change(tuple(path.split("/")), literal) for path, literal in changes])
    return made if isinstance(text, bytes) else made.decode()


def test_a_value_is_changed_and_its_comment_and_blanks_stay():
    text = '# top\n[yarn.Y]   # a yarn\ncount  =  "30 Ne"     # measured\n\n\nstrength = "3 N"\n'
    assert after(text, ("yarn/Y/count", '"31 Ne"')) == text.replace("30 Ne", "31 Ne")


def test_line_endings_and_a_byte_order_mark_stay_line_by_line():
    text = b'\xef\xbb\xbf[yarn.Y]\r\ncount = "30 Ne"\r\nprocess = "combed"\nend_use = "weft"\r\n'
    assert after(text, ("yarn/Y/count", '"31 Ne"')) == text.replace(b"30 Ne", b"31 Ne")
    assert after(text, ("yarn/Y/strength", '"3 N"')) == text + b'strength = "3 N"\r\n'


def test_a_file_without_a_last_line_break_is_given_none():
    assert after('[yarn.Y]\ncount = "30 Ne"', ("yarn/Y/strength", '"3 N"')) == (
        '[yarn.Y]\ncount = "30 Ne"\nstrength = "3 N"'
    )


def test_a_new_key_stands_at_the_end_of_its_table_before_the_comment_of_the_next():
    text = "[frame.F.ring]\nfriction = 0.1\n\n# the tube\n[frame.F.tube]\nlength = 1\n"
    assert after(text, ("frame/F/ring/flange", "3")) == text.replace("0.1\n", "0.1\nflange = 3\n")


def test_a_new_table_stands_at_the_end_of_its_entry():
    text = "[yarn.A]\ncount = 1\n\n# the next yarn\n[yarn.B]\ncount = 2\n"
    made = after(text, ("yarn/A/origins/ring.x", '"assumed"'), ("yarn/A/origins/y", '"assumed"'))
    added = '\n[yarn.A.origins]\n"ring.x" = "assumed"\ny = "assumed"\n'
    assert made == text.replace("count = 1\n", f"count = 1\n{added}")


def test_a_key_is_taken_out_with_its_line_only():
    text = "[yarn.A]\n# above\ncount = 1  # beside\nstrength = 2\n"
    assert after(text, ("yarn/A/count", None)) == "[yarn.A]\n# above\nstrength = 2\n"
    assert after(text, ("yarn/A/not_there", None)) == text


def test_a_table_of_a_list_is_changed_in_either_way_of_writing():
    braces = '[yarn.A]\nfibres = [   # two\n    { name = "a", share = "60 %" },\n    { name = "b" },\n]\n'
    assert after(braces, ("yarn/A/fibres/0/share", '"61 %"')) == braces.replace("60 %", "61 %")
    assert after(braces, ("yarn/A/fibres/1/name", '"c"')) == braces.replace('"b"', '"c"')
    headed = '[[yarn.A.fibres]]\nname = "a"\n\n[[yarn.A.fibres]]\nname = "b"\n'
    assert after(headed, ("yarn/A/fibres/1/name", '"c"')) == headed.replace('"b"', '"c"')


def test_dotted_keys_braces_and_tables_out_of_order_are_written_as_they_are():
    dotted = "[frame.F]\nsides = 2\nring.diameter = 40  # d\nring.friction = 0.1\n\n[frame.F.tube]\nlength = 1\n"
    assert after(dotted, ("frame/F/ring/flange", "3")) == dotted.replace("0.1\n", "0.1\nring.flange = 3\n")
    braces = '[frame.F]\nspread = { "a.b" = "1 to 2" }\n'
    assert '"a.b" = "1 to 3" }' in after(braces, ("frame/F/spread/a.b", '"1 to 3"'))
    apart = "[yarn.A]\ncount = 1\n[roving.R]\ncount = 2\n[yarn.B]\ncount = 3 # c\n"
    assert after(apart, ("yarn/B/count", "4")) == apart.replace("3 # c", "4 # c")


def test_what_cannot_be_changed_without_touching_something_else_is_refused_with_file_and_key():
    with pytest.raises(
        Refusal, match=r"a\.toml, frame\.F\.origins\.x is written in a way .* changed in the file itself"
    ):
        after("[frame]\nF.sides = 2\n", ("frame/F/origins/x/y", "3"), ("frame/F/origins/x", "1"))


def test_a_text_that_the_parser_would_not_give_back_as_it_is_is_left_alone(monkeypatch):
    monkeypatch.setattr("ringwright.editing.change.document_of", lambda text: document_of(f"{text}# more\n"))
    with pytest.raises(Refusal, match="without touching something else"):
        after("[yarn.A]\ncount = 1\n", ("yarn/A/count", "2"))


@pytest.mark.parametrize(
    ("file", "path", "there", "back"),
    [
        ("yarns.toml", "yarn/Y30/count", '"31 Ne"', '"30 Ne"'),
        ("yarns.toml", "yarn/Y30/fibres/0/length", '"26 mm"', '"25 mm"'),
        ("frame_F1.toml", "frame/F1/ring/friction", "0.11", "0.10"),
        ("frame_F1.toml", "frame/F1/spread/guide.friction", '"0.1 to 0.3"', '"0.15 to 0.27"'),
        ("frame_F1.toml", "frame/F1/drafting/gearing/break_draft/wheels", "[35]", "[35, 36, 37, 38, 39, 40]"),
        ("mill.toml", "mill/money/piecing_time", '"16 s"', '"15 s"'),
        ("settings.toml", "setting/F1-Y30/guide_fixed", "true", "false"),
    ],
)
def test_a_change_there_and_back_gives_the_starter_back_byte_for_byte(file, path, there, back):
    text = starter_texts()[file]
    changed = after(text, (path, there))
    assert changed != text
    assert after(changed, (path, back)) == text


@pytest.mark.parametrize(
    ("typed", "kind", "literal"),
    [
        ("30 Ne", "quantity", '"30 Ne"'),
        ("40", "quantity", '"40"'),  # without a unit it is refused by the reader, as a text in a file is
        ("0.12", "number", "0.12"),
        ("1008", "number", "1008"),
        ("007", "number", '"007"'),
        ("nan", "number", '"nan"'),
        ("true", "switch", "true"),
        ("yes", "switch", '"yes"'),
        ('say "so"\n', "text", r'"say \"so\"\n"'),
        ("[60,\n 64]  # mine", "list", "[60,\n 64]"),
    ],
)
def test_what_is_typed_becomes_one_toml_value(typed, kind, literal):
    assert literal_of(typed, kind, "here") == literal


@pytest.mark.parametrize(
    "typed", ["", "60, 64", "[60", "[60]\nsides = 1", "[60]\n[frame.F9]", '"text"', "3", "[1]]", "[" * 3000]
)
def test_what_is_no_list_cannot_become_another_key(typed):
    with pytest.raises(Refusal, match="here is not a list; it must be a list in square brackets"):
        literal_of(typed, "list", "here")


def test_a_value_longer_than_a_person_writes_is_refused():
    with pytest.raises(Refusal, match="here is 401 signs long; it must be at most 400 signs long"):
        literal_of("x" * 401, "text", "here")
