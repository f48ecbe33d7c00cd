"""The options that try something in place of the setting, alike for every command that takes them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

__all__ = ["counts_options", "fit_option", "place_options", "trial_options"]

Command = Callable[..., Any]


def place_options(command: Command) -> Command:
    """Add the argument MILL and the options that name frame and yarn."""
    command = click.option("--yarn", required=True, help="Name of the yarn, as AV30K.")(command)
    command = click.option("--frame", required=True, help="Name of the frame, as F1.")(command)
    return click.argument("mill")(command)


def counts_options(command: Command) -> Command:
    """Add the options that give the mill's own break counts."""
    words = "A store of break records, or the word demo: its counts of this frame and yarn, shift by shift."
    command = click.option("--records", help=words)(command)
    words = "CSV of counted breaks: breaks, spindle hours, and where they differ speed, traveller."
    return click.option("--counts", help=words)(command)


def fit_option(command: Command) -> Command:
    """Add the option that puts a kept fit in place of the mill's frictions and drag."""
    words = "Use a fit that calibrate kept for this frame and yarn: latest, its date, or its file."
    return click.option("--fit", help=words)(command)


def trial_options(command: Command) -> Command:
    """Add the options that try another traveller, speed, guide, control ring or ring friction."""
    for option in reversed(
        (
            click.option("--guide-fixed", is_flag=True, help="Hold the guide rail still where it starts the doff."),
            click.option("--no-control-ring", is_flag=True, help="Take the balloon control ring away."),
            click.option("--traveller", help='Try another traveller, as "40 mg".'),
            click.option("--speed", help='Try another main speed, as "17000 rpm"; the course keeps its shape.'),
            click.option("--ring-friction", type=float, help="Try another friction of traveller on ring, as 0.12."),
        )
    ):
        command = option(command)
    return command
