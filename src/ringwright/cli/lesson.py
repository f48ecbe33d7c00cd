"""``ringwright lesson``: the lessons at the terminal and on paper."""

from __future__ import annotations

import click

from ringwright.cli.units_option import units_option
from ringwright.report.folder import write_files
from ringwright.verbs import app

__all__ = ["lesson"]


@click.command()
@click.argument("key", default="")
@click.argument("mill", default=app.DEMO)
@click.option(
    "--frame", default="", help="Name of the frame, as F1; the frame of the mill's first setting if left out."
)
@click.option(
    "--yarn", default="", help="Name of the yarn, as AV30K; the yarn of that frame's first setting if left out."
)
@click.option("--at", "moved", default="", help='Value of the part that the lesson moves, as "60 mm".')
@units_option
@click.option("--out", default="", help="Write the lesson as PDF, one landscape page, into this folder.")
def lesson(key: str, mill: str, *, frame: str, yarn: str, moved: str, out: str) -> None:
    """List the lessons, or show one: its question, the numbers of both settings, and the reason.

    KEY is a key of the list. MILL is a folder, a file, or the word demo.
    """
    from ringwright.lessons.lesson_text import lesson_list, lesson_text  # noqa: PLC0415 - the list needs little

    if not key:
        click.echo(lesson_list(), nl=False)
        return
    from ringwright.lessons.asking import ask  # noqa: PLC0415

    asked = ask(app.open_mill(mill), key, frame, yarn, moved)
    click.echo(lesson_text(asked.lesson, asked.ground, asked.shown), nl=False)
    if out:
        from ringwright.lessons.lesson_pdf import lesson_pdf  # noqa: PLC0415

        made = lesson_pdf(asked.lesson, asked.ground, asked.shown, asked.cautions)
        (path,) = write_files(out, {f"{asked.ground.frame}-{asked.ground.yarn}-lesson-{key}.pdf": made})
        click.echo(f"Wrote {path}", err=True)
