"""``ringwright card``: the setting card to hang on the frame."""

from __future__ import annotations

import shutil

import click

from ringwright.cli.trial_options import fit_option
from ringwright.report.card_html import card_html
from ringwright.report.card_pdf import card_pdf
from ringwright.report.folder import write_files
from ringwright.report.terminal import terminal_card
from ringwright.verbs import app, fits

__all__ = ["card"]


@click.command()
@click.argument("mill")
@click.option("--frame", required=True, help="Name of the frame, as F1.")
@click.option("--yarn", required=True, help="Name of the yarn, as AV30K.")
@click.option("--guide-fixed", is_flag=True, help="Hold the guide rail still at its height at the start of the doff.")
@click.option("--no-control-ring", is_flag=True, help="Take the balloon control ring away.")
@click.option("--traveller", help='Try another traveller, as "40 mg".')
@click.option("--speed", help='Try another main speed, as "17000 rpm"; the course keeps its shape.')
@click.option("--ring-friction", type=float, help="Try another friction of the traveller on the ring, as 0.12.")
@fit_option
@click.option("--out", default="ringwright-out", show_default=True, help="Write the HTML and the PDF into this folder.")
def card(mill: str, frame: str, yarn: str, *, fit: str | None, out: str, **tried: object) -> None:
    """Make the setting card of a frame and yarn of MILL (a folder, a file, or the word demo).

    Prints the card, and writes it as HTML and as PDF on one A4 page: settings, change wheels, room to each limit,
    tension through the doff, readings to take, cautions, and where every number came from.
    """
    opened = fits.open_for(mill, (frame, yarn), fit)
    made = app.card(opened.mill, frame, yarn, app.trial(**tried))  # type: ignore[arg-type]  # click's options
    files = {"html": card_html(made).encode(), "pdf": card_pdf(made)}
    click.echo(terminal_card(made, width=shutil.get_terminal_size((80, 24)).columns))
    paths = write_files(out, {f"{frame}-{yarn}-card.{kind}": content for kind, content in files.items()})
    click.echo(f"Wrote {' and '.join(str(path) for path in paths)}", err=True)
