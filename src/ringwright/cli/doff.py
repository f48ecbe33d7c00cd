"""``ringwright doff``: the whole doff of a frame and yarn."""

from __future__ import annotations

import shutil

import click
import orjson

from ringwright.cli.trial_options import fit_option
from ringwright.report.doff_figures import doff_figures
from ringwright.report.doff_rows import doff_csv, doff_json
from ringwright.report.doff_text import doff_text
from ringwright.report.folder import write_files
from ringwright.report.typesetting import png
from ringwright.verbs import app, fits, reporting

__all__ = ["doff"]


@click.command()
@click.argument("mill")
@click.option("--frame", required=True, help="Name of the frame, as F1.")
@click.option("--yarn", required=True, help="Name of the yarn, as AV30K.")
@click.option("--guide-fixed", is_flag=True, help="Hold the guide rail still at its height at the start of the doff.")
@click.option("--no-control-ring", is_flag=True, help="Take the balloon control ring away.")
@click.option("--traveller", help='Try another traveller, as "40 mg".')
@click.option("--speed", help='Try another main speed, as "17000 rpm"; the course keeps its shape.')
@click.option("--ring-friction", type=float, help="Try another friction of the traveller on the ring, as 0.12.")
@fit_option
@click.option("--json", "as_json", is_flag=True, help="Print totals, strokes and places as JSON.")
@click.option("--csv", "as_csv", is_flag=True, help="Print the places as CSV.")
@click.option("--out", help="Write the report (PDF), the figures (SVG and PNG), the CSV and the JSON into this folder.")
def doff(
    mill: str, frame: str, yarn: str, *, fit: str | None, as_json: bool, as_csv: bool, out: str | None, **tried: object
) -> None:
    """Solve a doff of MILL (a folder, a file, or the word demo) from empty tube to full cop.

    Prints a summary: tension at triangle, guide, ring and winding point, balloon height, lag, missing twist, content
    and time, and what the guide's travel and the control ring do.
    """
    trial = app.trial(**tried)  # type: ignore[arg-type]  # click's options
    opened = fits.open_for(mill, (frame, yarn), fit)
    shown, limit = app.compare_doffs(opened.mill, frame, yarn, trial)
    whole = shown.as_chosen
    if as_json:
        click.echo(orjson.dumps(doff_json(whole) | opened.values))
    elif as_csv:
        click.echo(doff_csv(whole), nl=False)
    else:
        told = doff_text(shown, limit, shutil.get_terminal_size((80, 24)).columns)
        click.echo("\n\n".join(filter(None, (told, opened.words))))
    if out is not None:
        from ringwright.report.sheets.sheet_pdf import sheet_pdf  # noqa: PLC0415 - the typesetter loads slowly

        stem = f"{frame}-{yarn}-doff"
        figures = doff_figures(shown, limit)
        files = {f"{stem}-{name}.svg": figure.encode() for name, figure in figures.items()}
        files |= {f"{stem}-{name}.png": png(figure) for name, figure in figures.items()}
        files[f"{stem}.csv"] = doff_csv(whole).encode()
        files[f"{stem}.json"] = orjson.dumps(doff_json(whole) | opened.values)
        files[f"{stem}.pdf"] = sheet_pdf(reporting.doff_sheet(opened.mill, frame, yarn, trial))
        paths = write_files(out, files)
        click.echo(f"Wrote {len(paths)} files into {out}.", err=True)
