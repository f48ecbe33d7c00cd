"""The option ``--units`` of commands that write in the units a reader chooses, as the switch of the pages does."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

import click

from ringwright.refusal import Fault, Refusal
from ringwright.units import SWITCHED, written_in

__all__ = ["units_option"]

Command = Callable[..., Any]
_HELP = 'Write counts, twist and lengths in other units: Ne, tpi, in, or more with commas, as "Ne,tpi,in".'


def units_option(command: Command) -> Command:
    """Give a command the option; it then writes all its figures, words and axes in those units."""

    @click.option("--units", "units", default="", help=_HELP)
    @wraps(command)
    def told(*given: object, units: str, **asked: object) -> object:
        with written_in(_read(units)):
            return command(*given, **asked)

    return told


def _read(units: str) -> tuple[str, ...]:
    """Read the units; Refusal for a word that is none of them."""
    known = {other.lower(): other for other in SWITCHED.values()}
    words = [word.strip() for word in units.split(",") if word.strip()]
    wants = f"one of {', '.join(SWITCHED.values())}, or more with commas"
    faults = [
        Fault(where="--units", got=f'"{word}"', wants=wants)
        for word in words
        if word.lower() not in known
    ]
    if faults:
        raise Refusal(faults)
    return tuple(known[word.lower()] for word in words)
