"""``ringwright cost``: what a kilogram costs, and the speed that pays best."""

from __future__ import annotations

import click

from ringwright.cli.answering import answer, answer_options
from ringwright.cli.trial_options import counts_options, fit_option, place_options, trial_options
from ringwright.verbs import app, fits, paying

__all__ = ["cost"]


@click.command()
@place_options
@trial_options
@fit_option
@counts_options
@click.option("--rate", type=float, help="End breaks per 1000 spindle hours of the setting as it is, from your counts.")
@answer_options
def cost(
    mill: str, frame: str, yarn: str, *, fit: str | None, counts: str | None, records: str | None, rate: float | None,
    as_json: bool, out: str | None, **tried: object,
) -> None:  # fmt: skip
    """Reckon the cost of a kilogram by part, and the speed where one more turn costs what it earns.

    MILL is a folder, a file, or the word demo. Prices stand in [mill.money]; what is assumed there is named.
    """
    names = (frame, yarn)
    trial = app.trial(**tried)  # type: ignore[arg-type]  # click's options
    found = paying.cost(fits.open_for(mill, names, fit), names, trial, rate, paying.Counts(counts, records))
    answer(found, f"{frame}-{yarn}-cost", as_json=as_json, out=out)
