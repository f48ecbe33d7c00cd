"""How the commands of what pays show an answer: on the terminal, as JSON, and as files in a folder."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click
import orjson

from ringwright.report.folder import write_files
from ringwright.report.sheets.sheet_text import sheet_text
from ringwright.units import NARROW_SPACE
from ringwright.verbs.paying import Paid

__all__ = ["answer", "answer_options"]

Command = Callable[..., Any]


def answer_options(command: Command) -> Command:
    """Add the options that say how an answer is shown."""
    words = "Write the sheet (PDF, HTML), its figures (SVG, PNG) and the JSON into this folder."
    command = click.option("--out", help=words)(command)
    return click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")(command)


def answer(paid: Paid, stem: str, *, as_json: bool, out: str | None) -> None:
    """Print an answer, and write its files under names that begin with a stem where a folder is given."""
    sheet = paid.sheet()
    if as_json:
        click.echo(orjson.dumps(paid.values(), option=orjson.OPT_INDENT_2))
    else:
        click.echo(sheet_text(sheet).replace(NARROW_SPACE, " "))
    if out:
        from ringwright.report.sheets.sheet_files import sheet_files  # noqa: PLC0415 - the typesetter loads slowly

        files = sheet_files(sheet, stem, paid.values())
        click.echo(f"Wrote {len(write_files(out, files))} files into {out}.", err=True)
