"""``ringwright breaks``: how end breaks answer to a change of setting."""

from __future__ import annotations

import click

from ringwright.cli.trial_options import place_options, told, trial_options
from ringwright.report.economy_text import breaks_text
from ringwright.verbs import app, costing

__all__ = ["breaks"]


@click.command()
@place_options
@trial_options
@click.option("--counts", help="CSV of counted breaks: breaks, spindle hours, and where they differ speed, traveller.")
def breaks(mill: str, frame: str, yarn: str, *, counts: str | None, **tried: object) -> None:
    """Compare the end breaks of what is tried with those of the setting.

    MILL is a folder, a file, or the word demo. The model gives a ratio; counts of the mill make rates of it.
    """
    doff, study = costing.breaks(mill, (frame, yarn), app.trial(**tried), counts)  # type: ignore[arg-type]  # click's
    click.echo(breaks_text(doff.choice, study, told(tried)))
