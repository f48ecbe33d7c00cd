"""``ringwright worklist``: what the shift should do first, ticked off and held to what follows."""

from __future__ import annotations

import click
import orjson

from ringwright.report.folder import write_files
from ringwright.verbs import studying, tasking

__all__ = ["worklist"]


@click.command()
@click.argument("records")
@click.option("--mill", default="demo", show_default=True, help="The mill: a folder or file, or the word demo.")
@click.option("--frame", "frames", multiple=True, help="Look at this frame only; may be repeated.")
@click.option("--stamped", type=click.Choice(["break", "patrol"]), default="break", show_default=True,
              help="Whether a break's time is its own or that of the patrol which found it.")  # fmt: skip
@click.option("--tick", "key", metavar="KEY", help="Note that the task with this key was done; needs --note and --by.")
@click.option("--untick", metavar="KEY", help="Take the last tick of this task back; needs --note and --by.")
@click.option("--history", is_flag=True, help="List every tick, those taken back too.")
@click.option("--note", default="", help="With --tick: what was found and done. With --untick: why.")
@click.option("--by", default="", help="With --tick or --untick: who did it.")
@click.option("--when", default="", help='With --tick: when, with its zone, as "2026-04-01 06:40+02:00"; else now.')
@click.option("--json", "as_json", is_flag=True, help="Print the list as one JSON object.")
@click.option("--out", help="Write the list to print (worklist.pdf, worklist.html) into this folder.")
def worklist(
    records: str, mill: str, frames: tuple[str, ...], stamped: str, key: str | None, untick: str | None, note: str,
    by: str, when: str, *, history: bool, as_json: bool, out: str | None,
) -> None:  # fmt: skip
    """List what the shift should do first, from the records in RECORDS (a store, or the word demo) and the settings.

    Worst effect first, each frame walked once. A ticked task stays in the store; the next list says whether it helped.
    """
    if sum((key is not None, untick is not None, history)) > 1:
        raise click.UsageError("--tick, --untick and --history each go alone.")
    if (key is None and when) or (key is None and untick is None and (note or by)):
        raise click.UsageError("--note and --by go with --tick or --untick, --when with --tick.")
    asked = studying.Asked(records=records, mill=mill, frames=frames, at_patrol=stamped == "patrol")
    if key is not None:
        done = tasking.tick(asked, tasking.Ticking(key=key, note=note, by=by, when=when))
        click.echo(f"Ticked {done.key}: {done.what}. The next list says whether it helped.")
        return
    if untick is not None:
        back = tasking.untick(asked, tasking.Unticking(key=untick, note=note, by=by))
        click.echo(f"Took the tick of {back.key} back: {back.what}. The tick stays in the ledger, marked.")
        return
    if history:
        from ringwright.report.worklist_text import history_text  # noqa: PLC0415

        click.echo(history_text(tasking.history(asked)))
        return
    from ringwright.report.worklist_sheet import list_html, list_pdf  # noqa: PLC0415 - the typesetter loads slowly
    from ringwright.report.worklist_text import list_text  # noqa: PLC0415
    from ringwright.report.worklist_view import list_values  # noqa: PLC0415

    shown = tasking.to_show(tasking.work_list(asked), asked)
    click.echo(orjson.dumps(list_values(shown), option=orjson.OPT_INDENT_2) if as_json else list_text(shown))
    if out:
        files = {"worklist.pdf": list_pdf(shown), "worklist.html": list_html(shown).encode()}
        click.echo(f"Wrote {len(write_files(out, files))} files into {out}.", err=True)
