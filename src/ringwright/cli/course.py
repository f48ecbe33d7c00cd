"""``ringwright course``: the best speed through the doff."""

from __future__ import annotations

import click
import orjson

from ringwright.cli.trial_options import fit_option
from ringwright.report.course_chart import course_chart
from ringwright.report.course_text import course_figure, course_text
from ringwright.report.folder import write_files
from ringwright.report.improve_values import course_values
from ringwright.report.typesetting import png
from ringwright.verbs import app, fits

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
@click.option("--json", "as_json", is_flag=True, help="Print the study as JSON, in SI units.")
@click.option("--out", help="Write the figure (SVG and PNG) and the JSON into this folder.")
def course(
    mill: str, frame: str, yarn: str, *, limits: tuple[str, ...], fit: str | None, as_json: bool, out: str | None,
    **asked: object,
) -> None:  # fmt: skip
    """Find the speed at each moment of a doff of MILL that keeps every limit and makes most.

    MILL is a folder, a file, or the word demo. Prints the course as the drive can follow it, what it gains against
    the setting and against the best constant speed, which limit holds it where, and what each limit would pay.
    """
    driven = {key: asked.pop(key) for key in ("steps", "ramp", "least", "most", "start_most", "tip_most")}
    opened = fits.open_for(mill, (frame, yarn), fit)
    study = app.best_course(opened.mill, frame, yarn, app.trial(**asked), driven, limits)  # type: ignore[arg-type]
    values = course_values(study) | opened.values
    told = "\n\n".join(filter(None, (course_text(study), opened.words)))
    click.echo(orjson.dumps(values, option=orjson.OPT_INDENT_2) if as_json else told)
    if out:
        figure, stem = course_chart(course_figure(study)), f"{frame}-{yarn}-course"
        files = {f"{stem}.svg": figure.encode(), f"{stem}.png": png(figure), f"{stem}.json": orjson.dumps(values)}
        click.echo(f"Wrote {len(write_files(out, files))} files into {out}.", err=True)
