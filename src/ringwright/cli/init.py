"""``ringwright init``: a commented mill to start from."""

from __future__ import annotations

import shlex

import click

from ringwright.verbs import app

__all__ = ["init"]


@click.command()
@click.argument("folder")
@click.option("--demo", is_flag=True, help="Write a copy of the Alder Vale demo mill, to change it.")
def init(folder: str, *, demo: bool) -> None:
    """Write a commented mill of one frame and one yarn into a new FOLDER; nothing is overwritten."""
    app.init(folder, demo=demo)
    if demo:
        click.echo(f"{folder} now holds a copy of the demo mill: four frames and four yarns of an invented mill.")
        click.echo(f"Then: ringwright serve {shlex.quote(folder)}")
        return
    click.echo(f"{folder} now holds a mill of one frame, F1, and one yarn, Y30. Change its values to your own mill's.")
    click.echo(f"Then: ringwright plan {shlex.quote(folder)} --frame F1 --yarn Y30")
