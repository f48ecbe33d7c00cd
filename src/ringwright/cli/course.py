"""``ringwright course``: the best speed through the doff."""

from __future__ import annotations

import click

from ringwright.cli.answering import answer, answer_options
from ringwright.cli.trial_options import fit_option
from ringwright.verbs import app, fits, paying

__all__ = ["course"]


@click.command()
@click.argument("mill")
@click.option("--frame", required=True, help="Name of the frame, as F1.")
@click.option("--yarn", required=True, help="Name of the yarn, as AV30K.")
@click.option("--steps", type=int, help="Corners of the course, 2 to 10; left out, start, base, main and tip.")
@click.option("--ramp", type=float, help="Fastest change of speed that the drive makes, in rpm per second.")
@click.option("--least", help='Least speed of the drive, as "8000 rpm".')
@click.option("--most", help='Most speed of the drive, as "17000 rpm".')
@click.option("--start-most", help="Most speed at the start of the doff.")
@click.option("--tip-most", help="Most speed at the end of the doff.")
@click.option("--limit", "limits", multiple=True, help='Try another limit, as "traveller_heat=10 W"; may be repeated.')
@click.option("--guide-fixed", is_flag=True, help="Hold the guide rail still at its height at the start of the doff.")
@click.option("--no-control-ring", is_flag=True, help="Take the balloon control ring away.")
@click.option("--traveller", help='Try another traveller, as "40 mg".')
@click.option("--ring-friction", type=float, help="Try another friction of the traveller on the ring, as 0.12.")
@fit_option
@answer_options
def course(
    mill: str, frame: str, yarn: str, *, limits: tuple[str, ...], fit: str | None, as_json: bool, out: str | None,
    **asked: object,
) -> None:  # fmt: skip
    """Find the speed at each moment of a doff of MILL that keeps every limit and makes most.

    MILL is a folder, a file, or the word demo. Prints the course as the drive can follow it, what it gains against
    the setting and against the best constant speed, which limit holds it where, and what each limit would pay.
    """
    driven = {key: asked.pop(key) for key in ("steps", "ramp", "least", "most", "start_most", "tip_most")}
    names, trial = (frame, yarn), app.trial(**asked)  # type: ignore[arg-type]  # click's options
    found = paying.course(fits.open_for(mill, names, fit), names, trial, driven, limits)
    answer(found, f"{frame}-{yarn}-course", as_json=as_json, out=out)
