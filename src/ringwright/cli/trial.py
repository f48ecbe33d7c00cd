"""``ringwright trial``: plan a trial of one setting against another, and judge it."""

from __future__ import annotations

import click

from ringwright.refusal import Fault, Refusal
from ringwright.report.study_text import answer_text, plan_of_trial_text
from ringwright.units import parse
from ringwright.verbs import studying

__all__ = ["trial"]


@click.group()
def trial() -> None:
    """Plan a trial of one setting against another, or judge one, by shift."""


@trial.command("plan")
@click.argument("records", required=False)
@click.option("--mill", default="demo", show_default=True, help="The mill: a folder or file, or the word demo.")
@click.option("--change", default="-20 %", show_default=True, help='Change of the break rate to be seen, as "-20 %".')
@click.option("--power", default="80 %", show_default=True, help="Chance to see the change if it is there.")
@click.option("--level", default="5 %", show_default=True, help="Chance to call a change likely where there is none.")
@click.option("--breaks", type=float, help="In place of RECORDS: breaks of one frame in one shift.")
@click.option("--shift-spread", help='In place of RECORDS: scatter from shift to shift, shared by frames, as "15 %".')
@click.option("--frame-spread", help='In place of RECORDS: scatter of one frame alone from shift to shift, as "5 %".')
def plan(
    records: str | None, mill: str, change: str, power: str, level: str, breaks: float | None,
    shift_spread: str | None, frame_spread: str | None,
) -> None:  # fmt: skip
    """Say how many shifts a trial needs, from the mill's own scatter.

    RECORDS is a store or the word demo; or state --breaks, --shift-spread and --frame-spread yourself.
    """
    stated = (breaks, shift_spread, frame_spread)
    if records is None and (breaks is None or shift_spread is None or frame_spread is None):
        raise click.UsageError(
            "Give RECORDS (a store, or demo), or all of --breaks, --shift-spread and --frame-spread."
        )
    if records is not None and any(value is not None for value in stated):
        raise click.UsageError("Give RECORDS or state the scatter, not both.")
    if records is None:
        spread = studying.stated_spread(
            _share(shift_spread, "--shift-spread"), _share(frame_spread, "--frame-spread"), breaks or 0.0
        )
    else:
        spread = studying.spread_of(studying.Asked(records=records, mill=mill))
    ratio = 1 + parse(change, "share", "--change")
    planned = studying.plan_trial(ratio, spread, _share(power, "--power"), _share(level, "--level"))
    click.echo(plan_of_trial_text(planned))


@trial.command("judge")
@click.argument("file")
@click.option("--records", help="Count the breaks from these records (a store, or the word demo); FILE says what ran.")
@click.option("--mill", default="demo", show_default=True, help="With --records: the mill, a folder or file, or demo.")
@click.option("--old", help="Name of the setting to hold the other against; the first in the file unless named.")
@click.option("--change", default="-20 %", show_default=True, help='Change that would matter, as "-20 %".')
def judge(file: str, records: str | None, mill: str, old: str | None, change: str) -> None:
    """Judge the trial in FILE, a CSV table: shift, frame, setting, breaks, spindle_hours.

    With --records FILE has the columns frame, setting, from, to (by the mill's clock), and the whole shifts in between
    are counted from the records.
    """
    ratio = 1 + parse(change, "share", "--change")
    if ratio <= 0 or abs(ratio - 1) < 0.01:
        raise Refusal(Fault(where="--change", got=f'"{change}"', wants="more than 1 %, up or down, and above -100 %"))
    asked = studying.Asked(records=records, mill=mill) if records else None
    click.echo(answer_text(studying.judge_trial(file, old, ratio, asked), more=True))


def _share(given: str | None, where: str) -> float:
    """Read a share that cannot be negative."""
    value = parse(given, "share", where)
    if not 0 <= value < 5:
        raise Refusal(Fault(where=where, got=f'"{given}"', wants="a share from 0 % to 500 %"))
    return value
