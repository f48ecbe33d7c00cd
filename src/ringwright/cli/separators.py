"""``ringwright separators``: room beside the plates, what a missing one costs, and when the records would name it."""

from __future__ import annotations

import click
import orjson

from ringwright.cli.trial_options import place_options
from ringwright.cli.units_option import units_option
from ringwright.report.folder import write_files
from ringwright.report.sheets.sheet_text import sheet_text
from ringwright.report.sheets.sheet_values import sheet_values
from ringwright.verbs import separating

__all__ = ["separators"]


@click.command()
@place_options
@click.option("--missing", default="", help='The spindle before a missing plate, or several, as "215" or "215,340".')
@click.option("--bent", default="", help="The spindle before a bent plate, or several.")
@click.option("--rate", default="", help="Own breaks per 1000 spindle hours, in place of the mill's.")
@click.option("--strike", default="", help='Share of breaks that strike over the plate asked for, as "40 %".')
@click.option("--seed", type=click.IntRange(0, 2**32 - 1), default=1, show_default=True,
              help="The same seed gives the same runs.")  # fmt: skip
@units_option
@click.option("--json", "as_json", is_flag=True, help="Print the sheet as JSON.")
@click.option("--out", help="Write the sheet (PDF, HTML) and its figures (SVG) into this folder.")
def separators(mill: str, frame: str, yarn: str, *, as_json: bool, out: str | None, **asked: object) -> None:
    """Tell the room between balloon and plate, what a missing plate costs, and when the records would name it.

    MILL is a folder, a file, or the word demo. Breaks of the frame are drawn by chance with the plate missing and asked
    of the study of the floor records. Without --missing or --bent one plate is taken out in the middle of side 1.
    """
    sheet = separating.separators(mill, (frame, yarn), separating.AskedSeparators(**asked))  # type: ignore[arg-type]
    click.echo(orjson.dumps(sheet_values(sheet), option=orjson.OPT_INDENT_2) if as_json else sheet_text(sheet))
    if out:
        from ringwright.report.sheets.sheet_html import sheet_html  # noqa: PLC0415 - the typesetter loads slowly
        from ringwright.report.sheets.sheet_pdf import sheet_pdf  # noqa: PLC0415

        stem = f"{frame}-{yarn}-separators"
        files = {f"{stem}.pdf": sheet_pdf(sheet), f"{stem}.html": sheet_html(sheet).encode()}
        files |= {f"{stem}-{k + 1}.svg": one.svg.encode() for k, one in enumerate(sheet.pictures)}
        click.echo(f"Wrote {len(write_files(out, files))} files into {out}.", err=True)
