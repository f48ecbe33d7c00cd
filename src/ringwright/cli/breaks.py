"""``ringwright breaks``: how end breaks answer to a change of setting."""

from __future__ import annotations

import click

from ringwright.cli.answering import answer, answer_options
from ringwright.cli.trial_options import counts_options, fit_option, place_options, trial_options
from ringwright.verbs import app, fits, paying

__all__ = ["breaks"]


@click.command()
@place_options
@trial_options
@fit_option
@counts_options
@answer_options
def breaks(
    mill: str, frame: str, yarn: str, *, fit: str | None, counts: str | None, records: str | None, as_json: bool,
    out: str | None, **tried: object,
) -> None:  # fmt: skip
    """Compare the end breaks of what is tried with those of the setting.

    MILL is a folder, a file, or the word demo. The model gives a ratio; counts of the mill make rates of it.
    """
    names = (frame, yarn)
    trial = app.trial(**tried)  # type: ignore[arg-type]  # click's options
    found = paying.breaks(fits.open_for(mill, names, fit), names, trial, paying.Counts(counts, records))
    answer(found, f"{frame}-{yarn}-breaks", as_json=as_json, out=out)
