"""What holds for any change of a mill file: the file says what was asked for, and every other line is as it was."""

from __future__ import annotations

import copy
import tomllib
from difflib import SequenceMatcher

from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.editing.change import Change, changed_content
from ringwright.editing.files import MillFiles
from ringwright.editing.leaves import document_of
from ringwright.editing.literal import literal_of
from ringwright.editing.merging import merge
from ringwright.mill import demo_mill_path
from ringwright.mill.starter import starter_texts

TEXTS = {path.name: path.read_text(encoding="utf-8") for path in sorted(demo_mill_path().glob("*.toml"))}
TEXTS |= {f"starter {name}": text for name, text in starter_texts().items()}
PLACES = sorted((name, path) for name, text in TEXTS.items() for path in document_of(text).leaves)
HEADED = sorted((name, path) for name, text in TEXTS.items() for path in document_of(text).headed if len(path) > 1)
ANYTHING = st.text(st.characters(codec="utf-8"), max_size=30)
LITERALS = st.one_of(
    ANYTHING.map(lambda word: literal_of(word, "text", "")),
    st.floats(allow_nan=False, allow_infinity=False).map(lambda number: literal_of(repr(number), "number", "")),
    st.lists(st.integers(8, 300)).map(str),
    st.sampled_from(["true", "false", '"30 Ne"', "{ a = 1 }", "[[120, 30], ['change', 32]]", "[ # c\n 1,\n]"]),
)
ENDS = st.sampled_from([("\n", b""), ("\r\n", b""), ("\n", b"\xef\xbb\xbf"), ("\r\n", b"\xef\xbb\xbf")])


def at(data, path):
    for part in path:
        data = data[int(part)] if isinstance(data, list) else data[part]
    return data


def put(data, path, value):
    made = copy.deepcopy(data)
    at(made, path[:-1])[path[-1]] = value
    return made


def lines_that_stay(before, after):
    """Tell how many lines of ``before`` are not found, in order, in ``after``."""
    same = sum(block.size for block in SequenceMatcher(None, before, after, autojunk=False).get_matching_blocks())
    return len(before) - same


def value_lines(text, path):
    item = document_of(text).leaves[path].item
    return item.as_string().count("\n") + 1


@settings(max_examples=120)
@given(place=st.sampled_from(PLACES), literal=LITERALS, ends=ENDS)
def test_a_changed_value_is_there_and_no_other_line_is_touched(place, literal, ends):
    name, path = place
    text, (end, mark) = TEXTS[name], ends
    content = mark + text.replace("\n", end).encode()
    made = changed_content(name, content, [Change(path, literal)])
    assert made.startswith(mark)
    after = made.removeprefix(mark).decode()
    assert end == "\n" or after.count("\n") == after.count("\r\n")
    plain = after.replace("\r\n", "\n")
    value = tomllib.loads(f"v = {literal}")["v"]
    assert tomllib.loads(plain) == put(tomllib.loads(text), path, value)
    assert lines_that_stay(text.split("\n"), plain.split("\n")) <= value_lines(text, path)


@settings(max_examples=80)
@given(place=st.sampled_from(HEADED), literal=LITERALS, key=ANYTHING.filter(bool))
def test_a_new_key_is_there_and_every_line_stays(place, literal, key):
    name, path = place
    text = TEXTS[name]
    data = tomllib.loads(text)
    if key in at(data, path):
        return
    plain = changed_content(name, text.encode(), [Change((*path, key), literal)]).decode()
    assert tomllib.loads(plain) == put(data, (*path, key), tomllib.loads(f"v = {literal}")["v"])
    assert lines_that_stay(text.split("\n"), plain.split("\n")) == 0


@settings(max_examples=60)
@given(place=st.sampled_from(PLACES))
def test_a_key_taken_out_is_gone_with_its_own_lines_alone(place):
    name, path = place
    text = TEXTS[name]
    plain = changed_content(name, text.encode(), [Change(path, None)]).decode()
    expected = tomllib.loads(text)
    del at(expected, path[:-1])[path[-1]]
    assert tomllib.loads(plain) == expected
    gone = lines_that_stay(text.split("\n"), plain.split("\n"))
    assert gone <= value_lines(text, path)


@settings(max_examples=200)
@given(word=ANYTHING, kind=st.sampled_from(["text", "quantity", "number", "choice", "switch"]))
def test_what_is_typed_is_one_value_that_says_just_that(word, kind):
    read = tomllib.loads(f"v = {literal_of(word, kind, '')}\nafter = 1")
    assert list(read) == ["v", "after"]
    value = read["v"]
    bare = {"true": True, "false": False}
    assert value == (word if isinstance(value, str) else bare[word] if word in bare else type(value)(word))


WORDS = st.sampled_from(["", "1", "2", "3"])
SHEETS = st.fixed_dictionaries({("a",): WORDS, ("b",): WORDS, ("c",): WORDS})


@given(was=SHEETS, mine=SHEETS, now=SHEETS)
def test_a_merge_loses_no_ones_change(was, mine, now):
    merged = merge(was, mine, now)
    told = {one.path for one in merged.conflicts}
    for path in was:
        if path in told:
            assert len({was[path], now[path], mine[path]}) == 3
        elif mine[path] != was[path]:
            assert merged.together[path] == mine[path]
        else:
            assert merged.together[path] == now[path]
    assert {one.path for one in merged.theirs} == {path for path in was if was[path] != now[path]}
    assert {one.path for one in merged.mine} == {path for path in was if was[path] != mine[path]}


@given(files=st.dictionaries(st.text(max_size=4), st.binary(max_size=6), max_size=3))
def test_the_version_stands_for_the_contents(files):
    one = MillFiles(files, "x").version
    assert one == MillFiles(dict(reversed(files.items())), "y").version
    assert one != MillFiles({**files, "more": b""}, "x").version or "more" in files
