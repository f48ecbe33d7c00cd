"""Slower answers are worked out in processes of their own, so that a slider need not wait; each is kept."""

from __future__ import annotations

import asyncio
import os
import signal
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context, parent_process
from multiprocessing.process import BaseProcess
from typing import Any, Literal, TypeVar

from ringwright.refusal import Fault, Refusal
from ringwright.units import chosen_units, written_in

__all__ = ["Background", "Lane"]

Answer = TypeVar("Answer")
Lane = Literal["doff", "rooms", "spare"]
KEPT = 96
TRIES = 3
"""Times that a question is asked where its worker is ended each time."""
WAITING_MOST = 120
"""Questions that may wait in one lane; twenty people who move sliders ask a third of it."""
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


def _pool(lane: Lane) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(1, mp_context=get_context("spawn"), initializer=_ready, initargs=(BEHIND[lane],))


class Background:
    """Asks worker processes, each one thing at a time, and remembers the last answers.

    The doff and the rooms follow a slider, each in a lane of its own; what takes a second has the spare lane.
    """

    def __init__(self) -> None:
        self._pools = {lane: _pool(lane) for lane in BEHIND}
        self._waiting = dict.fromkeys(BEHIND, 0)
        self._closed = False
        self._known: OrderedDict[Hashable, asyncio.Task[Any]] = OrderedDict()

    async def ask(
        self, key: Hashable, work: Callable[..., Answer], *given: object, lane: Lane = "doff", once: bool = False
    ) -> Answer:
        """Give the answer of ``work(*given)`` in the units chosen; the same key is worked out once for them.

        ``once`` is for work that writes: it is not begun again where its worker was ended in the midst of it.
        Raises what the work raises, and Refusal where too many wait or the worker was ended.
        """
        key = (key, chosen_units())
        task = self._known.get(key)
        if task is None:
            task = asyncio.create_task(self._work(work, given, lane, once=once))
            self._known[key] = task
            task.add_done_callback(lambda done: self._forget(key, done))
            while len(self._known) > KEPT:
                self._known.popitem(last=False)
        else:
            self._known.move_to_end(key)
        return await asyncio.shield(task)

    async def _work(self, work: Callable[..., Answer], given: tuple[object, ...], lane: Lane, *, once: bool) -> Answer:
        if self._waiting[lane] >= WAITING_MOST:
            mend = "Ask again in a moment."
            raise Refusal(Fault(where="this server", got="busy", wants=f"at most {WAITING_MOST} waiting", mend=mend))
        self._waiting[lane] += 1
        try:
            return await self._tried(work, given, lane, tries=1 if once else TRIES)
        finally:
            self._waiting[lane] -= 1

    async def _tried(self, work: Callable[..., Answer], given: tuple[object, ...], lane: Lane, *, tries: int) -> Answer:
        """Ask the worker of a lane; one that was ended from outside is replaced, and asked again."""
        for _ in range(tries):
            pool = self._pools[lane]
            try:
                return await asyncio.get_running_loop().run_in_executor(pool, _answer, chosen_units(), work, given)
            except BrokenProcessPool:
                if not self._closed:
                    self._renew(lane, pool)
            except RuntimeError:
                if not self._closed:
                    raise
        got = "closing" if self._closed else "without an answer (its worker process was ended from outside)"
        mend = "See whether it was done, and ask again."
        raise Refusal(Fault(where="this server", got=got, wants="running", mend=mend))

    def _renew(self, lane: Lane, broken: ProcessPoolExecutor) -> None:
        """Put a new worker in the place of one that was ended, once for all who waited for it."""
        if self._pools[lane] is broken:
            broken.shutdown(wait=False, cancel_futures=True)
            self._pools[lane] = _pool(lane)

    def _forget(self, key: Hashable, done: asyncio.Task[Any]) -> None:
        """Do not keep what went wrong."""
        if (done.cancelled() or done.exception() is not None) and self._known.get(key) is done:
            del self._known[key]

    def warm(self) -> None:
        """Start the workers before the first question."""
        for pool in self._pools.values():
            pool.submit(int)

    def close(self) -> None:
        """Stop the workers, whatever they are at: nobody waits for it any longer."""
        self._closed = True
        for pool in self._pools.values():
            for worker in list((getattr(pool, "_processes", None) or {}).values()):
                worker.terminate()
            pool.shutdown(wait=True, cancel_futures=True)  # quick: its worker has gone
