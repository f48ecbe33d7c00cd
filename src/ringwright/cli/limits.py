"""``ringwright limits``: the room of a setting to every limit, with who says where each limit lies."""

from __future__ import annotations

import click
import orjson

from ringwright.cli.trial_options import fit_option, place_options, trial_options
from ringwright.report.limits_text import limits_text, limits_values
from ringwright.verbs import app, fits

__all__ = ["limits"]


@click.command()
@place_options
@trial_options
@fit_option
@click.option("--json", "as_json", is_flag=True, help="Print the rooms as JSON, in SI units.")
def limits(mill: str, frame: str, yarn: str, *, fit: str | None, as_json: bool, **tried: object) -> None:
    """Hold a setting against every limit: what binds, where in the doff, by how much, and who says so.

    MILL is a folder, a file, or the word demo. There is no single verdict: each limit has its room in its own unit, its
    source and its owner.
    """
    opened = fits.open_for(mill, (frame, yarn), fit)
    judged = app.judged(opened.mill, frame, yarn, app.trial(**tried))  # type: ignore[arg-type]  # click's options
    if as_json:
        click.echo(orjson.dumps(limits_values(judged) | opened.values, option=orjson.OPT_INDENT_2))
    else:
        click.echo(limits_text(judged, opened.words))
