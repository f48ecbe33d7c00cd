"""``ringwright init``: a commented mill to start from."""

from __future__ import annotations

import shlex

import click

from ringwright.verbs import app

__all__ = ["init"]


@click.command()
@click.argument("folder")
def init(folder: str) -> None:
    """Write a commented mill of one frame and one yarn into a new FOLDER; nothing is overwritten."""
    app.init(folder)
    click.echo(f"{folder} now holds a mill of one frame, F1, and one yarn, Y30. Change its values to your own mill's.")
    click.echo(f"Then: ringwright plan {shlex.quote(folder)} --frame F1 --yarn Y30")
