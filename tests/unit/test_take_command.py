"""The command: its summary, its source file to finish, its refusals."""

from __future__ import annotations

import tomllib

import pytest
from click.testing import CliRunner

from ringwright.cli.main import ringwright
from ringwright.events.new_source import source_text
from ringwright.events.source import read_source
from ringwright.refusal import Refusal

ROWS = "Event ID;Frame;Spindle;Date;Time;Cop %;Lot;Reason\n1;F1;12;02.03.2026;10:15:00;12,5;AV30K;slub\n"


def run(*words):
    return CliRunner().invoke(ringwright, ["take", *words])


def test_a_new_source_is_suggested_from_the_headings_and_the_first_rows():
    text = source_text("monitor", ROWS)
    read = tomllib.loads(text)
    assert (read["separator"], read["decimal"], read["holds"]) == (";", ",", "breaks")
    assert read["columns"] == {
        "machine": "Frame", "spindle": "Spindle", "time": "Time", "date": "Date", "cop": "Cop %", "yarn": "Lot",
        "cause": "Reason", "id": "Event ID",
    }  # fmt: skip
    assert read["time"]["format"] == "%d.%m.%Y %H:%M:%S"
    assert read["cop"]["unit"] == "percent"
    assert "zone" not in read["time"]  # a guess would shift every break


def test_a_day_and_month_that_could_be_either_are_told():
    text = source_text("m", "frame,spindle,when\nF1,1,03/04/2026 10:00:00\n")
    assert 'format = "%d/%m/%Y %H:%M:%S"   # guessed' in text
    assert "would also read as %m/%d/%Y" in text


@pytest.mark.parametrize("sample", ["", "\n", "a", '"', "\0", "x;y\n;;;;\n", 'a"b,c\n"\n'])
def test_a_strange_file_still_gives_a_source_to_finish(sample):
    tomllib.loads(source_text("m", sample))


def test_a_source_is_written_finished_and_used(tmp_path):
    file = tmp_path / "monitor.csv"
    file.write_text(ROWS, encoding="utf-8")
    assert "write its time zone" in run("--new-source", str(file)).output
    source, store = tmp_path / "monitor.source.toml", tmp_path / "store"
    words = (str(file), "--source", str(source), "--mill", "demo", "--store", str(store))
    with pytest.raises(Refusal, match=r"time\.zone is missing"):
        raise run(*words).exception or AssertionError
    text = source.read_text(encoding="utf-8")
    source.write_text(text.replace("# zone =", "zone ="), encoding="utf-8")
    assert run(*words).output == f"{file}: 1 rows: 1 taken, 0 already known, 0 set aside\n"
    assert "1 already known" in run(*words).output
    assert run("--list", "--store", str(store)).output.count("monitor.csv") == 2
    with pytest.raises(Refusal, match="there already"):
        raise run("--new-source", str(file)).exception or AssertionError


def test_the_command_says_what_it_lacks():
    result = run()
    assert result.exit_code == 2
    assert "Missing: FILE, --source, --mill, --store" in result.output


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ('holds = "brakes"', 'line 2, holds is "brakes"'),
        ('[time]\nzone = "Europe/Berln"', "Did you mean Europe/Berlin?"),
        ('[time]\nzone = "UTC"\nformat = "%Y-%m-%d"', "without %H"),
        ('[time]\nzone = "UTC"\nformat = "%A %d %m %Y %H:%M"', "unknown code %A"),
        ('[time]\nzone = "UTC"\nrepeated_hour = "by column"', "without its column or words"),
        ('[columns]\nmachine = "m"\ntime = "t"', "columns.spindle is missing"),
        ('[columns]\nmachine = "m"\nspindle = "m"\ntime = "t"', '"m" for two things'),
        ('decimal = ","', "the same sign as the separator"),
        ('colour = "red"', "not a known key"),
    ],
)
def test_a_source_that_cannot_be_is_refused_with_line_key_and_mend(tmp_path, change, told):
    parts = {
        "head": 'name = "x"\nholds = "breaks"',
        "columns": '[columns]\nmachine = "m"\nspindle = "s"\ntime = "t"',
        "time": '[time]\nzone = "UTC"',
    }
    heading = change.split("\n")[0].strip("[]")
    if heading in parts:
        parts[heading] = change
    else:
        parts["head"] = 'name = "x"\n' + (change if change.startswith("holds") else f'holds = "breaks"\n{change}')
    (tmp_path / "s.toml").write_text("\n".join(parts.values()), encoding="utf-8")
    with pytest.raises(Refusal) as refused:
        read_source(tmp_path / "s.toml")
    assert told in str(refused.value)
    assert "s.toml" in str(refused.value)
