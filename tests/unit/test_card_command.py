"""The command card as a person runs it: what it prints, what it writes, what it refuses."""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from errno import ENOSPC
from pathlib import Path

import pytest
from pypdf import PdfReader

from ringwright.judgement import cautions
from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.report import folder
from ringwright.report.card_html import card_html
from ringwright.report.card_pdf import card_pdf
from ringwright.report.number import Origin
from ringwright.verbs import app

MILL = read_mill(demo_mill_path())
SETTINGS = [(one.frame, one.yarn) for one in MILL.settings.values()]
F1 = ("card", "demo", "--frame", "F1", "--yarn", "AV30K")
A4_MM = (210, 297)
ORIGIN = re.compile("|".join(origin.value for origin in Origin))
HOSTILE = "<script>alert(1)</script> #panic(1) {{ 7*7 }} \\u001b[31m"


def words_of(pdf: bytes) -> str:
    (page,) = PdfReader(io.BytesIO(pdf)).pages
    return re.sub(r"\s+", " ", page.extract_text().replace("\u202f", " "))


def sections(text: str) -> dict[str, list[str]]:
    """The lines under each heading."""
    found: dict[str, list[str]] = {}
    for line in text.splitlines():
        if line and not line.startswith(" "):
            found[line] = []
        elif line.strip():
            found[list(found)[-1]].append(line.strip())
    return found


@dataclass(frozen=True)
class Made:
    """What one run of the command gave: the text, what it said of the files, and the files."""

    text: str
    said: str
    files: list[Path]
    page: str
    pdf: bytes


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The demonstration's card, made once from an empty folder on a terminal of 80 columns."""
    place = tmp_path_factory.mktemp("made")
    done = subprocess.run(  # noqa: S603 - it is our own program
        [sys.executable, "-m", "ringwright", *F1],
        cwd=place,
        env={**os.environ, "COLUMNS": "80", "PYTHONUTF8": "1"},
        capture_output=True,
        encoding="utf-8",
        timeout=60,
        check=True,
    )
    html, pdf = files = sorted((place / "ringwright-out").iterdir())
    return Made(done.stdout, done.stderr, files, html.read_text(encoding="utf-8"), pdf.read_bytes())


@pytest.fixture
def mill(tmp_path):
    """The demonstration mill as a folder of one's own."""
    return Path(shutil.copytree(demo_mill_path(), tmp_path / "mill"))


@pytest.fixture(autouse=True)
def narrow(monkeypatch, tmp_path):
    """A terminal of 80 columns, standing in an empty folder."""
    monkeypatch.setenv("COLUMNS", "80")
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")


def test_it_prints_the_card_writes_html_and_pdf_and_says_where(made):
    assert made.text.startswith("F1, AV30K")
    assert [path.name for path in made.files] == ["F1-AV30K-card.html", "F1-AV30K-card.pdf"]
    assert all(f"ringwright-out{os.sep}{path.name}" in made.said for path in made.files)
    assert all(path.stat().st_mode & 0o777 == 0o644 for path in made.files)  # the shift may read them


def test_both_files_are_whole_and_the_pdf_is_one_sheet_of_a4(made):
    assert made.page.startswith("\n" * (len(made.page) - len(made.page.lstrip())) + "<!DOCTYPE html>")
    assert made.page.rstrip().endswith("</html>")
    (page,) = PdfReader(io.BytesIO(made.pdf)).pages
    assert page.mediabox[2:] == pytest.approx([v / 25.4 * 72 for v in A4_MM], abs=0.3)


def test_text_html_and_pdf_carry_the_same_settings(made):
    sheet = words_of(made.pdf)
    for line in sections(made.text)["Settings"]:
        name, value = re.split(r"\s{2,}", line)[:2]
        assert f"<td>{name}</td>" in made.page
        assert f"{name} {value}" in sheet


def test_every_number_of_the_text_has_its_unit_and_its_origin(made):
    parts = sections(made.text)
    for title in ("Settings", "Change wheels and the error they leave", "Read with the tension meter, at the lappet"):
        assert parts[title]
        for line in parts[title]:
            assert ORIGIN.search(line), line
            assert re.search(r"\d .*[a-z]+  ", line) or "low bow" in line or "coefficient" in line, line


def test_the_text_names_the_sources_of_equations_and_of_limits(made):
    sources = " ".join(sections(made.text)["Sources"])
    assert "Klein, W. (1987)" in sources
    assert all(f"Limit of {name}" in sources for name in ("traveller speed", "fold, lift-off", "yarn strength"))
    assert "from memory" in sources


@pytest.mark.parametrize(("columns", "widest"), [("40", 80), ("93", 93), ("300", 100)])
def test_the_text_keeps_to_the_terminal(run, monkeypatch, columns, widest):
    monkeypatch.setenv("COLUMNS", columns)
    _, text, _ = run(*F1)
    lines = text.splitlines()
    assert max(len(line) for line in lines) <= widest
    assert lines[2] == "=" * widest


@pytest.mark.parametrize(("frame", "yarn"), SETTINGS, ids=lambda name: name)
def test_every_setting_of_the_demo_fits_one_sheet_unscaled_with_its_cautions(frame, yarn):
    card = app.card("demo", frame, yarn, app.trial())
    sheet = words_of(card_pdf(card))
    melting = any(fibre.thermoplastic for fibre in MILL.yarns[yarn].fibres)
    assert "Set smaller" not in sheet
    assert "Stop and lock out" in sheet
    assert cautions(MILL.frames[frame], MILL.yarns[yarn])[0].rules in sheet
    assert ("which rubbing heat can melt" in sheet) is melting
    assert ("which rubbing heat can melt" in card_html(card)) is melting


def test_a_yarn_that_can_melt_keeps_its_caution_where_balloons_collapse_too():
    card = app.card("demo", "F1", "AV40B", app.trial(traveller="14 mg"))
    assert "no steady balloon" in card.cautions[0]
    assert "rubbing heat can melt" in card.cautions[1]


def test_a_tried_speed_reaches_delivery_production_and_roving(run, made):
    # By hand: at given twist all three go with the spindle; 14/16 of 21.6 m/min is 18.9, 58.7 h x 16/14 is 67.1.
    _, tried, _ = run(*F1, "--speed", "14000 rpm")
    for words in ("Delivery, main part           21.6 m/min", "Roving bobbin lasts               58.7 h"):
        assert words in made.text
        assert words not in tried
    for words in ("Delivery, main part           18.9 m/min", "Roving bobbin lasts               67.1 h"):
        assert words in tried


def test_a_trial_is_said_to_be_one(run, made):
    assert "tried" not in made.text
    assert "setting F1-AV30K, tried\n" in run(*F1, "--traveller", "40 mg")[1]
    _, text, _ = run(*F1, "--guide-fixed", "--no-control-ring")
    assert "tried: guide fixed, no control ring" in text
    assert "[ ] Control ring" not in text


def test_a_place_without_a_steady_balloon_is_said_first(run):
    _, text, _ = run(*F1, "--traveller", "20 mg")
    first = next(line for line in text.splitlines() if line.startswith("Mind:"))
    assert "have no steady balloon" in first
    assert re.search(r"Fold .*past it", text)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--frame", "F9", "--yarn", "AV30"), ['frame is "F9"', "F1, F2, F3, F4", "Did you mean AV30K?"]),
        (("--frame", "F1", "--yarn", "AV60C"), ["F1 with AV60C is missing", "AV30K, AV40B"]),
        (("--frame", "F1", "--yarn", "AV30K", "--traveller", "45 x"), ["a mass with its unit"]),
        (("--frame", "F1", "--yarn", "AV30K", "--traveller", "45 rpm"), ["mass"]),
        (
            ("--frame", "F1", "--yarn", "AV30K", "--speed", "99000 rpm"),
            ["99 000 rpm", "between 1 000 rpm and 20 000 rpm"],
        ),
        (("--frame", "F1", "--yarn", "AV30K", "--ring-friction", "7"), ["ring friction is 7", "0.01 and 0.6"]),
    ],
)
def test_what_cannot_be_is_refused_in_sentences_and_nothing_is_written(run, words, told):
    status, text, said = run("card", "demo", *words)
    said = said.replace("\u202f", " ")
    assert status == 1
    assert text == ""
    assert all(part in said for part in told)
    assert list(Path().iterdir()) == []


@pytest.mark.parametrize(
    "words", [("card",), ("card", "demo"), (*F1, "--colour", "red"), (*F1, "--ring-friction", "x")]
)
def test_a_command_that_cannot_be_read_is_refused_with_a_hint(run, words):
    status, text, said = run(*words)
    assert (status, text) == (2, "")
    assert "ringwright card --help" in said


@pytest.mark.parametrize(("out", "told"), [("file", "a file"), ("file/below", "inside a file"), ("", "without a name")])
def test_a_folder_that_cannot_be_is_refused(out, told):
    Path("file").write_text("kept", encoding="utf-8")
    with pytest.raises(Refusal, match=f'the folder "{out}" is .*{told}.*--out'):
        folder.write_files(out, {"card.html": b"new"})
    assert [path.name for path in Path().iterdir()] == ["file"]
    assert Path("file").read_text(encoding="utf-8") == "kept"


def test_a_disk_that_fills_up_leaves_the_old_card_whole_and_no_half_of_the_new(run, monkeypatch):
    run(*F1)
    old = {path.name: path.read_bytes() for path in Path("ringwright-out").iterdir()}
    write, calls = folder._written, []

    def full(target, name, content):
        calls.append(name)
        if len(calls) == 2:
            raise OSError(ENOSPC, "No space left on device")
        return write(target, name, content)

    monkeypatch.setattr(folder, "_written", full)
    status, _, said = run(*F1, "--traveller", "40 mg")
    assert status == 1
    assert "no space left on device" in said
    assert {path.name: path.read_bytes() for path in Path("ringwright-out").iterdir()} == old


def test_a_hostile_mill_name_is_told_and_not_obeyed(run, mill):
    file = mill / "mill.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("Alder Vale Spinning", HOSTILE))
    status, text, _ = run("card", str(mill), *F1[2:])
    page = Path("ringwright-out/F1-AV30K-card.html").read_text(encoding="utf-8")
    sheet = words_of(Path("ringwright-out/F1-AV30K-card.pdf").read_bytes())
    assert status == 0
    assert "\x1b" not in text + page + sheet
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert all("#panic(1) {{ 7*7 }}" in told for told in (text, sheet))


@pytest.mark.parametrize("name", ["../F1", "F1/..", "..", "a b"])
def test_a_frame_s_name_never_leads_out_of_the_folder(run, mill, name):
    file = mill / "frame_f1.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("[frame.F1", f'[frame."{name}"'))
    settings = mill / "settings.toml"
    settings.write_text(settings.read_text(encoding="utf-8").replace('"F1"', f'"{name}"'))
    before = sorted(mill.parent.rglob("*"))
    run("card", str(mill), "--frame", name, "--yarn", "AV30K")
    new = [path for path in mill.parent.rglob("*") if path not in before]
    assert all(Path("ringwright-out").resolve() in (path, *path.parents) for path in new)
