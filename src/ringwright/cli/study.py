"""``ringwright study``: questions put to the break records."""

from __future__ import annotations

import click
import orjson

from ringwright.report.folder import write_files
from ringwright.report.study_figures import study_figures
from ringwright.report.study_text import study_text, study_values
from ringwright.verbs import studying

__all__ = ["study"]

_WORDS = ("rates", "spindles", "separators", "cop", "doff", "travellers", "shifts", "changes", "drive")


@click.command()
@click.argument("records")
@click.option("--mill", default="demo", show_default=True, help="The mill: a folder or file, or the word demo.")
@click.option("--question", "questions", multiple=True, metavar="WORD",
              help=f"Ask only this; may be repeated: {', '.join(_WORDS)}.")  # fmt: skip
@click.option("--frame", "frames", multiple=True, help="Look at this frame only; may be repeated.")
@click.option("--stamped", type=click.Choice(["break", "patrol"]), default="break", show_default=True,
              help="Whether a break's time is its own or that of the patrol which found it.")  # fmt: skip
@click.option("--clean", is_flag=True, help="With demo: the copy without planted faults.")
@click.option(
    "--seed", type=click.IntRange(0, 2**31), default=1, show_default=True, help="With demo: draw other chances."
)
@click.option("--write", metavar="FOLDER", help="With demo: write its records into this folder, to be taken in.")
@click.option("--more", is_flag=True, help="Say under each answer what it cannot tell and which data it used.")
@click.option("--json", "as_json", is_flag=True, help="Print the answers as one JSON object.")
@click.option("--out", help="Write the pictures (SVG) and the answers (JSON) into this folder.")
def study(
    records: str, mill: str, questions: tuple[str, ...], frames: tuple[str, ...], stamped: str, *, clean: bool,
    seed: int, write: str | None, more: bool, as_json: bool, out: str | None,
) -> None:  # fmt: skip
    """Ask the break records in RECORDS (a store, or the word demo) what stands out, and how sure that is.

    Each answer has a sentence, a number with its interval and a word: sure, likely, may be chance, too early to tell.
    """
    if records != studying.DEMO and (clean or write or seed != 1):
        raise click.UsageError("--clean, --seed and --write go with the word demo in place of a store.")
    if write:
        paths = studying.write_demo(write, clean=clean, seed=seed)
        click.echo(f"Wrote {', '.join(path.name for path in paths)} into {write}. All of it is invented.")
        return
    asked = studying.Asked(
        records=records, mill=mill, questions=questions, frames=frames, at_patrol=stamped == "patrol", clean=clean,
        seed=seed,
    )  # fmt: skip
    found = studying.study(asked)
    if as_json:
        click.echo(orjson.dumps(study_values(found.answers, found.origin, found.outside), option=orjson.OPT_INDENT_2))
    else:
        click.echo(study_text(found.answers, studying.questions(), found.origin, found.outside, more=more))
    if out:
        files = {name: figure.encode() for name, figure in study_figures(found.answers).items()}
        files["answers.json"] = orjson.dumps(study_values(found.answers, found.origin, found.outside))
        click.echo(f"Wrote {len(write_files(out, files))} files into {out}.", err=True)
