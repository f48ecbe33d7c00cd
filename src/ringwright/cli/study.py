"""``ringwright study``: questions put to the break records."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator
from typing import Any

import click
import orjson

from ringwright.report.folder import write_files
from ringwright.report.study_figures import study_figures
from ringwright.report.study_text import group_text, study_text, study_values
from ringwright.verbs import studying

__all__ = ["study"]

_WORDS = ("rates", "spindles", "separators", "cop", "doff", "travellers", "shifts", "changes", "drive")


@click.command()
@click.argument("records", nargs=-1, required=True)
@click.option("--mill", "mills", multiple=True,
              help="The mill: a folder or file, or the word demo (if left out); once for all, or once for each store.")
@click.option("--question", "questions", multiple=True, metavar="WORD",
              help=f"Ask only this; may be repeated: {', '.join(_WORDS)}.")  # fmt: skip
@click.option("--frame", "frames", multiple=True, help="Look at this frame only; may be repeated.")
@click.option("--from", "since", default="", help='Only from this time of the mill\'s clock, as "2026-03-02 06:00".')
@click.option("--to", "until", default="", help="Only up to this time; a day is taken whole.")
@click.option("--stamped", type=click.Choice(["break", "patrol"]), default="break", show_default=True,
              help="Whether a break's time is its own or that of the patrol which found it.")  # fmt: skip
@click.option("--clean", is_flag=True, help="With demo: the copy without planted faults.")
@click.option(
    "--seed", type=click.IntRange(0, 2**31), default=1, show_default=True, help="With demo: draw other chances."
)
@click.option("--write", metavar="FOLDER", help="With demo: write its records into this folder, to be taken in.")
@click.option("--engine", type=click.Choice(["duckdb", "spark"]), default="duckdb", show_default=True,
              help="What counts: duckdb within the program, or spark (the extra spark, and Java).")  # fmt: skip
@click.option("--spark-master", "master", default="local[*]", show_default=True, help="With spark: where it runs.")
@click.option("--memory", default="1GB", show_default=True, help="The engine's memory; beyond it, it works on disk.")
@click.option("--more", is_flag=True, help="Say under each answer what it cannot tell and which data it used.")
@click.option("--json", "as_json", is_flag=True, help="Print the answers as one JSON object.")
@click.option("--out", help="Write the pictures (SVG) and the answers (JSON) into this folder.")
def study(
    records: tuple[str, ...], mills: tuple[str, ...], write: str | None, *, more: bool, as_json: bool,
    out: str | None, stamped: str, **asked: Any,  # noqa: ANN401 - click's values
) -> None:  # fmt: skip
    """Ask the break records in RECORDS (a store, or the word demo) what stands out, and how sure that is.

    Each answer has a sentence, a number with its interval and a word: sure, likely, may be chance, too early to tell.
    Several RECORDS are those of a group of mills: each mill is asked by itself, and their rates stand side by side.
    Ctrl+C stops it; nothing is changed.
    """
    if set(records) != {studying.DEMO} and (asked["clean"] or write or asked["seed"] != 1):
        raise click.UsageError("--clean, --seed and --write go with the word demo in place of a store.")
    if write:
        paths = studying.write_demo(write, clean=asked["clean"], seed=asked["seed"])
        click.echo(f"Wrote {', '.join(path.name for path in paths)} into {write}. All of it is invented.")
        return
    if len(mills) > 1 and len(mills) != len(records):
        many = f"{len(records)} RECORDS and {len(mills)} times --mill"
        raise click.UsageError(f"{many}: give one for all, or one for each.")
    each = mills if len(mills) > 1 else (mills or ("demo",)) * len(records)
    with _steps() as progress:
        found = [
            studying.study(studying.Asked(records=store, mill=mill, at_patrol=stamped == "patrol", **asked), progress)
            for store, mill in zip(records, each, strict=True)
        ]
    _print(found, more=more, as_json=as_json)
    if out:
        files: dict[str, bytes] = {}
        for number, one in enumerate(found, 1):
            prefix = f"mill-{number}-" if len(found) > 1 else ""
            files |= {prefix + name: figure.encode() for name, figure in study_figures(one.answers).items()}
            files[f"{prefix}answers.json"] = orjson.dumps(study_values(one.answers, one.origin, one.outside))
        click.echo(f"Wrote {len(write_files(out, files))} files into {out}.", err=True)


def _print(found: list[studying.Study], *, more: bool, as_json: bool) -> None:
    """Print the answers; of several mills their rates first, then each mill's."""
    if as_json:
        values = [study_values(one.answers, one.origin, one.outside) for one in found]
        click.echo(orjson.dumps(values[0] if len(values) == 1 else {"mills": values}, option=orjson.OPT_INDENT_2))
        return
    texts = [study_text(one.answers, studying.questions(), one.origin, one.outside, more=more) for one in found]
    if len(found) > 1:
        texts.insert(0, group_text([(one.origin, one.rate) for one in found]))
    click.echo("\n\n".join(texts))


@contextlib.contextmanager
def _steps() -> Iterator[studying.Progress]:
    """Give what moves a bar at a terminal; nothing is shown elsewhere."""
    shown = sys.stderr.isatty()
    with click.progressbar(
        length=1, file=sys.stderr, hidden=not shown, item_show_func=lambda word: word, show_eta=False
    ) as bar:

        def move(done: int, steps: int, word: str) -> None:
            bar.length, bar.pos, bar.current_item = steps, done, word
            bar.render_progress()

        yield move
