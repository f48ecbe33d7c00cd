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
from typing import Any, TypeVar

__all__ = ["Background"]

Answer = TypeVar("Answer")
KEPT = 96


def _ready() -> None:
    """Load in the worker what the first answer would wait for; end with the server, however it ends."""
    from ringwright.workbench import whole  # noqa: F401, PLC0415

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C is the server's to answer
    if (server := parent_process()) is not None:
        threading.Thread(target=_end_with, args=(server,), daemon=True).start()


def _end_with(server: BaseProcess) -> None:
    server.join()
    os._exit(0)


class Background:
    """Asks a worker process, one thing at a time, and remembers the last answers.

    What takes a second (the limits, the card) has a worker of its own: a doff must not wait behind it.
    """

    def __init__(self) -> None:
        self._pools = {
            slow: ProcessPoolExecutor(1, mp_context=get_context("spawn"), initializer=_ready) for slow in (False, True)
        }
        self._known: OrderedDict[Hashable, asyncio.Task[Any]] = OrderedDict()

    async def ask(self, key: Hashable, work: Callable[..., Answer], *given: object, slow: bool = False) -> Answer:
        """Give the answer of ``work(*given)``; the same key is worked out once. Raises what the work raises."""
        task = self._known.get(key)
        if task is None:
            task = asyncio.create_task(self._work(work, given, slow=slow))
            self._known[key] = task
            task.add_done_callback(lambda done: self._forget(key, done))
            while len(self._known) > KEPT:
                self._known.popitem(last=False)
        else:
            self._known.move_to_end(key)
        return await asyncio.shield(task)

    async def _work(self, work: Callable[..., Answer], given: tuple[object, ...], *, slow: bool) -> Answer:
        return await asyncio.get_running_loop().run_in_executor(self._pools[slow], work, *given)

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
