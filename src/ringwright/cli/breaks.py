"""``ringwright breaks``: how end breaks answer to a change of setting."""

from __future__ import annotations

import click

from ringwright.cli.trial_options import counts_options, fit_option, place_options, told, trial_options
from ringwright.report.economy_text import breaks_text
from ringwright.verbs import app, costing, fits

__all__ = ["breaks"]


@click.command()
@place_options
@trial_options
@fit_option
@counts_options
def breaks(
    mill: str, frame: str, yarn: str, *, fit: str | None, counts: str | None, records: str | None, **tried: object
) -> None:
    """Compare the end breaks of what is tried with those of the setting.

    MILL is a folder, a file, or the word demo. The model gives a ratio; counts of the mill make rates of it.
    """
    opened = fits.open_for(mill, (frame, yarn), fit)
    trial = app.trial(**tried)  # type: ignore[arg-type]  # click's
    doff, study = costing.breaks(opened.mill, (frame, yarn), trial, counts, records)
    click.echo("\n\n".join(filter(None, (breaks_text(doff.choice, study, told(tried)), opened.words))))
