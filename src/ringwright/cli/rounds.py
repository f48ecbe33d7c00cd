"""``ringwright rounds``: the rounds of readings that a store keeps, and one taken back that was kept by mistake."""

from __future__ import annotations

import click
import orjson

from ringwright.report.sheets.sheet_text import sheet_text
from ringwright.report.sheets.sheet_values import sheet_values
from ringwright.verbs import rounds as verbs

__all__ = ["rounds"]


@click.command()
@click.argument("store")
@click.option("--mill", default="demo", show_default=True, help="The mill: a folder or file, or the word demo.")
@click.option("--frame", default="", help="Rounds of this frame only.")
@click.option("--kind", default="", help="Rounds of this kind only, as centring.")
@click.option("--take-back", metavar="NUMBER", help="Take back this round, kept by mistake; needs --note and --by.")
@click.option("--note", default="", help="With --take-back: why.")
@click.option("--by", default="", help="With --take-back: who takes it back.")
@click.option("--json", "as_json", is_flag=True, help="Print the list as JSON.")
def rounds(
    store: str, mill: str, frame: str, kind: str, *, take_back: str | None, note: str, by: str, as_json: bool
) -> None:
    """List the rounds of readings in STORE (or the word demo): what was read, how it drifts, when the next is due.

    A round that was taken back stays in the store, marked, and counts for nothing; its readings may be kept again.
    """
    if take_back is None and (note or by):
        raise click.UsageError("--note and --by go with --take-back.")
    if take_back is not None:
        click.echo(verbs.take_back_round(mill, store, verbs.TakingBack(number=take_back, note=note, by=by)))
        return
    sheet = verbs.list_rounds(mill, store, frame, kind)
    click.echo(orjson.dumps(sheet_values(sheet), option=orjson.OPT_INDENT_2) if as_json else sheet_text(sheet))
