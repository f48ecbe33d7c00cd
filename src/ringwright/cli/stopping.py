"""Long searches at a terminal: one line of progress, and an end with the best so far when a person asks for it."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from types import FrameType

import click

__all__ = ["progress_line", "until_stopped"]

ENDING = b"\nEnding with the best so far; ask once more to leave at once.\n"


@contextlib.contextmanager
def until_stopped() -> Iterator[Callable[[], bool]]:
    """Give what says whether Ctrl-C or SIGTERM has asked for an end; a second time ends the program at once."""
    asked = threading.Event()

    def ask(number: int, _frame: FrameType | None) -> None:
        if asked.is_set():
            sys.exit(128 + number)
        asked.set()
        os.write(2, ENDING)  # a signal may come in the middle of a print, which click could not bear

    if threading.current_thread() is not threading.main_thread():  # signals belong to the main thread
        yield asked.is_set
        return
    before = {one: signal.signal(one, ask) for one in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield asked.is_set
    finally:
        for one, handler in before.items():
            signal.signal(one, handler)


@contextlib.contextmanager
def progress_line() -> Iterator[Callable[[str], None]]:
    """Give what tells the progress on one line of a terminal, cleared at the end; nothing is told elsewhere."""
    shown = sys.stderr.isatty()

    def tell(words: str) -> None:
        if shown:
            click.echo(f"\r\033[K{words}; Ctrl-C ends with the best so far", err=True, nl=False)

    try:
        yield tell
    finally:
        if shown:
            click.echo("\r\033[K", err=True, nl=False)
