"""``ringwright trial``: plan a trial of one setting against another, and judge it."""

from __future__ import annotations

import click

from ringwright.report.folder import write_files
from ringwright.report.sheets.sheet import Sheet
from ringwright.report.study_text import answer_text, plan_of_trial_text
from ringwright.verbs import trialling
from ringwright.verbs.asked import Asked

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
@click.option("--breaks", help="In place of RECORDS: breaks of one frame in one shift.")
@click.option("--shift-spread", help='In place of RECORDS: scatter from shift to shift, shared by frames, as "15 %".')
@click.option("--frame-spread", help='In place of RECORDS: scatter of one frame alone from shift to shift, as "5 %".')
@click.option("--out", help="Write the plan to print (trial-plan.pdf, trial-plan.html) into this folder.")
def plan(
    records: str | None, mill: str, *, change: str, power: str, level: str, breaks: str | None,
    shift_spread: str | None, frame_spread: str | None, out: str | None,
) -> None:  # fmt: skip
    """Say how many shifts a trial needs, from the mill's own scatter.

    RECORDS is a store or the word demo; or state --breaks, --shift-spread and --frame-spread yourself.
    """
    stated = (breaks, shift_spread, frame_spread)
    if records is None and None in stated:
        raise click.UsageError(
            "Give RECORDS (a store, or demo), or all of --breaks, --shift-spread and --frame-spread."
        )
    if records is not None and any(value is not None for value in stated):
        raise click.UsageError("Give RECORDS or state the scatter, not both.")
    asked = trialling.AskedPlan(
        change=change, power=power, level=level, breaks=breaks or "", common=shift_spread or "",
        own=frame_spread or "", records=None if records is None else Asked(records=records, mill=mill),
    )  # fmt: skip
    click.echo(plan_of_trial_text(trialling.plan_trial(asked)))
    if out:
        _write(out, "trial-plan", trialling.plan_sheet(asked))


@trial.command("judge")
@click.argument("file")
@click.option("--records", help="Count the breaks from these records (a store, or the word demo); FILE says what ran.")
@click.option("--mill", default="demo", show_default=True, help="With --records: the mill, a folder or file, or demo.")
@click.option("--old", default="", help="Name of the setting to hold the other against; the file's first unless named.")
@click.option("--change", default="-20 %", show_default=True, help='Change that would matter, as "-20 %".')
@click.option("--out", help="Write the verdict to print (trial.pdf, trial.html) into this folder.")
def judge(file: str, *, records: str | None, mill: str, old: str, change: str, out: str | None) -> None:
    """Judge the trial in FILE, a CSV table: shift, frame, setting, breaks, spindle_hours.

    With --records FILE has the columns frame, setting, from, to (by the mill's clock), and the whole shifts in between
    are counted from the records.
    """
    counted = Asked(records=records, mill=mill) if records else None
    asked = trialling.AskedVerdict(path=file, old=old, change=change, records=counted)
    click.echo(answer_text(trialling.verdict(asked).answer, more=True))
    if out:
        _write(out, "trial", trialling.verdict_sheet(asked))


def _write(out: str, stem: str, sheet: Sheet) -> None:
    """Write a sheet as PDF and HTML."""
    from ringwright.report.sheets.sheet_html import sheet_html  # noqa: PLC0415 - the typesetter loads slowly
    from ringwright.report.sheets.sheet_pdf import sheet_pdf  # noqa: PLC0415

    files = {f"{stem}.pdf": sheet_pdf(sheet), f"{stem}.html": sheet_html(sheet).encode()}
    click.echo(f"Wrote {len(write_files(out, files))} files into {out}.", err=True)
