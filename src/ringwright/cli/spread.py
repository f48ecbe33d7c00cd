"""``ringwright spread``: how sure the results are, and which input to measure first."""

from __future__ import annotations

import click

from ringwright.cli.trial_options import place_options, trial_options
from ringwright.report.folder import write_files
from ringwright.report.spread_text import ranking_chart, spread_text
from ringwright.verbs import app, costing

__all__ = ["spread"]


@click.command()
@place_options
@trial_options
@click.option("--doffs", default=4000, show_default=True, help="About how many doffs to draw and solve.")
@click.option("--out", help="Write the figure (SVG) into this folder.")
def spread(mill: str, frame: str, yarn: str, *, doffs: int, out: str | None, **tried: object) -> None:
    """Carry the spread of the inputs through thousands of doffs: intervals, and which input matters most.

    MILL is a folder, a file, or the word demo. Spreads stand in the mill's file; for frictions and drag that nobody
    has measured they are assumed, and said to be.
    """
    study = costing.spread(mill, (frame, yarn), app.trial(**tried), doffs)  # type: ignore[arg-type]  # click's options
    click.echo(spread_text(study))
    if out:
        write_files(out, {f"{frame}-{yarn}-ranking.svg": ranking_chart(study).encode()})
        click.echo(f"Wrote the figure into {out}.", err=True)
