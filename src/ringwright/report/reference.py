"""Write the reference pages from the code: ``python -m ringwright.report.reference``, or compare with ``--check``.

What the pages say is stated once, beside the code that uses it: commands, keys of the mill file, quantities,
constants with their sources, keys of a position.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable, Iterator, Mapping
from inspect import cleandoc
from itertools import groupby
from pathlib import Path
from types import MappingProxyType
from typing import get_origin

import click

from ringwright.mill.reference import reference, rules_in_words, tables
from ringwright.report.markdown import code, table
from ringwright.report.position_reference import position_page
from ringwright.sources import Cited, bibliography, cited_in
from ringwright.units import QUANTITIES, Unit

__all__ = ["PAGES", "main"]

MADE_BY = "python -m ringwright.report.reference"
CITING = ("units", "physics", "economy")
"""The packages whose modules state cited numbers."""


def commands_page() -> list[str]:
    """Tell every command with its arguments and options, as its own help does."""
    lines = ["# Commands", ""]
    for words, command in _commands():
        context = click.Context(command, info_name=words)
        usage = " ".join([words, *command.collect_usage_pieces(context)])
        lines += [f"## {words}", "", "```text", usage, "```", ""]
        paragraphs = cleandoc(command.help or "").split("\n\n")
        lines += [line for paragraph in paragraphs for line in (" ".join(paragraph.split()), "")]
        rows = [_option(one) for one in command.params if isinstance(one, click.Option) and not one.hidden]
        lines += table(("Option", "What it does", "If left out"), rows) if rows else []
    return lines


def _commands() -> Iterator[tuple[str, click.Command]]:
    # The commands stand above this layer; the page looks at them from outside, as a person does.
    return _inside("ringwright", importlib.import_module("ringwright.cli.main").ringwright)


def _inside(words: str, group: click.Group) -> Iterator[tuple[str, click.Command]]:
    """Walk the commands of a group by the words that call them, and those of the groups in it."""
    context = click.Context(group, info_name=words)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        if command is not None:
            yield f"{words} {name}", command
        if isinstance(command, click.Group):
            yield from _inside(f"{words} {name}", command)


def _option(option: click.Option) -> tuple[str, str, str]:
    kind = option.type
    choices = "|".join(kind.choices) if isinstance(kind, click.Choice) else kind.name.upper()
    name = ", ".join(option.opts) + ("" if option.is_flag else f" {choices}")
    default = "it must be given" if option.required else code(str(option.default)) if option.show_default else ""
    return code(name), option.help or "", default


def mill_page() -> list[str]:
    """Tell every key of the mill file, table by table, and the rules between keys."""
    lines = ["# The mill file: keys", "", "How the tables are laid out: [the mill file: layout](mill-file.md).", ""]
    for heading, rows in groupby(reference(), key=lambda row: row.table):
        told = [(code(row.key), row.meaning, row.range, row.units, _or_else(row.default, row.origin)) for row in rows]
        lines += [f"## {_heading(heading)}", "", *table(("Key", "What it is", "Allowed", "Units", "If left out"), told)]
    return [*lines, "## Rules between keys", "", *(f"- {rule}" for rule in rules_in_words()), ""]


def _heading(heading: str) -> str:
    above, _, leaf = heading.rpartition(".")
    holder = tables().get(above)
    field = holder.model_fields.get(leaf) if holder else None
    listed = field is not None and get_origin(field.annotation) in {list, tuple}
    return f"`[[{heading}]]`" if listed else f"`[{heading}]`"


def _or_else(default: str, origin: str) -> str:
    if default == "required":
        return "it must be given"
    return f"{default} ({origin})" if origin else default


def quantities_page() -> list[str]:
    """Tell every quantity with the units and spellings that are understood."""
    lines = [
        "# Quantities and units",
        "",
        'A value is a text with its unit, as `"30 Ne"`; the first unit is the one shown.',
        "",
    ]
    for quantity in QUANTITIES.values():
        bare = f" A bare number is understood as {quantity.si}." if quantity.plain else ""
        lines += [f"## {quantity.name.capitalize()}", "", f"Held in {quantity.si}.{bare}", ""]
        rows = [
            (code(unit.symbol), ", ".join(map(code, unit.spellings)), _in_si(unit, quantity.si), *_cited(unit.factor))
            for unit in quantity.units
        ]
        lines += table(("Unit", "Also written", "In SI", "Source", "Where"), rows)
    return lines


def _in_si(unit: Unit, si: str) -> str:
    number = f"{float(unit.factor):.10g}"
    return f"{number} {si} divided by the number" if unit.reciprocal else f"{number} {si}"


def constants_page() -> list[str]:
    """Tell every cited number with its source, and the bibliography with its grades."""
    lines, seen = ["# Constants and sources", ""], set[int]()
    for name in _modules():
        module = importlib.import_module(name)
        found = {key: number for key, number in cited_in(module).items() if id(number) not in seen}
        seen |= {id(number) for number in found.values()}
        rows = [(code(key), f"{number:.6g}", number.unit, *_cited(number)) for key, number in found.items()]
        if rows:
            lines += [f"## {name}", "", *table(("Name", "Value", "Unit", "Source", "Where"), rows)]
    lines += [
        "## Bibliography",
        "",
        "What each source is, how good it is as evidence, and whether its text was read.",
        "",
    ]
    return lines + table(
        ("Key", "Source"), [(code(key), str(source)) for key, source in sorted(bibliography().items())]
    )


def _modules() -> Iterator[str]:
    for package in CITING:
        (path,) = importlib.import_module(f"ringwright.{package}").__path__
        yield from sorted(f"ringwright.{package}.{file.stem}" for file in Path(path).glob("[!_]*.py"))


def _cited(number: Cited) -> tuple[str, str]:
    return code(number.source), number.where


PAGES: Mapping[str, Callable[[], list[str]]] = MappingProxyType(
    {
        "commands.md": commands_page,
        "mill-keys.md": mill_page,
        "quantities.md": quantities_page,
        "constants.md": constants_page,
        "position-keys.md": position_page,
    }
)
"""The pages, each by the name of its file."""


@click.command()
@click.argument("folder", default="docs/reference")
@click.option("--check", is_flag=True, help="Write nothing; fail if a page is not what the code says.")
def main(folder: str, *, check: bool) -> None:
    """Write the reference pages into FOLDER."""
    stale = []
    for name, page in PAGES.items():
        path, lines = Path(folder) / name, page()
        title, *rest = lines
        text = "\n".join([title, "", f"This page is made from the code by `{MADE_BY}`.", *rest]).rstrip() + "\n"
        if not check:
            path.write_text(text, encoding="utf-8")
        elif not path.is_file() or path.read_text(encoding="utf-8") != text:
            stale.append(path.as_posix())
    for told in stale:
        click.echo(f"{told} is not what the code says. Make it anew: {MADE_BY}", err=True)
    sys.exit(1 if stale else 0)


if __name__ == "__main__":
    main()
