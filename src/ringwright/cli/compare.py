"""``ringwright compare``: two settings or frames side by side."""

from __future__ import annotations

import click

from ringwright.cli.answering import answer, answer_options
from ringwright.cli.trial_options import fit_option
from ringwright.verbs import fits, paying

__all__ = ["compare"]


@click.command()
@click.argument("mill")
@click.option("--frame", required=True, help="Name of frame A, as F1.")
@click.option("--yarn", required=True, help="Name of yarn A, as AV30K.")
@click.option("--with", "tried", default="", help='What B tries, as "traveller=40mg, speed=17000rpm, guide=fixed".')
@click.option("--frame-b", help="Name of frame B; that of A if left out.")
@click.option("--yarn-b", help="Name of yarn B; that of A if left out.")
@fit_option
@click.option("--fit-b", help="Use a fit for B where it is another frame or yarn: latest, its date, or its file.")
@click.option("--mill-b", help="Another mill for B, as a copy of the folder with other parts; MILL if left out.")
@answer_options
def compare(
    mill: str, frame: str, yarn: str, *, tried: str, frame_b: str | None, yarn_b: str | None, fit: str | None,
    fit_b: str | None, mill_b: str | None, as_json: bool, out: str | None,
) -> None:  # fmt: skip
    """Put two settings or frames of MILL side by side: differences first, each with its reason.

    A is the setting of --frame with --yarn. B is the same with what --with tries (traveller, speed, guide=fixed or
    moving, control-ring=none, friction), another frame or yarn, or the same of another mill (--mill-b).
    """
    names = (frame, yarn), (frame_b or frame, yarn_b or yarn)
    one = fits.open_for(mill, names[0], fit)
    alone = names[0] == names[1] and fit_b is None and mill_b is None
    other = one if alone else fits.open_for(mill_b or mill, names[1], fit_b)
    found = paying.compare(one, names, tried, other)
    answer(found, f"{frame}-{yarn}-compare", as_json=as_json, out=out)
