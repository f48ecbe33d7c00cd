"""The reference pages say what the code says, and say all of it."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from ringwright.mill import reference
from ringwright.report.position_rows import COLUMNS, LIMITS
from ringwright.report.reference import PAGES, main
from ringwright.setting.position_keys import KEYS
from ringwright.sources import Cited, bibliography, cited_in
from ringwright.units import QUANTITIES, parse

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "docs" / "reference"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The pages as the code says them now, by the name of their file."""
    folder = tmp_path_factory.mktemp("reference")
    assert CliRunner().invoke(main, [str(folder)]).exit_code == 0
    return {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir()}


def test_the_pages_in_the_docs_are_fresh():
    done = CliRunner().invoke(main, ["--check", str(FOLDER)])
    assert done.exit_code == 0, done.output


@pytest.mark.parametrize("name", PAGES)
def test_a_stale_or_missing_page_is_told_in_a_sentence(made, tmp_path, name):
    for other, text in made.items():
        (tmp_path / other).write_text(text, encoding="utf-8")
    page = tmp_path / name
    page.write_text(made[name].replace("a", "b", 1), encoding="utf-8")
    changed = CliRunner().invoke(main, ["--check", str(tmp_path)])
    page.unlink()
    gone = CliRunner().invoke(main, ["--check", str(tmp_path)])
    for done in (changed, gone):
        assert done.exit_code == 1
        assert done.output.splitlines() == [
            f"{page.as_posix()} is not what the code says. Make it anew: python -m ringwright.report.reference"
        ]
    assert not page.exists()  # a check writes nothing


def test_every_command_stands_there_with_each_of_its_options(made):
    waiting = [("ringwright", importlib.import_module("ringwright.cli.main").ringwright)]
    while waiting:
        words, command = waiting.pop()
        if isinstance(command, click.Group):
            context = click.Context(command, info_name=words)
            names = command.list_commands(context)
            assert names
            waiting += [(f"{words} {name}", command.get_command(context, name)) for name in names]
        if words == "ringwright":
            continue
        section = made["commands.md"].split(f"## {words}\n")[1].split("\n## ")[0]
        options = [one for one in command.params if isinstance(one, click.Option) and not one.hidden]
        assert [one.name for one in options if f"`{one.opts[0]}" not in section] == []


def test_every_key_of_the_mill_file_stands_under_its_table(made):
    page = made["mill-keys.md"].replace("[[", "[").replace("]]", "]")
    for row in reference():
        section = page.split(f"## `[{row.table}]`\n")[1].split("\n## ")[0]
        assert f"| `{row.key}` | {row.meaning}" in section


def test_a_list_of_tables_is_told_as_one(made):
    assert "## `[[yarn.NAME.fibres]]`" in made["mill-keys.md"]
    assert "## `[yarn.NAME]`" in made["mill-keys.md"]


def test_every_unit_and_spelling_on_the_page_is_understood(made):
    sections = made["quantities.md"].split("\n## ")[1:]
    assert len(sections) == len(QUANTITIES)
    for section, quantity in zip(sections, QUANTITIES.values(), strict=True):
        rows = [line.split(" | ") for line in section.splitlines() if line.startswith("| `")]
        written = [word for row in rows for cell in row[:2] for word in re.findall(r"`([^`]+)`", cell)]
        assert len(written) >= len(quantity.units)
        for word in (word for word in written if not word[0].isdigit()):
            assert parse(f"2 {word}", quantity.name, "the page") > 0


def test_a_spelling_that_begins_with_a_figure_is_understood():
    assert parse("16 000 1/min", "rotation", "the page") == pytest.approx(16000 / 60 * 6.283185307)


def test_every_cited_number_of_the_code_stands_there_with_its_source(made):
    page = made["constants.md"] + made["quantities.md"]
    citing = [path for path in (ROOT / "src" / "ringwright").rglob("*.py") if " Cited(" in path.read_text("utf-8")]
    found: list[Cited] = []
    for path in citing:
        name = ".".join(path.relative_to(ROOT / "src").with_suffix("").parts)
        found += cited_in(importlib.import_module(name)).values()
    assert len(found) > 30
    for number in found:
        rows = [line for line in page.splitlines() if f"| `{number.source}` | {number.where}" in line]
        told = (f"| {number:.6g} |", f"| {number:.10g} ")
        assert any(shown in row for row in rows for shown in told), (number, number.source)


def test_every_source_stands_there_with_its_grade(made):
    for key, source in bibliography().items():
        row = next(line for line in made["constants.md"].splitlines() if line.startswith(f"| `{key}` | "))
        assert f"[{source.grade.value}" in row
        assert source.title in row


def test_every_key_of_a_position_stands_there(made):
    page = made["position-keys.md"]
    names = [key.name for key in KEYS] + [name for name, *_ in (*COLUMNS, *LIMITS)]
    assert [name for name in names if page.count(f"| `{name}` | ") != 1] == []
    assert "| `yarn_traveller_friction` | friction of the yarn on the traveller | 0 to 1.5 | 0.3 (assumed) |" in page


def test_no_cell_of_a_table_breaks_its_row(made):
    for text in made.values():
        heads = 0
        for line in text.splitlines():
            if re.fullmatch(r"\|(---\|)+", line):
                heads = line.count("---")
            elif line.startswith("|") and heads:
                assert len(re.findall(r"(?<!\\)\|", line)) == heads + 1, line
            elif not line:
                heads = 0
