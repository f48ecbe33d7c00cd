"""``ringwright improve``: better parts and speeds for a setting."""

from __future__ import annotations

import sys

import click
import orjson

from ringwright.report.folder import write_files
from ringwright.report.front_chart import front_chart
from ringwright.report.improve_text import front_figures, improve_text
from ringwright.report.improve_values import improve_values
from ringwright.report.typesetting import png
from ringwright.verbs import app

__all__ = ["improve"]


@click.command()
@click.argument("mill")
@click.option("--frame", required=True, help="Name of the frame, as F1.")
@click.option("--yarn", required=True, help="Name of the yarn, as AV30K.")
@click.option(
    "--for", "aim", default="production", show_default=True, help="What to seek: production, cost, or tension (least)."
)
@click.option("--production", help='With --for tension: what one spindle must make, as "22 g/h".')
@click.option("--keep", multiple=True, help="Keep a part as it is, as guide-height or traveller; may be repeated.")
@click.option("--limit", "limits", multiple=True, help='Try another limit, as "traveller_heat=10 W"; may be repeated.')
@click.option("--candidates", type=int, help="Candidates after which the search ends in any case.")
@click.option("--ring-friction", type=float, help="Try another friction of the traveller on the ring, as 0.12.")
@click.option("--json", "as_json", is_flag=True, help="Print the study as JSON, in SI units.")
@click.option("--out", help="Write the figures (SVG and PNG) and the JSON into this folder.")
def improve(mill: str, frame: str, yarn: str, *, as_json: bool, out: str | None, **asked: object) -> None:
    """Seek better parts and speeds for a frame and yarn of MILL: a folder, a file, or the word demo.

    Searches traveller, control ring and guide within their reach. Prints what to change first and what it is worth,
    the trade-off of production against tension and heat, and which limit would pay most to relax. Ctrl-C ends the
    search with the best so far.
    """
    study = app.improve(mill, frame, yarn, tell=_told if sys.stderr.isatty() else None, **asked)  # type: ignore[arg-type]
    if sys.stderr.isatty():
        click.echo("\r\033[K", err=True, nl=False)
    values = improve_values(study)
    click.echo(orjson.dumps(values, option=orjson.OPT_INDENT_2) if as_json else improve_text(study))
    if out:
        stem = f"{frame}-{yarn}-improve"
        files = {f"{stem}.json": orjson.dumps(values)}
        for name, shown in front_figures(study).items():
            figure = front_chart(shown)
            files |= {f"{stem}-{name}.svg": figure.encode(), f"{stem}-{name}.png": png(figure)}
        click.echo(f"Wrote {len(write_files(out, files))} files into {out}.", err=True)


def _told(tried: int, keeping: int) -> None:
    """Tell the progress on one line of a terminal."""
    words = f"{tried} candidates tried, {keeping} keep every limit; Ctrl-C ends with the best so far"
    click.echo(f"\r\033[K{words}", err=True, nl=False)
