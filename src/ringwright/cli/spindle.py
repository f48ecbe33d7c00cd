"""``ringwright spindle``: critical speeds, sweep, bearing loads, oil and spring of a spindle."""

from __future__ import annotations

import click
import orjson

from ringwright.cli.trial_options import place_options
from ringwright.cli.units_option import units_option
from ringwright.report.folder import write_files
from ringwright.report.sheets.sheet_text import sheet_text
from ringwright.report.sheets.sheet_values import sheet_values
from ringwright.verbs import whirling

__all__ = ["spindle"]


@click.command()
@place_options
@click.option("--oil", default="", help='Try another oil, by its viscosity at 40 degrees or its grade: "VG 22".')
@click.option("--oil-temperature", default="", help="Try another temperature of the oil, in degrees Celsius, as 65.")
@click.option("--foot-spring", default="", help='Try another spring at the foot step, as "60 N/mm".')
@click.option("--neck", default="", help='Try another stiffness of the neck bearing, as "500 N/mm".')
@click.option("--gap", default="", help='Try another gap of the oil film, as "0.2 mm".')
@click.option("--runout", default="", help='Try another run-out of the tube at its tip, as "0.2 mm".')
@click.option("--speed", default="", help='Try another main speed, as "17000 rpm"; the course keeps its shape.')
@units_option
@click.option("--json", "as_json", is_flag=True, help="Print the sheet as JSON.")
@click.option("--out", help="Write the sheet (PDF, HTML) and its figures (SVG) into this folder.")
def spindle(mill: str, frame: str, yarn: str, *, as_json: bool, out: str | None, **asked: str) -> None:
    """Tell how a spindle runs from empty tube to full cop: critical speeds, sweep of the tip, loads, oil and spring.

    MILL is a folder, a file, or the word demo.
    """
    sheet = whirling.spindle(mill, (frame, yarn), whirling.AskedSpindle(**asked))
    click.echo(orjson.dumps(sheet_values(sheet), option=orjson.OPT_INDENT_2) if as_json else sheet_text(sheet))
    if out:
        from ringwright.report.sheets.sheet_html import sheet_html  # noqa: PLC0415 - the typesetter loads slowly
        from ringwright.report.sheets.sheet_pdf import sheet_pdf  # noqa: PLC0415

        stem = f"{frame}-{yarn}-spindle"
        files = {f"{stem}.pdf": sheet_pdf(sheet), f"{stem}.html": sheet_html(sheet).encode()}
        files |= {f"{stem}-{k + 1}.svg": one.svg.encode() for k, one in enumerate(sheet.pictures)}
        click.echo(f"Wrote {len(write_files(out, files))} files into {out}.", err=True)
