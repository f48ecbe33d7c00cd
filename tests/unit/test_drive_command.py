"""The drive as a person asks for it: command, page, work list, and what is refused."""

from __future__ import annotations

import json
import re

import pytest
from click.testing import CliRunner

from ringwright.cli.main import main, ringwright
from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.report.sheets.sheet_html import sheet_html
from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.store import open_store
from ringwright.verbs.driving import AskedDrive, drive, drive_sheet, speed_answers
from ringwright.workbench.parts.catalogue import part_at, sheet_of


@pytest.fixture(scope="module")
def mill():
    return read_mill(demo_mill_path())


def run(*words):
    return CliRunner().invoke(ringwright, ["drive", "demo", *words])


def test_the_command_names_the_planted_tape_and_writes_its_sheet(tmp_path):
    done = run("--frame", "F4", "--yarn", "AV40B", "--readings", "demo", "--out", str(tmp_path / "out"))
    assert done.exit_code == 0, done.output
    assert "the tape of spindles 121, 122, 625, 626 runs 3.0 % slow" in " ".join(done.output.split())
    written = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert written == ["F4-AV40B-drive-1.svg", "F4-AV40B-drive-2.svg", "F4-AV40B-drive.html", "F4-AV40B-drive.pdf"]


def test_the_json_has_si_values_and_every_origin():
    told = json.loads(run("--frame", "F1", "--yarn", "AV40B", "--against", "F4", "--json").output)
    assert {row["origin"].split(",")[0] for row in told["rows"]} <= {
        "measured", "computed", "assumed", "common practice",
    }  # fmt: skip
    speed = next(row for row in told["rows"] if row["name"] == "Spindle speed, mean")
    assert speed["si"] == pytest.approx(15000 * 2 * 3.141592653589793 / 60)
    against = next(table for table in told["tables"] if table["title"].startswith("F1 against F4"))
    spread = next(row for row in against["rows"] if row[""] == "spread along the belt, SD, %")
    assert float(spread["F1"]) > 5 * float(spread["F4"])  # along the belt only the long belt creeps


def test_every_sheet_carries_the_caution_for_the_drive_and_for_hearing(mill):
    for frame, yarn, what in (("F1", "AV30K", "work on belts"), ("F4", "AV40B", "work on spindle tapes")):
        words = " ".join(drive_sheet(mill, frame, yarn, AskedDrive()).cautions)
        assert f"Stop and lock out before {what}" in words
        assert "Guards on" in words
        assert "85 dB(A)" in words
        assert "standing still" in words


def test_another_wharve_is_tried_under_the_same_bolster(mill):
    as_set, tried = (drive_sheet(mill, "F1", "AV30K", AskedDrive(wharve=one)) for one in ("", "22 mm"))
    bolster = [
        next(row.raw for row in one.rows if row.name == "Power of the bolster itself") for one in (as_set, tried)
    ]
    assert bolster[0] == bolster[1]
    drum = [next(row.raw for row in one.rows if row.name == "Drum speed that this needs") for one in (as_set, tried)]
    assert drum[0] is not None
    assert drum[1] is not None
    assert drum[1] / drum[0] == pytest.approx(22 / 19, rel=1e-3)


@pytest.mark.parametrize(
    ("asked", "where", "words"),
    [
        (AskedDrive(wharve="20"), "the wharve", "unit"),
        (AskedDrive(wharve="200 mm"), "the wharve", "from 12"),
        (AskedDrive(wharve="0 mm"), "the wharve", "from 12"),
        (AskedDrive(against="F9"), "--against", "F9"),
        (AskedDrive(readings="nowhere.csv"), "nowhere.csv", "read"),
        (AskedDrive(typed="spindle\n1\n"), "as typed", "speed"),
        (AskedDrive(keep="store", by=""), "--keep", "readings"),
    ],
)
def test_what_cannot_be_used_is_refused_in_a_sentence(asked, where, words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(Refusal) as refused:
        drive("demo", ("F1", "AV30K"), asked)
    said = str(refused.value)
    assert where in said
    assert words in said


def test_several_faults_are_told_together():
    with pytest.raises(Refusal) as refused:
        drive("demo", ("F1", "AV30K"), AskedDrive(wharve="big", against="F9", keep="store", readings="nowhere.csv"))
    assert {one.where for one in refused.value.faults} == {"the wharve", "--against", "nowhere.csv", "--by"}


def test_a_belt_without_tension_and_one_without_stiffness_are_refused_with_file_key_and_mend(tmp_path):
    text = (demo_mill_path() / "frame_f1.toml").read_text(encoding="utf-8")
    broken = text.replace('tension = "1000 N"', 'tension = "0 N"').replace(
        'pull_at_one_percent = "900 N"', 'pull_at_one_percent = "0 N"'
    )
    assert broken.count('"0 N"') == 2
    for path in demo_mill_path().glob("*.toml"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    (tmp_path / "frame_f1.toml").write_text(broken, encoding="utf-8")
    with pytest.raises(Refusal) as refused:
        read_mill(tmp_path)
    said = {fault.where: str(fault) for fault in refused.value.faults}
    assert len(said) == 2
    assert any("drive.belt.tension" in where and "from 1" in said[where] for where in said)
    assert any("drive.belt.pull_at_one_percent" in where and "from 5" in said[where] for where in said)


def test_rollers_that_press_nothing_are_refused(tmp_path):
    text = (demo_mill_path() / "frame_f1.toml").read_text(encoding="utf-8")
    for path in demo_mill_path().glob("*.toml"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    (tmp_path / "frame_f1.toml").write_text(
        text.replace('roller_force = "12 N"', 'roller_force = "0 N"'), encoding="utf-8"
    )
    with pytest.raises(Refusal, match="nothing else presses the belt"):
        read_mill(tmp_path)


def test_a_round_is_kept_whole_and_asks_the_work_list_for_its_tape(mill, tmp_path):
    store, file = str(tmp_path / "store"), tmp_path / "round.csv"
    rows = [f"{k},{15600 * (0.96 if k in (9, 10, 513, 514) else 1) + 3 * ((7 * k) % 13):.0f}" for k in range(1, 1009)]
    file.write_text("spindle,rpm\n" + "\n".join(rows) + "\n2000,15600\n", encoding="utf-8")
    asked = AskedDrive(readings=str(file), keep=store, by="early", when="2026-04-01")
    _, said = drive("demo", ("F4", "AV40B"), asked)
    assert "1008 readings, 1 set aside" in said
    with open_store(store) as held:
        (kept,) = held.rounds(mill.name, "speed", frame="F4")
    assert kept.text == file.read_text(encoding="utf-8")
    assert len(kept.readings) + len(kept.set_aside) == 1009
    (answer,) = speed_answers(mill, store, ["F1", "F4"])
    assert [one.spindles for one in answer.findings] == [(9, 10, 513, 514)]
    again = drive_sheet(mill, "F4", "AV40B", AskedDrive(rounds=store))
    assert "spindles 9, 10, 513, 514" in again.answer


def test_the_page_gives_the_same_sheet_as_the_command(mill):
    part = part_at("drive")
    at_first = {field.key: field.start(mill, "F4", "AV40B") for field in part.fields}
    assert sheet_of("drive", mill, "F4", "AV40B", at_first) == drive_sheet(mill, "F4", "AV40B", AskedDrive())
    demo = sheet_of("drive", mill, "F4", "AV40B", at_first | {"which": "the demonstration's round"})
    assert "121" in demo.answer
    with pytest.raises(Refusal, match="Wharve"):
        sheet_of("drive", mill, "F4", "AV40B", at_first | {"wharve": "big"})
    typed = at_first | {"which": "as written below", "readings": "spindle,rpm\n1,15600\n"}
    assert "too early" in sheet_of("drive", mill, "F4", "AV40B", typed).answer


def test_a_frame_with_single_motors_has_a_sheet_without_wharves(mill):
    frame = mill.frames["F1"]
    motors = frame.model_copy(update={"drive": frame.drive.model_copy(update={"kind": "single-spindle motors"})})
    one = mill.model_copy(update={"frames": {**mill.frames, "F1": motors}})
    sheet = drive_sheet(one, "F1", "AV30K", AskedDrive())
    assert "its own motor" in sheet.answer
    assert not any("wharve" in table.title for table in sheet.tables)
    assert "work on spindle motors" in " ".join(sheet.cautions)


def test_the_sheet_prints(mill):
    sheet = drive_sheet(mill, "F4", "AV40B", AskedDrive(readings="demo", against="F1"))
    assert sheet_pdf(sheet).startswith(b"%PDF")
    assert "121 to 122" in sheet_html(sheet)
    assert not re.search(r"\bnan\b", sheet_html(sheet))


def test_a_refusal_at_the_command_line_is_a_sentence_and_exit_status_1(monkeypatch, capsys):
    monkeypatch.setattr(
        "sys.argv", ["ringwright", "drive", "demo", "--frame", "F1", "--yarn", "AV30K", "--wharve", "x"]
    )
    with pytest.raises(SystemExit) as left:
        main()
    assert left.value.code == 1
    assert "the wharve is" in capsys.readouterr().err
