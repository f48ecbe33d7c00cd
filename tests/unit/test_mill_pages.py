"""The mill pages asked straight: what is shown, refused, saved, merged, and what never gets through."""

from __future__ import annotations

import tomllib

import pytest
from asking import OWN, Pages

from ringwright.mill import read_mill, write_starter
from ringwright.refusal import Refusal

YARN, FRAME = "/mill/yarn/Y30", "/mill/frame/F1"


@pytest.fixture
def folder(tmp_path):
    return write_starter(tmp_path / "mill")


@pytest.fixture
def pages(folder):
    return Pages(str(folder))


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def typed(pages, sheet, **values):
    """The form of a sheet with values typed by dotted key (two underscores for a dot)."""
    kind, name = sheet.split("/")[2:4]
    return pages.get(sheet).form | {f"v:{kind}.{name}.{key.replace('__', '.')}": value for key, value in values.items()}


def saved(pages, sheet, **values):
    looked = pages.send(sheet, typed(pages, sheet, **values), act="look")
    assert looked.status == 200, looked.words
    return pages.send(sheet, looked.form, act="save")


def test_the_list_has_every_sheet_and_each_can_be_opened(pages):
    page = pages.get("/mill")
    links = [part.split('"')[0] for part in page.text.split('class="row" href="')[1:]]
    assert links == [
        "/mill/mill", "/mill/limits", "/mill/frame/F1", "/mill/yarn/Y30", "/mill/roving/R07", "/mill/traveller/T45",
        "/mill/setting/F1-Y30",
    ]  # fmt: skip
    for link in links:
        assert pages.get(link).status == 200


def test_a_sheet_shows_meaning_value_units_range_and_origin(pages):
    words = pages.get(YARN).words
    assert "count of the yarn as spun" in words
    assert "From 3 tex to 200 tex. Units: tex, Ne, Nm" in words
    assert "If left out: 0.9091 g/cm3 (common practice, Peirce-1937" in words
    form = pages.get(YARN).form
    assert form["v:yarn.Y30.count"] == "30 Ne"
    assert form["v:yarn.Y30.traveller_friction"] == "0.30"
    assert form["v:yarn.Y30.origins.traveller_friction"] == "assumed, no reading yet"


def test_a_limit_that_is_not_written_says_what_holds_instead(folder):
    file = folder / "mill.toml"
    text = file.read_text(encoding="utf-8")
    start = text.index("[limits.strength_share]")
    file.write_text(text[:start] + text[text.index("[limits.traveller_speed]") :], encoding="utf-8")
    assert (
        "Not written: 25 % holds instead (common practice, peak tension" in Pages(str(folder)).get("/mill/limits").words
    )


def test_a_change_is_shown_before_it_is_saved_and_then_stands_in_the_file(pages, folder):
    before = contents(folder)
    looked = pages.send(YARN, typed(pages, YARN, count="31 Ne"), act="look")
    assert contents(folder) == before
    assert 'was count = "30 Ne"' in looked.words
    assert 'becomes count = "31 Ne"' in looked.words
    answer = pages.send(YARN, looked.form, act="save")
    assert answer.status == 303
    assert contents(folder) == before | {"yarns.toml": before["yarns.toml"].replace(b'"30 Ne"', b'"31 Ne"')}
    assert "Saved." in pages.get(answer.headers["location"]).words


def test_a_difference_that_was_not_shown_is_not_saved(pages, folder):
    before = contents(folder)
    looked = pages.send(YARN, typed(pages, YARN, count="31 Ne"), act="look")
    answer = pages.send(YARN, looked.form, **{"act": "save", "v:yarn.Y30.strength": "330 cN"})
    assert answer.status == 200
    assert "You changed more after the difference was shown." in answer.words
    assert contents(folder) == before
    straight = pages.send(YARN, typed(pages, YARN, count="31 Ne"), act="save")
    assert straight.status == 200
    assert contents(folder) == before


def test_several_faults_are_told_each_beside_its_field_and_what_was_typed_stays(pages, folder):
    before = contents(folder)
    form = typed(pages, FRAME, ring__diameter="400 mm", tube__length="two feet", spindles="1008.5", gauge="")
    answer = pages.send(FRAME, form, act="save")
    assert answer.status == 422
    assert '"400 mm"; it must be from' in answer.beside("frame.F1.ring.diameter")
    assert '"two feet"' in answer.beside("frame.F1.tube.length")
    assert "1008.5; it must be a whole number" in answer.beside("frame.F1.spindles")
    assert "missing; it must be written" in answer.beside("frame.F1.gauge")
    assert {key: answer.form[key] for key in form if key.startswith("v:")} == {
        key: value for key, value in form.items() if key.startswith("v:")
    }
    assert contents(folder) == before


def test_a_fault_in_another_sheet_is_told_with_its_file_and_line(pages):
    answer = pages.send(FRAME, typed(pages, FRAME, spindle__highest_speed="15 000 rpm"), act="look")
    assert answer.status == 422
    assert "settings.toml, line" in answer.words
    assert "setting.F1-Y30.main_speed is 16 000 rpm; it must be at most 15 000 rpm" in answer.words


PARITY = [
    (FRAME, "frame_F1.toml", 'diameter = "40 mm"', "frame.F1.ring.diameter", "400 mm", '"400 mm"'),
    (FRAME, "frame_F1.toml", 'diameter = "40 mm"', "frame.F1.ring.diameter", "40", '"40"'),
    (FRAME, "frame_F1.toml", 'diameter = "40 mm"', "frame.F1.ring.diameter", "1.57 mm", '"1.57 mm"'),
    (FRAME, "frame_F1.toml", "friction = 0.10", "frame.F1.ring.friction", "0.9", "0.9"),
    (FRAME, "frame_F1.toml", "friction = 0.10", "frame.F1.ring.friction", "slippery", '"slippery"'),
    (FRAME, "frame_F1.toml", "spindles = 1008", "frame.F1.spindles", "1007", "1007"),
    (FRAME, "frame_F1.toml", "fitted = true", "frame.F1.separators.fitted", "yes", '"yes"'),
    (FRAME, "frame_F1.toml", 'kind = "tangential belt, double"', "frame.F1.drive.kind", "tape", '"tape"'),
    (FRAME, "frame_F1.toml", 'pairs = [[32, "change"]]', "frame.F1.drafting.gearing.break_draft.pairs", "[[32, 40]]",
     "[[32, 40]]"),
    (FRAME, "frame_F1.toml", '"ring.flange" = "common practice, flange number 1"', "frame.F1.origins.ring.flange",
     "guessed", '"guessed"'),
    (FRAME, "frame_F1.toml", '"guide.friction" = "0.15', "frame.F1.spread.guide.friction", "0.3 to 0.4",
     None),
    (YARN, "yarns.toml", 'count = "30 Ne"', "yarn.Y30.count", "30 mm", '"30 mm"'),
    (YARN, "yarns.toml", 'process = "combed"', "yarn.Y30.process", "comb", '"comb"'),
    (YARN, "yarns.toml", 'share = "100 %"', "yarn.Y30.fibres.0.share", "90 %", '"90 %"'),
    ("/mill/traveller/T45", "settings.toml", 'mass = "45 mg"', "traveller.T45.mass", "44 mg", '"44 mg"'),
    ("/mill/setting/F1-Y30", "settings.toml", 'yarn = "Y30"', "setting.F1-Y30.yarn", "Y31", '"Y31"'),
    ("/mill/setting/F1-Y30", "settings.toml", 'main_speed = "16 000 rpm"', "setting.F1-Y30.main_speed", "25000 rpm",
     '"25000 rpm"'),
    ("/mill/limits", "mill.toml", 'value = "25 %"', "limits.strength_share.value", "250 %", '"250 %"'),
    ("/mill/mill", "mill.toml", 'shift_length = "8 h"', "mill.shift_length", "8 m", '"8 m"'),
]  # fmt: skip


@pytest.mark.parametrize(("sheet", "file", "line", "key", "word", "literal"), PARITY, ids=lambda one: str(one)[:30])
def test_the_same_wrong_value_gives_the_same_sentence_as_the_file(pages, folder, sheet, file, line, key, word, literal):
    answer = pages.send(sheet, pages.get(sheet).form, **{"act": "look", f"v:{key}": word})
    assert answer.status == 422
    text = (folder / file).read_text(encoding="utf-8")
    assert line in text
    old, new = ("0.15 to 0.27", word) if literal is None else (line, f"{line.split(' = ')[0]} = {literal}")
    text = text.replace(old, new, 1)
    (folder / file).write_text(text, encoding="utf-8")
    with pytest.raises(Refusal) as refused:
        read_mill(folder)
    told = [str(fault).replace("\u202f", " ") for fault in refused.value.faults]
    page = answer.words
    assert told
    assert [sentence for sentence in told if sentence not in page] == []


HOSTILE = [
    'x"\n[limits.spindle_speed]\nvalue = "1 rpm',
    'x" # \ny = 1\n',
    '"""',
    "'''",
    "\\",
    "\\u0000",
    "x\x00y",
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "{{ 7 * 7 }}",
    "\u202egnp",
    "x" * 400,
]


@pytest.mark.parametrize("word", HOSTILE, ids=range(len(HOSTILE)))
def test_a_hostile_text_stays_one_text_in_the_file_and_on_the_page(pages, folder, word):
    before = {name: tomllib.loads(text.decode()) for name, text in contents(folder).items()}
    key = "v:limits.strength_share.owner"
    looked = pages.send("/mill/limits", pages.get("/mill/limits").form, **{"act": "look", key: word})
    answer = pages.send("/mill/limits", looked.form, act="save")
    assert answer.status == 303, answer.words
    before["mill.toml"]["limits"]["strength_share"]["owner"] = word.strip()
    assert {name: tomllib.loads(text.decode()) for name, text in contents(folder).items()} == before
    page = pages.get("/mill/limits")
    assert "<script>alert" not in page.text
    assert "<img" not in page.text
    assert page.form[key].strip() == word.strip()


def test_a_list_cannot_bring_another_key_with_it(pages, folder):
    before = contents(folder)
    key = "v:frame.F1.drafting.gearing.twist.wheels"
    answer = pages.send(FRAME, pages.get(FRAME).form, **{"act": "save", key: "[64]\n[frame.F9]\nsides = 2"})
    assert answer.status == 422
    assert "is not a list" in answer.beside("frame.F1.drafting.gearing.twist.wheels")
    assert contents(folder) == before


def test_only_keys_of_the_sheet_are_taken_and_the_rest_is_left_alone(pages, folder):
    before = contents(folder)
    stray = {"w:yarn.Y30.evil": "", "v:yarn.Y30.evil": "1", "w:frame.F1.gauge": "70 mm", "v:frame.F1.gauge": "80 mm"}
    answer = pages.send(YARN, pages.get(YARN).form | stray, act="save")
    assert "Nothing was changed" in answer.words
    assert contents(folder) == before


@pytest.mark.parametrize(
    "path",
    ["/mill/frame/..", "/mill/frame/F9", "/mill/yarn/..%2f..%2fetc", "/mill/evil", "/mill/evil/F1", "/mill/limits/x",
     "/mill/frame", "/mill/frame_F1.toml", "/mill/mill/mill.toml"],
)  # fmt: skip
def test_an_address_that_names_no_sheet_is_not_found(pages, path):
    assert pages.get(path).status == 404


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"host": "localhost"}, 403),
        ({"host": "localhost", "origin": "http://evil.example"}, 403),
        ({"host": "localhost", "origin": "http://localhost", "sec-fetch-site": "cross-site"}, 403),
        ({"host": "evil.example", "origin": "http://evil.example"}, 421),
        (OWN | {"content-length": str(2 << 20)}, 413),
    ],
)
def test_a_form_of_another_site_or_a_giant_is_turned_away(pages, folder, headers, status):
    before = contents(folder)
    looked = pages.send(YARN, typed(pages, YARN, count="31 Ne"), act="look")
    body = "&".join(f"{key}={value}" for key, value in (looked.form | {"act": "save"}).items()).encode()
    assert pages.ask("POST", YARN, body, headers).status == status
    assert contents(folder) == before


@pytest.mark.parametrize("body", [b"\xff\xfe", b"&".join(b"a%d=1" % n for n in range(5000)), b"", b"version=x", b"act"])
def test_a_body_that_is_no_form_of_the_page_saves_nothing(pages, folder, body):
    before = contents(folder)
    assert pages.ask("POST", YARN, body).status in {409, 422}
    assert contents(folder) == before


def test_two_who_change_different_keys_are_told_and_merged(pages, folder):
    mine = typed(pages, YARN, count="31 Ne")
    assert saved(pages, YARN, strength="330 cN").status == 303
    late = pages.send(YARN, mine, act="save")
    assert late.status == 409
    assert "yarn.Y30.strength 325 cN 330 cN" in late.words
    assert "yarn.Y30.count 30 Ne 31 Ne" in late.words
    assert 'becomes strength = "330 cN"' in late.words
    merged = pages.send(YARN, late.form, act="merge")
    assert "Merged with what the other saved. Nothing is saved yet." in merged.words
    assert 'becomes count = "31 Ne"' in merged.words
    assert "330" not in merged.words.split("The difference")[1].split("Save")[0].replace('strength = "330 cN"', "")
    assert pages.send(YARN, merged.form, act="save").status == 303
    yarn = read_mill(folder).yarns["Y30"]
    assert yarn.strength == pytest.approx(3.30)
    assert yarn.count == pytest.approx(0.45359237 / (31 * 840 * 0.9144))  # 840 yd in the pound


def test_two_who_change_the_same_key_must_choose(pages, folder):
    mine = typed(pages, YARN, count="31 Ne", strength="310 cN")
    assert saved(pages, YARN, count="32 Ne").status == 303
    late = pages.send(YARN, mine, act="save")
    assert "Both changed yarn.Y30.count , which was 30 Ne" in late.words
    unchosen = pages.send(YARN, late.form, act="merge")
    assert unchosen.status == 409
    assert "Choose for each value that both changed" in unchosen.words
    assert "yours: 31 Ne" in unchosen.words
    for choice, count in (("theirs", "32 Ne"), ("mine", "31 Ne")):
        merged = pages.send(YARN, unchosen.form, **{"act": "merge", "c:yarn.Y30.count": choice})
        assert merged.form["v:yarn.Y30.count"] == count
        assert merged.form["v:yarn.Y30.strength"] == "310 cN"
    assert pages.send(YARN, merged.form, act="save").status == 303
    assert read_mill(folder).yarns["Y30"].strength == pytest.approx(3.10)


def test_a_third_who_saves_while_a_choice_is_made_loses_nothing(pages, folder):
    mine = typed(pages, YARN, count="31 Ne")
    saved(pages, YARN, count="32 Ne")
    late = pages.send(YARN, mine, act="save")
    saved(pages, YARN, count="33 Ne", strength="340 cN")
    again = pages.send(YARN, late.form, **{"act": "merge", "c:yarn.Y30.count": "mine"})
    assert again.status == 409
    assert "theirs: 33 Ne" in again.words
    assert "yours: 31 Ne" in again.words
    assert read_mill(folder).yarns["Y30"].strength == pytest.approx(3.40)


def test_a_change_elsewhere_is_told_with_its_file_and_merges_without_a_choice(pages, folder):
    mine = typed(pages, YARN, count="31 Ne")
    saved(pages, FRAME, gauge="75 mm")
    late = pages.send(YARN, mine, act="save")
    assert "Another changed nothing on this sheet, only elsewhere" in late.words
    assert "frame_F1.toml" in late.words
    merged = pages.send(YARN, late.form, act="merge")
    assert pages.send(YARN, merged.form, act="save").status == 303
    assert read_mill(folder).frames["F1"].gauge == pytest.approx(0.075)


def test_a_sheet_that_another_took_out_keeps_what_was_typed(pages, folder):
    mine = typed(pages, "/mill/roving/R07", count="0.8 hank")
    file = folder / "yarns.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("[roving.R07]", "[roving.R08]"), encoding="utf-8")
    settings = folder / "settings.toml"
    settings.write_text(settings.read_text(encoding="utf-8").replace('"R07"', '"R08"'), encoding="utf-8")
    late = pages.send("/mill/roving/R07", mine, act="save")
    assert late.status == 409
    assert "has taken this sheet out of the files" in late.words
    assert "roving.R07.count 0.70 hank 0.8 hank" in late.words


WRONG = {
    "value": ("yarns.toml", '"30 Ne"', '"30 mm"', "yarn.Y30.count"),
    "syntax": ("yarns.toml", 'count = "30 Ne"', "count = 30 Ne", "not TOML"),
}


@pytest.mark.parametrize("kind", WRONG)
def test_a_mill_that_became_wrong_is_shown_with_its_errors_and_is_read_only(pages, folder, kind):
    file, old, new, told = WRONG[kind]
    good = (folder / file).read_bytes()
    mine = typed(pages, YARN, strength="330 cN")
    (folder / file).write_bytes(good.replace(old.encode(), new.encode(), 1))
    broken = contents(folder)
    page = pages.get("/mill")
    assert page.status == 422
    assert told in page.words
    assert f"{file}, line" in page.words
    assert new in page.words
    sheet = pages.get(YARN)
    assert (sheet.status, "w:yarn.Y30.count" in sheet.form) == ((303, False) if kind == "syntax" else (422, False))
    assert pages.get(FRAME).status == 422
    assert "read-only until they are mended" in pages.get(FRAME).words
    for other in ("/", "/bench/F1/Y30", "/card/F1/Y30", "/lessons/F1/Y30"):
        answer = pages.get(other)
        assert answer.status == 422
        assert told in answer.words
        assert 'href="/mill"' in answer.text
    late = pages.send(YARN, mine, act="save")
    assert late.status == 409
    assert "yarn.Y30.strength 325 cN 330 cN" in late.words
    assert contents(folder) == broken
    (folder / file).write_bytes(good)
    looked = pages.send(YARN, late.form, act="look")
    assert 'becomes strength = "330 cN"' in looked.words
    assert pages.send(YARN, looked.form, act="save").status == 303


def test_a_mill_that_is_wrong_is_not_mended_from_the_page_even_by_a_form_made_by_hand(pages, folder):
    file = folder / "yarns.toml"
    file.write_bytes(file.read_bytes().replace(b'"30 Ne"', b'"30 mm"', 1))
    broken = contents(folder)
    form = {"version": pages.app.state.desk.read().version, "w:yarn.Y30.count": "30 mm", "v:yarn.Y30.count": "30 Ne"}
    assert pages.send(YARN, form, act="look").status == 409
    assert pages.send(YARN, form, act="save").status == 409
    assert contents(folder) == broken


def test_a_folder_that_has_gone_is_told_in_a_page(pages, folder):
    folder.rename(folder.with_name("elsewhere"))
    answer = pages.get("/mill")
    assert answer.status == 422
    assert "without .toml files" in answer.words
    assert pages.get(YARN).status == 422


def test_the_demo_mill_is_shown_read_only_with_the_command_for_a_mill_of_ones_own():
    pages = Pages("demo")
    assert "ringwright init mymill" in pages.get("/mill").words
    sheet = pages.get("/mill/yarn/AV30K")
    assert sheet.status == 200
    assert "Show the difference" not in sheet.words
    answer = pages.send("/mill/yarn/AV30K", {"w:yarn.AV30K.count": "30 Ne", "v:yarn.AV30K.count": "31 Ne"}, act="save")
    assert answer.status == 403
    assert "Nothing was saved." in answer.words


def test_a_mill_in_one_file_is_changed_too(tmp_path):
    folder = write_starter(tmp_path / "mill")
    whole = b"\n".join(text for _, text in sorted(contents(folder).items()))
    file = tmp_path / "one.toml"
    file.write_bytes(whole)
    pages = Pages(str(file))
    assert saved(pages, YARN, count="31 Ne").status == 303
    assert file.read_bytes() == whole.replace(b'count = "30 Ne"', b'count = "31 Ne"', 1)
