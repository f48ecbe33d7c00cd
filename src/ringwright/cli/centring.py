"""``ringwright centring``: a round of centring judged, kept, and held against the rounds before it."""

from __future__ import annotations

import click
import orjson

from ringwright.cli.units_option import units_option
from ringwright.report.folder import write_files
from ringwright.report.sheets.sheet_text import sheet_text
from ringwright.report.sheets.sheet_values import sheet_values
from ringwright.verbs import centring as verbs

__all__ = ["centring"]


@click.command()
@click.argument("mill")
@click.option("--frame", required=True, help="Name of the frame, as F3.")
@click.option("--yarn", default="", help="Name of the yarn; the frame's first setting unless named.")
@click.option("--readings", default="", help="CSV file of the round: spindle, part, and dx, dy or another way to read.")
@click.option("--keep", default="", help="Keep the round in this store, made if it is not there; needs --by.")
@click.option("--rounds", default="", help="Look at the rounds in this store; without --readings its last is judged.")
@click.option("--when", default="", help='When the round was read, as "2026-03-09"; now unless given.')
@click.option("--by", default="", help="With --keep: who read it.")
@click.option("--note", default="", help="With --keep: what should be remembered of it.")
@click.option("--in-time", type=int, help="Run this spindle through time; a few seconds, minutes without C code.")
@units_option
@click.option("--json", "as_json", is_flag=True, help="Print the sheet as JSON, with every row set aside.")
@click.option("--out", help="Write the sheet (PDF, HTML), its figures (SVG) and the rows set aside into this folder.")
def centring(
    mill: str, frame: str, yarn: str, *, in_time: int | None, as_json: bool, out: str | None, **asked: str
) -> None:
    """Judge a round of centring readings: which rail, which spindles, by which vector, in which order.

    MILL is a folder, a file, or the word demo, which has rounds of its own of F1 and F3. Rows that cannot be used are
    set aside and told, each with its reason. With two rounds or more the drift and the next round's day follow.
    """
    answer = verbs.centring(mill, (frame, yarn), verbs.AskedCentring(**asked))  # type: ignore[arg-type]  # click's
    if in_time is not None:
        answer = verbs.with_in_time(answer, in_time)
    aside = answer.found.judged.round.set_aside
    if as_json:
        told = sheet_values(answer.sheet) | {
            "kept": answer.kept,
            "set_aside": [{"line": one.line, "row": one.text, "why": one.reason} for one in aside],
        }
        click.echo(orjson.dumps(told, option=orjson.OPT_INDENT_2))
    else:
        click.echo(sheet_text(answer.sheet))
        if answer.kept:
            click.echo(f"\n{answer.kept}")
    if out:
        from ringwright.report.sheets.sheet_html import sheet_html  # noqa: PLC0415 - the typesetter loads slowly
        from ringwright.report.sheets.sheet_pdf import sheet_pdf  # noqa: PLC0415

        stem = f"{frame}-{answer.found.yarn}-centring"
        files = {f"{stem}.pdf": sheet_pdf(answer.sheet), f"{stem}.html": sheet_html(answer.sheet).encode()}
        files |= {f"{stem}-{k + 1}.svg": one.svg.encode() for k, one in enumerate(answer.sheet.pictures)}
        if aside:
            files[f"{stem}-set-aside.csv"] = verbs.aside_csv(answer).encode()
        click.echo(f"Wrote {len(write_files(out, files))} files into {out}.", err=True)
