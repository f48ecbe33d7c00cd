"""``ringwright improve``: better parts and speeds for a setting."""

from __future__ import annotations

import click

from ringwright.cli.answering import answer, answer_options
from ringwright.cli.stopping import progress_line, until_stopped
from ringwright.cli.trial_options import counts_options, fit_option
from ringwright.verbs import fits, paying

__all__ = ["improve"]


@click.command()
@click.argument("mill")
@click.option("--frame", help="Name of the frame, as F1.")
@click.option("--yarn", help="Name of the yarn, as AV30K.")
@click.option("--all-frames", is_flag=True, help="Every frame of the mill: the first change of each, and its worth.")
@click.option(
    "--for", "aim", help="What to seek: production (taken if left out), cost, or tension (least); cost for all frames."
)
@click.option("--production", help='With --for tension: what one spindle must make, as "22 g/h".')
@click.option("--keep", multiple=True, help="Keep a part as it is, as guide-height or traveller; may be repeated.")
@click.option("--reach", multiple=True, help='How far a part may move, as "guide-height=-10 to 15 mm"; repeatable.')
@click.option("--limit", "limits", multiple=True, help='Try another limit, as "traveller_heat=10 W"; may be repeated.')
@click.option("--candidates", type=int, help="Candidates after which the search ends in any case.")
@click.option("--ring-friction", type=float, help="Try another friction of the traveller on the ring, as 0.12.")
@fit_option
@counts_options
@answer_options
def improve(
    mill: str, frame: str | None, yarn: str | None, *, all_frames: bool, as_json: bool, out: str | None,
    **asked: object,
) -> None:  # fmt: skip
    """Seek better parts and speeds for a frame and yarn of MILL: a folder, a file, or the word demo.

    Searches traveller, control ring and guide within their reach. Prints what to change first and what it is worth,
    the trade-off of production against tension and heat, and which limit would pay most to relax. Ctrl-C ends the
    search with the best so far. With --all-frames: for each frame and yarn, what to change first and what that is worth
    in yarn and money a year.
    """
    if all_frames:
        _survey(mill, (frame, yarn), as_json=as_json, out=out, **asked)
        return
    if frame is None or yarn is None:
        raise click.UsageError("Name a frame and a yarn with --frame and --yarn, or ask for --all-frames.")
    names, given = (frame, yarn), {key: asked.pop(key) for key in ("fit", "counts", "records")}
    opened = fits.open_for(mill, names, given["fit"])  # type: ignore[arg-type]  # click's options
    aim = asked.pop("aim") or "production"
    if aim != "cost" and (given["counts"] or given["records"]):
        raise click.UsageError("--counts and --records go with --for cost.")
    counts = paying.Counts(given["counts"], given["records"])  # type: ignore[arg-type]  # click's options
    with until_stopped() as stopped, progress_line() as tell:
        found = paying.improve(opened, names, counts, aim=aim, watch=(tell, stopped), **asked)  # type: ignore[arg-type]
    answer(found, f"{frame}-{yarn}-improve", as_json=as_json, out=out)


def _survey(
    mill: str, names: tuple[str | None, str | None], *, as_json: bool, out: str | None, **asked: object
) -> None:
    """Tell every frame's first change; options that belong to one setting are refused."""
    single = {"--frame": names[0], "--yarn": names[1]} | {
        f"--{key.replace('_', '-')}": asked.pop(key)
        for key in ("production", "ring_friction", "fit", "counts", "records")
    }
    wrong = [name for name, value in single.items() if value is not None]
    if wrong:
        raise click.UsageError(f"{', '.join(wrong)} belong to one setting; leave them out with --all-frames.")
    if asked.pop("aim") not in {None, "cost"}:
        raise click.UsageError("With --all-frames the aim is cost, as worth is told in money; leave --for out.")
    with until_stopped() as stopped, progress_line() as tell:
        found = paying.survey(mill, watch=(tell, stopped), **asked)
    answer(found, "all-frames", as_json=as_json, out=out)
