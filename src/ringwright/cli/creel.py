"""``ringwright creel``: the brake that neither overruns nor drafts, and the bobbins to renew."""

from __future__ import annotations

import click
import orjson

from ringwright.cli.trial_options import place_options
from ringwright.cli.units_option import units_option
from ringwright.report.folder import write_files
from ringwright.report.sheets.sheet_text import sheet_text
from ringwright.report.sheets.sheet_values import sheet_values
from ringwright.verbs import creeling

__all__ = ["creel"]


@click.command()
@place_options
@click.option("--brake", default="", help='Try another brake on the hanging bobbin, as "2 mN m".')
@click.option("--roving-twist", default="", help='Try another twist of the roving, as "1.1 TM".')
@click.option("--week", is_flag=True, help="Run a week of all frames with their doffs, creelers and carts.")
@click.option("--creelers", default="", help="With --week: so many people creel at one time.")
@click.option("--carts", default="", help="With --week: so many carts bring bobbins.")
@click.option("--renewal", type=click.Choice(creeling.RENEWALS), default="staggered", show_default=True,
              help="With --week: renew group by group, or all bobbins of a frame at once.")  # fmt: skip
@click.option("--seed", type=click.IntRange(0, 2**32 - 1), default=1, show_default=True,
              help="With --week: the same seed gives the same week.")  # fmt: skip
@units_option
@click.option("--json", "as_json", is_flag=True, help="Print the sheet as JSON.")
@click.option("--out", help="Write the sheet (PDF, HTML) and its figures (SVG) into this folder.")
def creel(mill: str, frame: str, yarn: str, *, as_json: bool, out: str | None, **asked: object) -> None:
    """Tell how the roving bobbins of a frame unwind, which brake suits them, and when which are renewed.

    MILL is a folder, a file, or the word demo. With --week, a week of the whole mill's doffs, renewals, hands and carts
    is simulated; it says where hands run out, and by when.
    """
    sheet = creeling.creel(mill, (frame, yarn), creeling.AskedCreel(**asked))  # type: ignore[arg-type]  # click's options
    click.echo(orjson.dumps(sheet_values(sheet), option=orjson.OPT_INDENT_2) if as_json else sheet_text(sheet))
    if out:
        from ringwright.report.sheets.sheet_html import sheet_html  # noqa: PLC0415 - the typesetter loads slowly
        from ringwright.report.sheets.sheet_pdf import sheet_pdf  # noqa: PLC0415

        stem = f"{frame}-{yarn}-creel"
        files = {f"{stem}.pdf": sheet_pdf(sheet), f"{stem}.html": sheet_html(sheet).encode()}
        files |= {f"{stem}-{k + 1}.svg": one.svg.encode() for k, one in enumerate(sheet.pictures)}
        click.echo(f"Wrote {len(write_files(out, files))} files into {out}.", err=True)
