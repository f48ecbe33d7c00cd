"""``ringwright calibrate``: fit friction and drag to tension readings."""

from __future__ import annotations

from datetime import UTC, datetime

import click

from ringwright.cli.answering import answer, answer_options
from ringwright.verbs import paying
from ringwright.verbs.app import DEMO

__all__ = ["calibrate"]


@click.command()
@click.argument("mill")
@click.argument("readings")
@click.option("--frame", required=True, help="Name of the frame, as F1.")
@click.option("--yarn", required=True, help="Name of the yarn, as AV30K.")
@click.option(
    "--hold", multiple=True, help='Do not fit this one: "ring friction", "yarn friction" or "drag"; repeatable.'
)
@click.option("--date", help="Date of the readings, as 2026-03-14; today if left out.")
@click.option("--replace", is_flag=True, help="Write over an earlier fit of the same date.")
@click.option("--no-keep", is_flag=True, help="Print the fit and keep nothing.")
@answer_options
def calibrate(
    mill: str,
    readings: str,
    frame: str,
    yarn: str,
    *,
    hold: tuple[str, ...],
    date: str | None,
    replace: bool,
    no_keep: bool,
    as_json: bool,
    out: str | None,
) -> None:
    """Fit ring friction, yarn friction and drag to tension READINGS (CSV, or the word demo) of a frame of MILL.

    Columns: minute (or share), stroke (foot, top, or a share of the way up), tension, and where it was not so: at
    (guide or triangle), traveller, speed. Mind the moving spindles, travellers and belts while reading: keep the guards
    on, and let trained people read.
    """
    day = _day(date)
    names, kept = (frame, yarn), None if no_keep else day
    found, file = paying.calibrate(mill, names, readings, hold, date=kept, replace=replace)
    answer(found, f"{frame}-{yarn}-fit", as_json=as_json, out=out)
    if file is not None:
        click.echo(f"Kept in {file}.", err=True)
    elif mill == DEMO and not no_keep:
        click.echo("The demo mill keeps no fits; copy it into a folder of your own for that.", err=True)


def _day(date: str | None) -> str:
    if date is None:
        return datetime.now(UTC).astimezone().date().isoformat()
    try:
        return datetime.strptime(date, "%Y-%m-%d").replace(tzinfo=UTC).date().isoformat()
    except ValueError:
        raise click.UsageError(f'--date is "{date}"; it must be a date, as 2026-03-14.') from None
