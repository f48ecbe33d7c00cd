"""``ringwright rounds``: the rounds of readings that a store keeps, and when the next of centring is due."""

from __future__ import annotations

import click
import orjson

from ringwright.report.sheets.sheet_text import sheet_text
from ringwright.report.sheets.sheet_values import sheet_values
from ringwright.verbs import centring as verbs

__all__ = ["rounds"]


@click.command()
@click.argument("store")
@click.option("--mill", default="demo", show_default=True, help="The mill: a folder or file, or the word demo.")
@click.option("--frame", default="", help="Rounds of this frame only.")
@click.option("--kind", default="", help="Rounds of this kind only, as centring.")
@click.option("--json", "as_json", is_flag=True, help="Print the list as JSON.")
def rounds(store: str, mill: str, frame: str, kind: str, *, as_json: bool) -> None:
    """List the rounds of readings in STORE (or the word demo): what was read, how it drifts, when the next is due."""
    sheet = verbs.list_rounds(mill, store, frame, kind)
    click.echo(orjson.dumps(sheet_values(sheet), option=orjson.OPT_INDENT_2) if as_json else sheet_text(sheet))
