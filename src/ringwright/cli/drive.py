"""``ringwright drive``: speed and twist of every spindle, slip margin, wharves, and readings of a stroboscope."""

from __future__ import annotations

import click
import orjson

from ringwright.cli.trial_options import place_options
from ringwright.cli.units_option import units_option
from ringwright.report.folder import write_files
from ringwright.report.sheets.sheet_text import sheet_text
from ringwright.report.sheets.sheet_values import sheet_values
from ringwright.verbs import driving

__all__ = ["drive"]


@click.command()
@place_options
@click.option("--wharve", default="", help='Try another wharve, as "20 mm"; the spindle speed is held.')
@click.option("--readings", default="", help="Hold a CSV file of spindle speeds to the model, or the word demo.")
@click.option("--rounds", default="", help="Judge the last round of this frame that this store keeps.")
@click.option("--against", default="", help="Compare with another frame that spins the same yarn, as F4.")
@click.option("--keep", default="", help="Keep the round of readings in this store of records.")
@click.option("--by", default="", help="With --keep: who read the speeds.")
@click.option("--when", default="", help='With --keep: when, as "2026-04-01"; else the last moment in the file.')
@units_option
@click.option("--json", "as_json", is_flag=True, help="Print the sheet as JSON.")
@click.option("--out", help="Write the sheet (PDF, HTML) and its figures (SVG) into this folder.")
def drive(mill: str, frame: str, yarn: str, *, as_json: bool, out: str | None, **asked: str) -> None:
    """Tell how belt, tapes or motors drive the spindles: speed and twist along the frame, slip margin, losses.

    MILL is a folder, a file, or the word demo. With --readings, slow spindles and their tape or belt are named, few of
    them by chance. The CSV has the columns spindle, speed (rpm), and if wanted frame and moment.
    """
    sheet, kept = driving.drive(mill, (frame, yarn), driving.AskedDrive(**asked))
    click.echo(orjson.dumps(sheet_values(sheet), option=orjson.OPT_INDENT_2) if as_json else sheet_text(sheet))
    if kept:
        click.echo(kept, err=True)
    if out:
        from ringwright.report.sheets.sheet_html import sheet_html  # noqa: PLC0415 - the typesetter loads slowly
        from ringwright.report.sheets.sheet_pdf import sheet_pdf  # noqa: PLC0415

        stem = f"{frame}-{yarn}-drive"
        files = {f"{stem}.pdf": sheet_pdf(sheet), f"{stem}.html": sheet_html(sheet).encode()}
        files |= {f"{stem}-{k + 1}.svg": one.svg.encode() for k, one in enumerate(sheet.pictures)}
        click.echo(f"Wrote {len(write_files(out, files))} files into {out}.", err=True)
