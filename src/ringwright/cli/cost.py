"""``ringwright cost``: what a kilogram costs, and the speed that pays best."""

from __future__ import annotations

import click

from ringwright.cli.trial_options import counts_options, fit_option, place_options, trial_options
from ringwright.report.economy_charts import cost_chart
from ringwright.report.economy_text import cost_text
from ringwright.report.folder import write_files
from ringwright.verbs import app, costing, fits

__all__ = ["cost"]


@click.command()
@place_options
@trial_options
@fit_option
@counts_options
@click.option("--rate", type=float, help="End breaks per 1000 spindle hours of the setting as it is, from your counts.")
@click.option("--out", help="Write the figure (SVG) into this folder.")
def cost(
    mill: str, frame: str, yarn: str, *, fit: str | None, counts: str | None, records: str | None, rate: float | None,
    out: str | None, **tried: object,
) -> None:  # fmt: skip
    """Reckon the cost of a kilogram by part, and the speed where one more turn costs what it earns.

    MILL is a folder, a file, or the word demo. Prices stand in [mill.money]; what is assumed there is named.
    """
    opened, names = fits.open_for(mill, (frame, yarn), fit), (frame, yarn)
    known = costing.counted(opened.mill, names, counts, records)
    found = costing.cost(opened.mill, names, app.trial(**tried), rate, known)  # type: ignore[arg-type]  # click's
    click.echo("\n\n".join(filter(None, (cost_text(found), opened.words))))
    if out:
        write_files(out, {f"{frame}-{yarn}-cost.svg": cost_chart(found.found, found.mill.money.currency).encode()})
        click.echo(f"Wrote the figure into {out}.", err=True)
