"""The demonstration mill, the starter, origins, gearing, the traveller series and the reference."""

from __future__ import annotations

import math
from math import pi, prod

import pytest
from pydantic import ValidationError

from ringwright.mill import (
    TRAVELLER_MASSES,
    Mill,
    Train,
    Traveller,
    demo_mill_path,
    origin_of,
    read_mill,
    reference,
    rules_in_words,
    setting_for,
    write_starter,
)
from ringwright.mill.frame import Frame, Ring
from ringwright.mill.limit import KNOWN_LIMITS
from ringwright.mill.lines import Lines
from ringwright.mill.reference import tables
from ringwright.mill.setting import SPEEDS
from ringwright.mill.starter import starter_texts
from ringwright.refusal import Refusal
from ringwright.units import in_unit

RPM = 2 * pi / 60


@pytest.fixture(scope="module")
def demo() -> Mill:
    return read_mill(demo_mill_path())


def test_the_demonstration_mill_has_its_frames_and_yarns(demo):
    assert demo.name == "Alder Vale Spinning"
    assert list(demo.frames) == ["F1", "F2", "F3", "F4"]
    assert set(demo.yarns) == {"AV30K", "AV20W", "AV40B", "AV60C"}
    assert {frame.spindles for frame in demo.frames.values()} == {1008}
    rings = {name: round(1e3 * frame.ring.diameter, 6) for name, frame in demo.frames.items()}
    assert rings == {"F1": 40, "F2": 40, "F3": 42, "F4": 38}
    assert [frame.drive.kind for frame in demo.frames.values()] == [
        "tangential belt, double", "tangential belt, double", "tangential belt, single", "four-spindle tape",
    ]  # fmt: skip


def test_the_main_setting_is_in_si(demo):
    setting = setting_for(demo, "F1", "AV30K")
    assert setting.main_speed == pytest.approx(16000 * RPM)
    assert demo.travellers[setting.traveller].mass == pytest.approx(45e-6)
    assert demo.yarns["AV30K"].count == pytest.approx(0.45359237 / (840 * 0.9144) / 30)  # lb and hank, by definition
    assert demo.frames["F1"].gauge == pytest.approx(0.07)
    assert demo.shift_length == pytest.approx(28800)


def test_every_demonstration_file_says_that_it_is_invented():
    for file in demo_mill_path().glob("*.toml"):
        assert "imaginary" in file.read_text(encoding="utf-8").splitlines()[0], file.name


# Traveller mass by count, cotton and blends: Baraiya 2016, "Relation between yarn count and traveller number", table.
BARAIYA = {"AV20W": (50, 80), "AV30K": (35.5, 56), "AV40B": (28, 45), "AV60C": (16, 22.4)}


def test_travellers_of_the_demonstration_lie_in_the_published_range_for_their_count(demo):
    for setting in demo.settings.values():
        low, high = BARAIYA[setting.yarn]
        assert low <= demo.travellers[setting.traveller].iso_number <= high, setting.name


def test_each_frame_of_the_demonstration_reaches_its_drafts_and_twists(demo):
    """Hand arithmetic: draft = roving / yarn, twist = tpi from TM sqrt(Ne); each must lie between the end wheels."""
    for setting in demo.settings.values():
        frame, yarn, roving = demo.frames[setting.frame], demo.yarns[setting.yarn], demo.rovings[setting.roving]
        gearing, rollers = frame.drafting.gearing, frame.drafting
        draft = roving.count / yarn.count
        low, high = _span(gearing.total_draft, rollers.front_roller_diameter / rollers.back_roller_diameter)
        assert low < draft < draft * 1.08 < high  # contraction takes up to 8 %
        backs = _span(gearing.break_draft, rollers.back_roller_diameter / rollers.middle_roller_diameter)
        assert 1 / backs[1] < rollers.break_draft < 1 / backs[0]
        per_metre = 1 / (pi * rollers.front_roller_diameter)
        low, high = _span(gearing.twist, frame.spindle_turns_per_drum_turn * per_metre)
        inches = in_unit(yarn.twist_multiplier, "twist multiplier", "TM") * math.sqrt(
            in_unit(yarn.count, "count", "Ne")
        )
        assert low < inches / 0.0254 < high


def _span(train, factor):
    """The values of a train at its smallest and largest wheel."""
    ends = [
        factor * train.fixed_ratio * prod(_teeth(a, wheel) / _teeth(b, wheel) for a, b in train.pairs)
        for wheel in (train.wheels[0], train.wheels[-1])
    ]
    return sorted(ends)


def _teeth(member, wheel):
    return wheel if member == "change" else member


def test_tube_tapers_of_the_demonstration_are_those_of_the_trade(demo):
    """Tapers from 1:38 to 1:64 (ISO 368:2017, from its foreword); tubes are read to 0.1 mm, hence 1:66."""
    for frame in demo.frames.values():
        assert 38 <= frame.tube.length / (frame.tube.bottom_diameter - frame.tube.top_diameter) <= 66


def test_the_starter_reads_back_and_explains_every_key(tmp_path):
    folder = write_starter(tmp_path / "mill")
    mill = read_mill(folder)
    assert list(mill.frames) == ["F1"]
    assert mill.frames["F1"].control_ring is not None
    text = "".join(file.read_text(encoding="utf-8") for file in folder.glob("*.toml"))
    plain = " ".join(text.replace("\n# ", " ").split()).casefold()
    for row in reference():
        if row.key != "origins":
            assert f"\n{row.key} = " in text, row
            assert f"{row.meaning}{'; ' + row.range if row.range else ''}".replace("\u202f", " ").casefold() in plain


def test_the_starter_leaves_no_key_without_a_comment():
    for text in starter_texts().values():
        lines = text.splitlines()
        heading = ""
        for above, line in zip(["", *lines], lines, strict=False):
            heading = line if line.startswith("[") else heading
            if "=" in line and not line.startswith("#") and "origins" not in heading:
                assert above.startswith("# "), line


@pytest.mark.parametrize("kind", ["folder", "file", "empty folder"])
def test_the_starter_overwrites_nothing(tmp_path, kind):
    goal = tmp_path / "mill"
    if kind == "file":
        goal.write_text("mine", encoding="utf-8")
    else:
        goal.mkdir()
        if kind == "folder":
            (goal / "mill.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(Refusal, match=r"is there already; it must be a new folder\. Give the name of a new folder"):
        write_starter(goal)
    assert [path.name for path in tmp_path.iterdir()] == ["mill"]
    if kind == "file":
        assert goal.read_text(encoding="utf-8") == "mine"
    if kind == "folder":
        assert (goal / "mill.toml").read_text(encoding="utf-8") == "mine"


def test_a_starter_that_cannot_be_finished_leaves_nothing_behind(tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.rename", full)
    with pytest.raises(Refusal, match="not writable \\(no space left on device\\)"):
        write_starter(tmp_path / "mill")
    assert list(tmp_path.iterdir()) == []


def test_a_starter_in_a_folder_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(Refusal, match="in a folder that is not there"):
        write_starter(tmp_path / "no" / "mill")


def test_a_single_file_is_a_mill_too(tmp_path):
    file = tmp_path / "small.toml"
    file.write_text('\ufeff[mill]\r\nname = "Small"\r\n', encoding="utf-8")
    mill = read_mill(file)
    assert mill.name == "Small"
    assert mill.frames == {}
    assert set(mill.limits) == {"strength_share", "traveller_speed", "drive_slip"}
    assert origin_of(mill.limits["strength_share"], "value")[0] == "common practice"


def test_origins_come_from_the_file_then_from_the_default(demo):
    frame = demo.frames["F1"]
    assert origin_of(frame, "ring.friction") == ("assumed", "no reading of the mill")
    assert origin_of(frame, "ring.diameter") == ("measured", "")
    assert origin_of(demo.yarns["AV30K"], "density")[0] == "common practice"
    assert origin_of(demo.settings["F1-AV30K"], "guide_fixed") == (
        "common practice", "the guide travels unless it is written",
    )  # fmt: skip
    assert origin_of(demo, "air_density") == ("assumed", "air at about 30 degrees")
    assert origin_of(demo.limits["traveller_heat"], "value")[0] == "assumed"
    with pytest.raises(KeyError):
        origin_of(frame, "ring.colour")


def test_an_origin_of_a_whole_table_holds_for_its_keys(tmp_path):
    folder = write_starter(tmp_path / "mill")
    file = folder / "frame_F1.toml"
    text = file.read_text(encoding="utf-8").replace(
        "[frame.F1.origins]", '[frame.F1.origins]\ntube = "assumed, old drawing"'
    )
    file.write_text(text, encoding="utf-8")
    frame = read_mill(folder).frames["F1"]
    assert origin_of(frame, "tube.length") == ("assumed", "old drawing")
    assert origin_of(frame, "build.lift") == ("measured", "")


def test_a_default_carries_its_own_origin():
    ring = Ring(diameter=0.04)
    assert ring.friction == pytest.approx(0.10)
    assert origin_of(ring, "friction")[0] == "assumed"
    assert origin_of(ring, "flange")[0] == "common practice"


def test_every_default_of_a_quantity_has_an_origin_and_a_reason():
    for row in reference():
        if row.default not in {"required", "may be left out"}:
            word, _, note = row.origin.partition(", ")
            assert word in {"assumed", "common practice"}, row
            assert note, row


def test_the_models_are_frozen_and_take_texts_and_si_numbers(demo):
    assert Ring(diameter="40 mm") == Ring(diameter=0.04)
    with pytest.raises(ValidationError, match="frozen"):
        demo.frames["F1"].gauge = 0.08
    with pytest.raises(ValidationError, match=r"from 25.mm to 120.mm"):
        Ring(diameter=40)


def test_unknown_frame_yarn_and_setting_are_told_with_the_nearest(demo):
    with pytest.raises(Refusal, match="Did you mean AV30K"):
        setting_for(demo, "F1", "AV30")
    with pytest.raises(Refusal) as both:
        setting_for(demo, "F9", "AV30")
    assert len(both.value.faults) == 2
    with pytest.raises(Refusal, match="F1 has settings for AV30K, AV40B"):
        setting_for(demo, "F1", "AV60C")


def test_settings_made_in_a_program_are_held_to_the_mill(demo):
    fast = demo.settings["F1-AV30K"].model_copy(update={"frame": "F4", "main_speed": 19000 * RPM})
    lost = fast.model_copy(update={"frame": "F5"})
    with pytest.raises(ValidationError, match="highest speed of the spindles of F4"):
        Mill(name="A", frames=demo.frames, yarns=demo.yarns, rovings=demo.rovings, travellers=demo.travellers,
             settings={"x": fast})  # fmt: skip
    with pytest.raises(ValidationError, match="the name of a frame of this mill"):
        Mill(name="A", frames=demo.frames, settings={"x": lost})


def test_two_settings_of_one_frame_and_yarn_are_told(demo):
    twin = demo.settings["F1-AV30K"].model_copy(update={"name": "trial"})
    mill = demo.model_copy(update={"settings": demo.settings | {"trial": twin}})
    with pytest.raises(Refusal, match="Keep one of F1-AV30K, trial"):
        setting_for(mill, "F1", "AV30K")


def test_a_train_knows_its_change_wheel():
    train = Train(pairs=[[120, 30], ["change", 32]], wheels=[50, 40])
    assert (train.change_is, train.change_place, train.wheels) == ("driver", 1, (40, 50))
    assert Train(pairs=[[98, "change"]], wheels=[40]).change_is == "driven"


def test_spindle_turns_follow_from_drum_wharve_and_slip(demo):
    """Hand arithmetic for F1: 190 mm / 19 mm x (1 - 0.01) = 9.9."""
    assert demo.frames["F1"].spindle_turns_per_drum_turn == pytest.approx(9.9)


def test_spindles_without_a_drum_turn_with_the_train(demo):
    frame: Frame = demo.frames["F1"]
    drive = frame.drive.model_copy(update={"drum_diameter": None, "slip": 0.0})
    assert frame.model_copy(update={"drive": drive}).spindle_turns_per_drum_turn == 1


def test_the_traveller_series_is_r20():
    """ISO 3: a rounded R20 number lies from 1.01 % under to 1.26 % over 10^(i/20) (from memory)."""
    start = round(20 * math.log10(TRAVELLER_MASSES[0] * 1e6))
    for place, mass in enumerate(TRAVELLER_MASSES, start=start):
        assert -0.0101 <= mass * 1e6 / 10 ** (place / 20) - 1 <= 0.0126


# Masses of the printed table of Baraiya 2016 that belong to R20 (the table also prints masses of the finer R40 series).
@pytest.mark.parametrize("mass", [7.1, 9, 10, 12.5, 14, 16, 18, 20, 22.4, 25, 28, 31.5, 35.5, 45, 50, 56, 63, 71, 80,
                                  90, 100, 112, 125, 140, 160, 180, 200, 250, 280])  # fmt: skip
def test_printed_traveller_masses_are_in_the_series(mass):
    traveller = Traveller(name="T", mass=mass * 1e-6, profile="low bow")
    assert traveller.iso_number == pytest.approx(mass)


@pytest.mark.parametrize(("mass", "below", "above"), [(17, "16", "18"), (23.6, "22.4", "25"), (47, "45", "50")])
def test_a_mass_outside_the_series_names_both_neighbours(mass, below, above):
    with pytest.raises(ValidationError, match=f"The two nearest are {below}.mg and {above}.mg"):
        Traveller(name="T", mass=mass * 1e-6, profile="low bow")


def test_the_reference_tells_every_key_once():
    rows = [(row.table, row.key) for row in reference()]
    assert len(set(rows)) == len(rows)
    assert ("frame.NAME.ring", "diameter") in rows
    assert ("yarn.NAME.fibres", "share") in rows
    assert {f"limits.{name}" for name in KNOWN_LIMITS} < {table for table, _ in rows}
    assert {table for table, _ in rows} <= set(tables())
    assert not any(row.meaning == "" for row in reference())


def test_the_reference_tells_range_units_and_default():
    row = next(row for row in reference() if (row.table, row.key) == ("frame.NAME.ring", "friction"))
    assert (row.range, row.default) == ("from 0.01 to 0.6", "0.1")
    assert row.origin.startswith("assumed, ")
    assert any("build.cop_diameter must be at most" in rule for rule in rules_in_words())


def test_the_reference_names_every_speed_of_a_setting():
    assert set(SPEEDS) <= {row.key for row in reference() if row.table == "setting.NAME"}


def test_lines_are_found_in_any_way_of_writing_toml():
    lines = Lines.of(
        'a = 1\n[frame."F 1".ring] # first\ndiameter = "x"\ntext = """\nflange = 2\n"""\nin.ner = 3\n'
        '[[yarn.Y.fibres]]\nname = "a"\n[[yarn.Y.fibres]]\nname = "b"\nwheels = [\n  1,\n]\nlast = "[x]"\n'
    )
    at = lines.of_key
    assert at(("a",)) == 1
    assert at(("frame", "F 1", "ring")) == 2
    assert at(("frame", "F 1", "ring", "diameter")) == 3
    assert at(("frame", "F 1", "ring", "flange")) == 2  # inside a text, so no key: the table's line
    assert at(("frame", "F 1", "ring", "in", "ner")) == 7
    assert at(("yarn", "Y", "fibres", "0", "name")) == 9
    assert at(("yarn", "Y", "fibres", "1", "name")) == 11
    assert at(("yarn", "Y", "fibres", "1", "last")) == 15
    assert at(("yarn",)) == 8
    assert at(("nothing",)) is None
    assert lines.twice() == []
