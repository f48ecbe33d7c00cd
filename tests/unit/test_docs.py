"""The pages tell the truth: every block of code in them is run or read, every link leads somewhere."""

from __future__ import annotations

import contextlib
import doctest
import json
import os
import re
import shlex
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGES = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]
FENCE = re.compile(r"^```(?P<language>\S*)[^\n]*\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\]\((?!https?:|mailto:|#)([^)#\s]+)")
NAMED_FILE = re.compile(r"# file: (\S+)\n")
PATIENCE_S = 120
# These set the project up or check it; start.py and .ci/run are run as they stand in CI, so no test runs them again.
RUN_ELSEWHERE = {"python3 start.py", "python3 start.py test", "bash .ci/run"}


@dataclass(frozen=True)
class Block:
    """One fenced block of a page."""

    page: Path
    line: int
    language: str
    text: str

    @property
    def where(self) -> str:
        return f"{self.page.relative_to(ROOT).as_posix()} line {self.line}"


def blocks(page: Path) -> list[Block]:
    text = page.read_text(encoding="utf-8")
    return [
        Block(page, text.count("\n", 0, found.start()) + 1, found["language"], found["text"])
        for found in FENCE.finditer(text)
    ]


def steps(text: str) -> Iterator[tuple[str, str]]:
    """Split a console block into pairs of a command and the output that the page shows under it."""
    parts = re.split(r"^\$ ", text, flags=re.MULTILINE)
    assert not parts[0].strip(), "a console block starts with a command"
    for part in parts[1:]:
        command, _, output = part.replace("\\\n", " ").partition("\n")
        yield " ".join(command.split()), output


def is_as_shown(output: str, shown: str) -> bool:
    """Say whether the output begins as shown; ``...`` stands for anything, blanks at line ends do not count."""
    tidy = ["\n".join(line.rstrip() for line in text.strip().splitlines()) for text in (output, shown)]
    pattern = ".*?".join(re.escape(piece) for piece in tidy[1].split("..."))
    return re.match(pattern, tidy[0], flags=re.DOTALL) is not None


def said(command: str) -> str:
    """Run one line of a console block, as a chain of ``cat FILE`` and ``ringwright ...``; give what it prints."""
    output = ""
    for stage in command.split(" | "):
        words = shlex.split(stage)
        if words[0] == "cat":
            output = "".join(Path(name).read_text(encoding="utf-8") for name in words[1:])
            continue
        assert words[0] == "ringwright", f"no test knows how to run {stage!r}"
        done = subprocess.run(  # noqa: S603 - it is our own page
            [sys.executable, "-m", *words],
            input=output,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            env={**os.environ, "PYTHONUTF8": "1", "COLUMNS": "100"},
            timeout=PATIENCE_S,
            check=False,
        )
        output = done.stdout
        assert "Traceback (most recent call last)" not in output, output
    return output


def run_console(block: Block) -> None:
    for command, shown in steps(block.text):
        if command in RUN_ELSEWHERE:
            continue
        output = said(command)
        assert is_as_shown(output, shown), f"{block.where}: {command}\nprinted\n{output}\nbut the page shows\n{shown}"


def run_python(block: Block, names: dict[str, object]) -> None:
    if ">>>" not in block.text:
        exec(compile(block.text, block.where, "exec"), names)  # noqa: S102 - it is our own page
        return
    example = doctest.DocTestParser().get_doctest(block.text, names, block.where, None, 0)
    told: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE)
    assert runner.run(example, out=told.append, clear_globs=False).failed == 0, "".join(told)


def read_block(block: Block) -> None:
    """Read a block of data; one that begins with ``# file: NAME`` is laid down for the commands after it."""
    named = NAMED_FILE.match(block.text)
    text = block.text
    if block.language == "toml":
        tomllib.loads(text)
    else:
        text = text[named.end() :] if named else text  # JSON knows no comments
        [json.loads(line) for line in text.splitlines()] if "}\n{" in text else json.loads(text)
    if named:
        Path(named[1]).parent.mkdir(parents=True, exist_ok=True)
        Path(named[1]).write_text(text, encoding="utf-8")


def lay_down(block: Block) -> None:
    """Lay a text that begins with ``# file: NAME`` down for the commands after it."""
    if named := NAMED_FILE.match(block.text):
        Path(named[1]).write_text(block.text, encoding="utf-8")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_every_block_of_a_page_runs_and_prints_what_it_shows(page, tmp_path):
    names: dict[str, object] = {"__name__": "page"}
    with contextlib.chdir(tmp_path):
        for block in blocks(page):
            match block.language:
                case "console":
                    run_console(block)
                case "python":
                    run_python(block, names)
                case "toml" | "json":
                    read_block(block)
                case "text":
                    lay_down(block)  # formulas and drawings: nothing to run
                case other:
                    pytest.fail(f"{block.where}: mark the block console, python, toml, json or text, not {other!r}")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_every_link_of_a_page_leads_to_a_file(page):
    links = LINK.findall(page.read_text(encoding="utf-8"))
    assert [link for link in links if not (page.parent / link).exists()] == []


def test_the_index_leads_to_every_page():
    index = ROOT / "docs" / "README.md"
    linked = {(index.parent / link).resolve() for link in LINK.findall(index.read_text(encoding="utf-8"))}
    assert [page for page in sorted(index.parent.rglob("*.md")) if page != index and page not in linked] == []


@pytest.mark.parametrize(
    ("output", "shown", "verdict"),
    [
        ("one\ntwo\n", "one\n", True),  # the beginning is enough
        ("one 12.3 cN\ntwo", "one ... cN\n", True),
        ("one\ntwo\nthree", "one\n...\nthree", True),
        ("one\n", "two\n", False),
        ("zero\none\n", "one\n", False),
        ("one\n", "one\n...\nthree", False),
    ],
)
def test_a_page_is_held_to_its_output(output, shown, verdict):
    assert is_as_shown(output, shown) is verdict
