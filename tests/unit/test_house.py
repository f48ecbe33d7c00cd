"""The rules of the house, read off the source itself."""

from __future__ import annotations

import ast
import contextlib
import importlib
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "ringwright"
MODULES = sorted(PACKAGE.rglob("*.py"))
PYTHON_FILES = sorted(
    [*MODULES, *ROOT.glob("*.py"), *(path for place in ("tests", "bench") for path in (ROOT / place).rglob("*.py"))]
)
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
WRITTEN = sorted(
    path
    for place in (PACKAGE, ROOT / "docs", ROOT / "tests", ROOT / "bench")
    for path in place.rglob("*")
    if path.suffix in {".py", ".md", ".toml", ".c", ".h", ".typ", ".html", ".j2", ".css"}
) + sorted(path for path in ROOT.iterdir() if path.suffix in {".py", ".md", ".toml"})

LINES_OF_A_MODULE = 400
LINES_OF_A_FUNCTION = 50
PARAMETERS_OF_A_FUNCTION = 8
EMPTY_WORDS = {"utils", "util", "helpers", "helper", "manager", "base", "common", "core", "data", "misc"}
# Put together here, so that this file does not break its own rule.
REGISTRIES = [".".join(name) for name in (("pypi", "org"), ("pythonhosted", "org"), ("npmjs", "com"), ("crates", "io"))]
WEB_ADDRESS = re.compile(r"https?://(?!www\.w3\.org/|\{)")  # the names of XML namespaces are no places to visit

Function = ast.FunctionDef | ast.AsyncFunctionDef


def shown(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def functions(path: Path) -> Iterator[Function]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    yield from (node for node in ast.walk(tree) if isinstance(node, Function))


def lines(function: Function) -> int:
    """Lines of the body; the docstring and the decorators of a command are for the reader and do not count."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def parameters(function: Function) -> int:
    named = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
    return len([one for one in named if one.arg not in {"self", "cls"}])


def is_command(function: Function) -> bool:
    """Its parameters are the options a person types by name, each with a help text of its own."""
    names = [ast.unparse(decorator).split("(")[0] for decorator in function.decorator_list]
    return any(name.rpartition(".")[2] in {"command", "group"} for name in names)


def public_things(path: Path) -> Iterator[ast.AST]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    yield tree
    for node in tree.body:
        if isinstance(node, ast.ClassDef | Function) and not node.name.startswith("_"):
            yield node
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from (one for one in node.body if isinstance(one, Function) and not one.name.startswith("_"))


def commands() -> dict[str, click.Command | None]:
    """Every command of the program, by the words that call it; None for one that is listed but cannot be loaded."""
    if not (PACKAGE / "cli" / "main.py").is_file():
        return {}
    found: dict[str, click.Command | None] = {}
    waiting: list[tuple[str, click.Command]] = [
        ("ringwright", importlib.import_module("ringwright.cli.main").ringwright)
    ]
    while waiting:
        words, command = waiting.pop()
        found[words] = command
        if not isinstance(command, click.Group):
            continue
        context = click.Context(command, info_name=words)
        for name in command.list_commands(context):
            found[f"{words} {name}"] = None
            with contextlib.suppress(ImportError):
                if one := command.get_command(context, name):
                    waiting.append((f"{words} {name}", one))
    return found


def tables_of_the_mill_file() -> list[str]:
    """Every heading that a mill file may have, as it is written, NAME standing for the mill's own names."""
    if not (PACKAGE / "mill" / "reading.py").is_file():
        return []
    kinds = importlib.import_module("ringwright.mill.reading").KINDS
    table_of = importlib.import_module("ringwright.mill.table").table_of
    headings, waiting = ["[mill]"], [(f"{kind}.NAME", model) for kind, (model, _) in kinds.items()]
    while waiting:
        heading, model = waiting.pop()
        headings.append(f"[{heading}]")
        for name, field in model.model_fields.items():
            inner, listed = table_of(field.annotation), table_of(field.annotation, inside_lists=True)
            if inner:
                waiting.append((f"{heading}.{name}", inner))
            elif listed:
                headings.append(f"[[{heading}.{name}]]")
    return sorted(headings)


@pytest.mark.parametrize("path", PYTHON_FILES, ids=shown)
def test_a_module_has_at_most_400_lines(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LINES_OF_A_MODULE


@pytest.mark.parametrize("path", PYTHON_FILES, ids=shown)
def test_a_function_has_at_most_50_lines(path):
    assert [f"{one.name}: {lines(one)}" for one in functions(path) if lines(one) > LINES_OF_A_FUNCTION] == []


@pytest.mark.parametrize("path", PYTHON_FILES, ids=shown)
def test_a_function_has_at_most_eight_parameters_unless_it_is_a_command(path):
    many = [one for one in functions(path) if parameters(one) > PARAMETERS_OF_A_FUNCTION and not is_command(one)]
    assert [f"{one.name}: {parameters(one)}" for one in many] == []


@pytest.mark.parametrize("path", MODULES, ids=shown)
def test_every_public_module_class_and_function_is_documented(path):
    bare = [getattr(one, "name", "the module") for one in public_things(path) if not ast.get_docstring(one)]  # type: ignore[arg-type]
    assert bare == []


@pytest.mark.parametrize("path", MODULES, ids=shown)
def test_a_module_is_named_by_what_it_holds(path):
    words = set(path.relative_to(PACKAGE).with_suffix("").as_posix().replace("_", "/").split("/"))
    assert not words & EMPTY_WORDS


@pytest.mark.parametrize("path", WRITTEN, ids=shown)
def test_no_package_registry_is_named_by_its_address(path):
    text = path.read_text(encoding="utf-8")
    assert [name for name in REGISTRIES if name in text] == []


@pytest.mark.parametrize("path", [path for path in WRITTEN if PACKAGE in path.parents], ids=shown)
def test_the_program_holds_no_web_address(path):
    assert not WEB_ADDRESS.search(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("command", commands().values(), ids=commands())
def test_every_command_has_help_and_so_has_each_of_its_options(command):
    assert command is not None, "the command is listed but cannot be loaded"
    assert command.help
    bare = [one.name for one in command.params if isinstance(one, click.Option) and not (one.help or one.hidden)]
    assert bare == []


@pytest.mark.parametrize("words", commands())
def test_every_command_is_mentioned_in_the_docs(words):
    assert any(words in page.read_text(encoding="utf-8") for page in PAGES)


@pytest.mark.parametrize("heading", tables_of_the_mill_file())
def test_every_table_of_the_mill_file_is_mentioned_in_the_reference(heading):
    pages = (ROOT / "docs" / "reference").rglob("*.md")
    assert any(f"`{heading}`" in page.read_text(encoding="utf-8") for page in pages)


@pytest.mark.parametrize("requirement", ["dependencies", "spark", "test", "build"])
def test_every_dependency_has_its_reason(requirement):
    read = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    listed = {
        "dependencies": read["project"]["dependencies"],
        "spark": read["project"]["optional-dependencies"]["spark"],
        "test": read["project"]["optional-dependencies"]["test"],
        "build": read["build-system"]["requires"],
    }[requirement]
    reasons = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8")
    names = [re.split(r"[<>=!~\[;]", line)[0].strip() for line in listed]
    assert [name for name in names if f"**{name}**" not in reasons] == []
