"""``ringwright spread``: how sure the results are, and which input to measure first."""

from __future__ import annotations

import click

from ringwright.cli.stopping import progress_line, until_stopped
from ringwright.cli.trial_options import fit_option, place_options, trial_options
from ringwright.report.folder import write_files
from ringwright.report.spread_text import ranking_chart, spread_text
from ringwright.verbs import app, costing, fits

__all__ = ["spread"]


@click.command()
@place_options
@trial_options
@fit_option
@click.option("--doffs", default=4000, show_default=True, help="About how many doffs to draw and solve.")
@click.option("--out", help="Write the figure (SVG) into this folder.")
def spread(mill: str, frame: str, yarn: str, *, fit: str | None, doffs: int, out: str | None, **tried: object) -> None:
    """Carry the spread of the inputs through thousands of doffs: intervals, and which input matters most.

    MILL is a folder, a file, or the word demo. Spreads stand in the mill's file; for frictions and drag that nobody
    has measured they are assumed, and said to be.
    """
    opened, trial = fits.open_for(mill, (frame, yarn), fit), app.trial(**tried)  # type: ignore[arg-type]  # click's
    with until_stopped() as stopped, progress_line() as tell:
        study = costing.spread(opened, (frame, yarn), trial, doffs, (tell, stopped))
    click.echo("\n\n".join(filter(None, (spread_text(study), opened.words))))
    if out:
        write_files(out, {f"{frame}-{yarn}-ranking.svg": ranking_chart(study).encode()})
        click.echo(f"Wrote the figure into {out}.", err=True)
