"""Slower answers are worked out in processes of their own, so that a slider need not wait; each is kept."""

from __future__ import annotations

import asyncio
import os
import signal
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context, parent_process
from multiprocessing.process import BaseProcess
from typing import Any, Literal, TypeVar

from ringwright.units import chosen_units, written_in

__all__ = ["Background", "Lane"]

Answer = TypeVar("Answer")
Lane = Literal["doff", "rooms", "spare"]
KEPT = 96
BEHIND: dict[Lane, int] = {"doff": 4, "rooms": 9, "spare": 12}
"""By how much each lane stands behind the server and the browser when the processor is short."""


def _ready(behind: int) -> None:
    """Load in the worker what the first answer would wait for; end with the server, however it ends."""
    from ringwright.workbench import whole  # noqa: F401, PLC0415

    if hasattr(os, "nice"):
        os.nice(behind)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C is the server's to answer
    if (server := parent_process()) is not None:
        threading.Thread(target=_end_with, args=(server,), daemon=True).start()


def _answer(units: tuple[str, ...], work: Callable[..., Answer], given: tuple[object, ...]) -> Answer:
    """Answer in the worker, in the units that the reader chose."""
    with written_in(units):
        return work(*given)


def _end_with(server: BaseProcess) -> None:
    server.join()
    os._exit(0)


class Background:
    """Asks worker processes, each one thing at a time, and remembers the last answers.

    The doff and the rooms follow a slider, each in a lane of its own; what takes a second has the spare lane.
    """

    def __init__(self) -> None:
        self._pools = {
            lane: ProcessPoolExecutor(1, mp_context=get_context("spawn"), initializer=_ready, initargs=(behind,))
            for lane, behind in BEHIND.items()
        }
        self._known: OrderedDict[Hashable, asyncio.Task[Any]] = OrderedDict()

    async def ask(self, key: Hashable, work: Callable[..., Answer], *given: object, lane: Lane = "doff") -> Answer:
        """Give the answer of ``work(*given)`` in the units chosen; the same key is worked out once for them.

        Raises what the work raises.
        """
        key = (key, chosen_units())
        task = self._known.get(key)
        if task is None:
            task = asyncio.create_task(self._work(work, given, lane))
            self._known[key] = task
            task.add_done_callback(lambda done: self._forget(key, done))
            while len(self._known) > KEPT:
                self._known.popitem(last=False)
        else:
            self._known.move_to_end(key)
        return await asyncio.shield(task)

    async def _work(self, work: Callable[..., Answer], given: tuple[object, ...], lane: Lane) -> Answer:
        return await asyncio.get_running_loop().run_in_executor(self._pools[lane], _answer, chosen_units(), work, given)

    def _forget(self, key: Hashable, done: asyncio.Task[Any]) -> None:
        """Do not keep what went wrong."""
        if (done.cancelled() or done.exception() is not None) and self._known.get(key) is done:
            del self._known[key]

    def warm(self) -> None:
        """Start the workers before the first question."""
        for pool in self._pools.values():
            pool.submit(int)

    def close(self) -> None:
        """Stop the workers."""
        for pool in self._pools.values():
            pool.shutdown(wait=False, cancel_futures=True)
