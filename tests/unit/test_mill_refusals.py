"""Bad mill files: one clear sentence for each fault, with file, line or key, value, allowed range and mend."""

from __future__ import annotations

import re

import pytest

from ringwright.mill import read_mill, write_starter
from ringwright.refusal import Refusal


@pytest.fixture
def folder(tmp_path):
    return write_starter(tmp_path / "mill")


def _line(folder, file, text):
    """The number of the one line that starts with the text."""
    lines = (folder / file).read_text(encoding="utf-8").splitlines()
    found = [number for number, line in enumerate(lines, start=1) if line.startswith(text)]
    assert len(found) == 1, found
    return found[0]


def _change(folder, file, old, new, after=""):
    """Replace the first place of ``old`` after ``after``; give the line of the change."""
    text = (folder / file).read_text(encoding="utf-8")
    start = text.index(old, text.index(after) if after else 0)
    (folder / file).write_text(text[:start] + new + text[start + len(old) :], encoding="utf-8")
    return text[:start].count("\n") + 1


def _told(folder):
    with pytest.raises(Refusal) as refused:
        read_mill(folder)
    return [str(fault) for fault in refused.value.faults]


# file, heading, old line, new line, key as told, words of the sentence
CHANGES = [
    ("frame_F1.toml", "[frame.F1.ring]", 'diameter = "40 mm"', 'diameter = "400 mm"', "frame.F1.ring.diameter",
     ['"400 mm"', "from 25 mm to 120 mm", "inside diameter of the ring"]),
    ("frame_F1.toml", "[frame.F1.ring]", 'diameter = "40 mm"', 'diameter = "1.57 mm"', "frame.F1.ring.diameter",
     ['"1.57 mm"', 'Did you mean "1.57 in"?']),
    ("frame_F1.toml", "[frame.F1.ring]", 'diameter = "40 mm"', 'diameter = "-40 mm"', "frame.F1.ring.diameter",
     ['"-40 mm"', "from 25 mm to 120 mm"]),
    ("frame_F1.toml", "[frame.F1.ring]", 'diameter = "40 mm"', "diameter = 40", "frame.F1.ring.diameter",
     ["40 without a unit", "mm, cm, m", "from 25 mm to 120 mm", '"40 mm"']),
    ("frame_F1.toml", "[frame.F1.ring]", 'diameter = "40 mm"', 'diameter = "40 tex"', "frame.F1.ring.diameter",
     ['"40 tex"', "tex is a unit of count."]),
    ("frame_F1.toml", "[frame.F1.ring]", 'diameter = "40 mm"', 'diametre = "40 mm"', "frame.F1.ring.diametre",
     ["not a known key", "Did you mean diameter?"]),
    ("frame_F1.toml", "[frame.F1.ring]", 'diameter = "40 mm"', "", "frame.F1.ring.diameter",
     ["missing", "inside diameter of the ring", "from 25 mm to 120 mm"]),
    ("frame_F1.toml", "[frame.F1]", "spindles = 1008", "spindles = 1008.5", "frame.F1.spindles",
     ["1008.5", "a whole number"]),
    ("frame_F1.toml", "[frame.F1]", "spindles = 1008", "spindles = 1007", "frame.F1.spindles",
     ["1 007", "at most 1 006", "a whole number of spindles on each side"]),
    ("frame_F1.toml", "[frame.F1]", 'gauge = "70 mm"', 'gauge = "46 mm"', "frame.F1.gauge",
     ["46 mm", "more than 46.4 mm", "the ring with its flange on both sides"]),
    ("frame_F1.toml", "[frame.F1.tube]", '"20.6 mm"', '"40.5 mm"', "frame.F1.tube.bottom_diameter",
     ["40.5 mm", "less than 40 mm", "the ring's diameter", "Look at tube.bottom_diameter, ring.diameter."]),
    ("frame_F1.toml", "[frame.F1.tube]", '"17.4 mm"', '"22 mm"', "frame.F1.tube.top_diameter",
     ["22 mm", "at most 20.6 mm"]),
    ("frame_F1.toml", "[frame.F1.build]", 'cop_diameter = "36 mm"', 'cop_diameter = "39 mm"',
     "frame.F1.build.cop_diameter", ["39 mm", "at most 38 mm", "the ring's diameter less 2 mm"]),
    ("frame_F1.toml", "[frame.F1.build]", 'cop_diameter = "36 mm"', 'cop_diameter = "20 mm"',
     "frame.F1.build.cop_diameter", ["20 mm", "more than 20.6 mm", "the tube's foot"]),
    ("frame_F1.toml", "[frame.F1.build]", 'lift = "180 mm"', 'lift = "181 mm"', "frame.F1.build.lift",
     ["181 mm", "at most 180 mm", "the tube's length less what is left bare"]),
    ("frame_F1.toml", "[frame.F1.build]", 'base_height = "20 mm"', 'base_height = "140 mm"',
     "frame.F1.build.base_height", ["140 mm", "at most 134 mm"]),
    ("frame_F1.toml", "[frame.F1.guide]", 'height = "228 mm"', 'height = "189 mm"', "frame.F1.guide.height",
     ["189 mm", "more than 190 mm", "the tube's tip"]),
    ("frame_F1.toml", "[frame.F1.guide]", 'stroke = "20 mm"', 'stroke = "50 mm"', "frame.F1.guide.stroke",
     ["50 mm", "at most 46 mm"]),
    ("frame_F1.toml", "[frame.F1.guide]", 'nip_height = "430 mm"', 'nip_height = "340 mm"', "frame.F1.guide.nip_height",
     ["340 mm", "more than 360 mm", "the highest place of the thread guide"]),
    ("frame_F1.toml", "[frame.F1.control_ring]", 'diameter = "44 mm"', 'diameter = "35 mm"',
     "frame.F1.control_ring.diameter", ["35 mm", "more than 36 mm", "the full cop's diameter"]),
    ("frame_F1.toml", "[frame.F1.control_ring]", 'height = "108 mm"', 'height = "230 mm"',
     "frame.F1.control_ring.height", ["230 mm", "less than 228 mm", "the height of the guide"]),
    ("frame_F1.toml", "[frame.F1.control_ring]", 'height = "108 mm"', 'height = "22 mm"',
     "frame.F1.control_ring.height", ["22 mm", "more than 23 mm", "above the ring rail"]),
    ("frame_F1.toml", "[frame.F1.control_ring]", 'lift = "114 mm"', 'lift = "40 mm"',
     "frame.F1.control_ring.lift", ["40 mm", "more than 49 mm", "top of the last stroke"]),
    ("frame_F1.toml", "[frame.F1.control_ring]", 'lift = "114 mm"', 'lift = "260 mm"',
     "frame.F1.control_ring.lift", ["260 mm", "less than 232 mm", "under the guide"]),
    ("frame_F1.toml", "[frame.F1.ring]", "friction = 0.10", "friction = 0.14", "frame.F1.ring.friction",
     ["0.14", "at most 0.13", "the highest friction"]),
    ("frame_F1.toml", "[frame.F1.separators]", "fitted = true", 'fitted = "yes"', "frame.F1.separators.fitted",
     ['"yes"', "true or false"]),
    ("frame_F1.toml", "[frame.F1.drive]", '"tangential belt, double"', '"tangential belt, doubel"',
     "frame.F1.drive.kind", ["doubel", "four-spindle tape", "Did you mean tangential belt, double?"]),
    ("frame_F1.toml", "gearing.total_draft]", '["change", 32]', "[80, 32]",
     "frame.F1.drafting.gearing.total_draft.pairs", ['"change" in 0 places', "[driver, driven]"]),
    ("frame_F1.toml", "gearing.twist]", "[98, ", "[98, 40, ", "frame.F1.drafting.gearing.twist.pairs",
     ["[98, 40, 'change']", "[driver, driven]"]),
    ("frame_F1.toml", "gearing.break_draft]", "[35, 36", "[35, 35", "frame.F1.drafting.gearing.break_draft.wheels",
     ["35 more than once", "from 8 to 300"]),
    ("frame_F1.toml", "[frame.F1.origins]", '"ring.friction" = "assumed,', '"ring.frction" = "assumed,',
     "frame.F1.origins.ring.frction", ["the origin of no known key", "Did you mean ring.friction?"]),
    ("frame_F1.toml", "[frame.F1.origins]", '"ring.friction" = "assumed,', '"ring.friction" = "guessed,',
     "frame.F1.origins.ring.friction", ['"guessed, no reading yet"', "measured, assumed, common practice"]),
    ("yarns.toml", "[yarn.Y30]", 'count = "30 Ne"', 'count = "30"', "yarn.Y30.count",
     ["without a unit", "tex, Ne, Nm", "from 3 tex to 200 tex"]),
    ("yarns.toml", "[yarn.Y30]", 'count = "30 Ne"', 'count = "3000 Ne"', "yarn.Y30.count",
     ['"3000 Ne"', "from 3 tex to 200 tex"]),
    ("yarns.toml", "[yarn.Y30]", 'twist_direction = "Z"', 'twist_direction = "X"', "yarn.Y30.twist_direction",
     ['"X"', 'one of "Z", "S"']),
    ("yarns.toml", "fibres]]", 'share = "100 %"', 'share = "98 %"', "yarn.Y30.fibres",
     ["shares that add to 98 %", "add to 100 %", "the fibre that is missing"]),
    ("yarns.toml", "fibres]]", 'length = "25 mm"', 'length = "25 m"', "yarn.Y30.fibres.0.length",
     ['"25 m"', "from 8 mm to 150 mm", 'Did you mean "25 mm"?']),
    ("yarns.toml", "[roving.R07]", 'count = "0.70 hank"', 'count = "70 hank"', "roving.R07.count",
     ['"70 hank"', "from 0.2 hank to 5 hank"]),
    ("settings.toml", "[traveller.T45]", 'mass = "45 mg"', 'mass = "47 mg"', "traveller.T45.mass",
     ["47 mg, which is not in the R20 series", "The two nearest are 45 mg and 50 mg."]),
    ("settings.toml", "[traveller.T45]", 'mass = "45 mg"', 'mass = "45 g"', "traveller.T45.mass",
     ['"45 g"', "from 5 mg to 630 mg", 'Did you mean "45 mg"?']),
    ("settings.toml", "[setting.F1-Y30]", 'frame = "F1"', 'frame = "F7"', "setting.F1-Y30.frame",
     ['"F7"', "the name of a frame of this mill", "Did you mean F1?"]),
    ("settings.toml", "[setting.F1-Y30]", 'yarn = "Y30"', 'yarn = "Y3O"', "setting.F1-Y30.yarn",
     ['"Y3O"', "Did you mean Y30?"]),
    ("settings.toml", "[setting.F1-Y30]", 'traveller = "T45"', 'traveller = "X"', "setting.F1-Y30.traveller",
     ['"X"', "Known: T45."]),
    ("settings.toml", "[setting.F1-Y30]", 'main_speed = "16 000 rpm"', 'main_speed = "20 500 rpm"',
     "setting.F1-Y30.main_speed", ["20 500 rpm", "at most 20 000 rpm", "spindles of F1"]),
    ("settings.toml", "[setting.F1-Y30]", 'frame = "F1"', "frame = 1", "setting.F1-Y30.frame",
     ["1", "a text in quotation marks"]),
    ("mill.toml", "[limits.traveller_speed]", 'value = "36 m/s"', 'value = "36 rpm"', "limits.traveller_speed.value",
     ['"36 rpm"', "m/s, m/min", "rpm is a unit of speed of rotation."]),
    ("mill.toml", "", "[limits.traveller_heat]", "[limits.traveler_heat]", "limits.traveler_heat",
     ["not a known limit", "Did you mean traveller_heat?"]),
    ("mill.toml", "[mill]", 'air_density = "1.2 kg/m3"', 'air_density = "12 kg/m3"', "mill.air_density",
     ['"12 kg/m3"', "from 0.6 kg/m3 to 1.5 kg/m3"]),
    ("settings.toml", "", "[traveller.T45]", "[travller.T45]", "travller",
     ["not a known table", "Did you mean traveller?"]),
]  # fmt: skip


@pytest.mark.parametrize(("file", "heading", "old", "new", "key", "words"), CHANGES)
def test_a_fault_names_file_line_key_value_range_and_mend(folder, file, heading, old, new, key, words):
    line = _change(folder, file, old, new, heading)
    told = [sentence.replace("\u202f", " ").replace("\u2212", "-") for sentence in _told(folder)]
    line = line if new and not key.endswith("fibres") else _heading_above(folder, file, line)
    match = [sentence for sentence in told if sentence.startswith(f"{file}, line {line}, {key} is ")]
    assert len(match) == 1, told
    for word in words:
        assert word in match[0]
    assert match[0].endswith((".", "?"))


def _heading_above(folder, file, line):
    """The line of the heading above a line: a missing key is told there."""
    lines = (folder / file).read_text(encoding="utf-8").splitlines()[:line]
    return max(number for number, text in enumerate(lines, start=1) if text.startswith("["))


def test_a_base_that_ends_after_the_tip_begins_is_told(folder):
    _change(folder, "settings.toml", 'tip_from = "90 %"', 'tip_from = "50 %"')
    line = _change(folder, "settings.toml", 'base_until = "10 %"', 'base_until = "60 %"')
    (sentence,) = _told(folder)
    assert sentence.replace("\u202f", " ") == (
        f"settings.toml, line {line}, setting.F1-Y30.base_until is 60 %; it must be at most 50 % "
        "(the share where the tip begins). Look at base_until, tip_from."
    )


def test_all_faults_of_all_files_are_told_together(folder):
    lines = [
        ("frame_F1.toml", _change(folder, "frame_F1.toml", 'gauge = "70 mm"', 'gauge = "7 mm"')),
        ("frame_F1.toml", _change(folder, "frame_F1.toml", '"20.6 mm"', '"42 mm"')),
        ("frame_F1.toml", _change(folder, "frame_F1.toml", 'diameter = "44 mm"', 'diameter = "35 mm"')),
        ("frame_F1.toml", _change(folder, "frame_F1.toml", "slip =", "slp =")),
        ("settings.toml", _change(folder, "settings.toml", 'yarn = "Y30"', 'yarn = "Y31"')),
        ("settings.toml", _change(folder, "settings.toml", 'mass = "45 mg"', 'mass = "44 mg"')),
        ("yarns.toml", _change(folder, "yarns.toml", 'strength = "325 cN"', 'strength = "325 mm"')),
        ("mill.toml", _change(folder, "mill.toml", 'shift_length = "8 h"', 'shift_length = "80 h"')),
    ]
    told = _told(folder)
    for file, line in lines:
        assert sum(sentence.startswith(f"{file}, line {line}, ") for sentence in told) >= 1, (file, line, told)
    cop = [s for s in told if "frame.F1.build.cop_diameter" in s]
    assert len(told) == len(lines) + len(cop)  # a tube of 42 mm is also wider than the cop
    assert len(cop) == 1


def test_a_name_in_two_files_names_both(folder):
    again = '\n[roving.R07]\ncount = "1 hank"\ntwist_multiplier = "1 TM"\nbobbin_mass = "1 kg"\n'
    (folder / "more.toml").write_text(again, encoding="utf-8")
    line = _line(folder, "yarns.toml", "[roving.R07]")
    (sentence,) = _told(folder)
    assert sentence.startswith(
        f"yarns.toml, line {line}, roving.R07 is written again (first in more.toml, line 2, roving.R07); "
    )
    assert sentence.endswith("Keep one of them, or rename one.")


def test_a_second_mill_table_names_both_files(folder):
    (folder / "more.toml").write_text('[mill]\nname = "Other"\n', encoding="utf-8")
    (sentence,) = _told(folder)
    assert "more.toml, line 1, mill" in sentence
    assert "mill.toml, line" in sentence


def test_a_key_written_twice_names_both_lines(folder):
    first = _line(folder, "yarns.toml", "end_use")
    line = _change(folder, "yarns.toml", 'end_use = "knitting"', 'end_use = "knitting"\nend_use = "warp"') + 1
    (sentence,) = _told(folder)
    assert sentence.startswith(f"yarns.toml, line {line}, yarn.Y30.end_use is written again (first in line {first})")
    assert sentence.endswith("Keep one of them.")


def test_a_table_written_twice_names_both_lines(tmp_path):
    (tmp_path / "mill.toml").write_text('[mill]\nname = "A"\n[mill]\n', encoding="utf-8")
    (sentence,) = _told(tmp_path)
    assert sentence.startswith("mill.toml, line 3, mill is written again (first in line 1)")


def test_text_that_is_not_toml_names_file_and_line_and_hides_no_other_fault(folder):
    line = _change(folder, "yarns.toml", 'count = "30 Ne"', "count = 30 Ne")
    other = _change(folder, "mill.toml", 'shift_length = "8 h"', 'shift_length = "80 h"')
    told = _told(folder)
    assert len(told) == 2, told
    assert any(s.startswith(f"yarns.toml, line {line} is not TOML (") and "quotation marks" in s for s in told)
    assert any(s.startswith(f"mill.toml, line {other}, mill.shift_length") for s in told)


def test_a_text_that_ends_too_soon_is_told(tmp_path):
    (tmp_path / "mill.toml").write_text('[mill]\nname = "A', encoding="utf-8")
    (sentence,) = _told(tmp_path)
    assert sentence.startswith("mill.toml")
    assert "not TOML" in sentence


def test_a_file_that_is_not_utf8_is_told(folder):
    (folder / "old.toml").write_bytes('[mill]\nname = "Gl\xfcck"\n'.encode("latin-1"))
    (sentence,) = _told(folder)
    assert sentence == "old.toml is not UTF-8 text (byte 18); it must be UTF-8 text. Save the file as UTF-8."


def test_a_missing_folder_names_the_nearest(folder):
    (sentence,) = _told(folder.parent / "mil")
    assert sentence.endswith("it must be a folder of .toml files or one such file. Did you mean mill?")
    assert "mil is not there" in sentence


def test_a_missing_folder_with_nothing_near_says_how_to_start(tmp_path):
    (sentence,) = _told(tmp_path / "nowhere" / "mill")
    assert "is not there" in sentence
    assert "ringwright init" in sentence


def test_an_empty_folder_is_told(tmp_path):
    (sentence,) = _told(tmp_path)
    assert "a folder without .toml files" in sentence
    assert "ringwright init" in sentence


def test_a_folder_without_a_mill_table_is_told(folder):
    (folder / "mill.toml").unlink()
    (sentence,) = _told(folder)
    assert "without a [mill] table" in sentence
    assert "Add [mill]" in sentence


def test_a_value_where_a_table_belongs_is_told(folder):
    line = _change(folder, "yarns.toml", "[roving.R07]", "[roving]\nR08 = 3\n[roving.R07]") + 1
    (sentence,) = _told(folder)
    assert sentence.startswith(f"yarns.toml, line {line}, roving.R08 is not a table")


def test_a_table_in_place_of_a_value_is_told(folder):
    _change(folder, "frame_F1.toml", "[frame.F1.ring]\n", "[frame.F1.ring]\nflange.width = 3\n")
    _change(folder, "frame_F1.toml", 'flange = "3.2 mm"\n', "")
    (sentence,) = _told(folder)
    assert re.match(r"frame_F1.toml, line \d+, frame.F1.ring.flange is ", sentence)


def test_a_part_written_as_a_value_is_told(tmp_path):
    text = '[mill]\nname = "A"\n[frame.F1]\nspindles = 10\nring = "40 mm"\n'
    (tmp_path / "mill.toml").write_text(text, encoding="utf-8")
    told = _told(tmp_path)
    assert any(s.startswith('mill.toml, line 5, frame.F1.ring is "40 mm"; it must be a table') for s in told)


def test_a_name_that_cannot_be_a_file_name_is_refused(folder):
    line = _change(folder, "yarns.toml", "[roving.R07]", '[roving."../R07"]')
    told = _told(folder)
    assert any(s.startswith(f"yarns.toml, line {line}, roving.../R07") and "Rename the table." in s for s in told)


def test_a_name_written_in_its_own_table_is_told(folder):
    line = _change(folder, "yarns.toml", 'count = "30 Ne"', 'name = "thirties"\ncount = "30 Ne"')
    (sentence,) = _told(folder)
    assert sentence.startswith(f"yarns.toml, line {line}, yarn.Y30.name is written; it must be left out")


def test_no_fault_shows_the_machinery(folder):
    for file in folder.glob("*.toml"):
        file.write_text(re.sub(r'= "[^"]*"', '= "?"', file.read_text(encoding="utf-8")), encoding="utf-8")
    told = "\n".join(_told(folder))
    for word in ("pydantic", "Traceback", "Error", "validation", "value_error", "input_value", "Refusal"):
        assert word not in told
