"""``ringwright spread``: how sure the results are, and which input to measure first."""

from __future__ import annotations

import click

from ringwright.cli.answering import answer, answer_options
from ringwright.cli.stopping import progress_line, until_stopped
from ringwright.cli.trial_options import fit_option, place_options, trial_options
from ringwright.verbs import app, fits, paying

__all__ = ["spread"]


@click.command()
@place_options
@trial_options
@fit_option
@click.option("--doffs", default=4000, show_default=True, help="About how many doffs to draw and solve.")
@answer_options
def spread(
    mill: str, frame: str, yarn: str, *, fit: str | None, doffs: int, as_json: bool, out: str | None, **tried: object
) -> None:
    """Carry the spread of the inputs through thousands of doffs: intervals, and which input matters most.

    MILL is a folder, a file, or the word demo. Spreads stand in the mill's file; for frictions and drag that nobody
    has measured they are assumed, and said to be.
    """
    names, trial = (frame, yarn), app.trial(**tried)  # type: ignore[arg-type]  # click's options
    opened = fits.open_for(mill, names, fit)
    with until_stopped() as stopped, progress_line() as tell:
        found = paying.spread(opened, names, trial, doffs, (tell, stopped))
    answer(found, f"{frame}-{yarn}-spread", as_json=as_json, out=out)
