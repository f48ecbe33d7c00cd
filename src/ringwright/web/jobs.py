"""Work that takes seconds or minutes: each in a process of its own, with its progress told and a way to stop it."""

from __future__ import annotations

import hashlib
import os
import signal
import threading
import time
import traceback
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from multiprocessing import get_context, parent_process
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from multiprocessing.synchronize import Event
from typing import Any

from ringwright.refusal import Fault, Refusal

__all__ = ["Job", "Jobs", "Work"]

Work = Callable[..., Any]
"""Gets what is asked for, then ``say`` (hears of the progress in words) and ``stopped`` (says whether to end)."""
BEHIND = 10
AT_ONCE, WAITING_MOST, KEPT = 2, 6, 24
RUNNING, DONE, REFUSED, STOPPED, BROKEN, WAITING = "running", "done", "refused", "stopped", "broken", "waiting"
PATIENCE = 8.0
"""Seconds that work has, after it was told to stop, to give the best so far."""


@dataclass(slots=True, kw_only=True)
class Job:
    """One piece of work: how it stands, what it says of its progress, and in the end its answer or its faults."""

    name: str
    title: str
    work: Work
    given: tuple[object, ...]
    state: str = WAITING
    said: str = ""
    started: float = field(default_factory=time.monotonic)
    ended: float | None = None
    answer: Any = None
    faults: tuple[str, ...] = ()
    stopping: bool = False
    process: Any = None
    stop: Event | None = None

    @property
    def open(self) -> bool:
        """Whether it waits or runs."""
        return self.state in {WAITING, RUNNING}

    @property
    def seconds(self) -> float:
        """Seconds since it was asked for, or that it took."""
        return (time.monotonic() if self.ended is None else self.ended) - self.started


class Jobs:
    """Runs a few jobs at a time, and keeps the last answers; safe to ask from many threads."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._context = get_context("spawn")
        self._closed = False

    def of(self, key: Hashable, title: str, work: Work, *given: object, again: bool = False) -> Job:
        """Give the job of a question, started if it is new; with ``again`` also one that ended without an answer.

        Raises Refusal where too many wait.
        """
        name = self.name_of(key)
        with self._lock:
            known = self._jobs.get(name)
            if known is not None and (known.open or known.state == DONE or not again):
                self._jobs.move_to_end(name)
                return known
            if sum(one.state == WAITING for one in self._jobs.values()) >= WAITING_MOST:
                mend = "Wait until one has ended, or stop one."
                raise Refusal(
                    Fault(where="this server", got="busy", wants=f"at most {WAITING_MOST} waiting", mend=mend)
                )
            job = self._jobs[name] = Job(name=name, title=title, work=work, given=given)
            self._tidy()
            self._go_on()
        return job

    def known(self, key: Hashable) -> Job | None:
        """Give the job of a question if there is one; nothing is started."""
        return self.named(self.name_of(key))

    @staticmethod
    def name_of(key: Hashable) -> str:
        """Give the name of a question's job, the same on every server."""
        return hashlib.sha256(repr(key).encode()).hexdigest()[:16]

    def named(self, name: str) -> Job | None:
        """Find a job by its name."""
        with self._lock:
            return self._jobs.get(name)

    def forget(self, key: Hashable) -> None:
        """Forget the answer to a question, so that it is worked out anew when next asked."""
        with self._lock:
            name = self.name_of(key)
            if (job := self._jobs.get(name)) is not None and not job.open:
                del self._jobs[name]

    def end(self, job: Job) -> None:
        """Tell a job to stop; it may still give the best so far, and is ended if it does not in time."""
        with self._lock:
            if job.state == WAITING:
                job.state, job.ended = STOPPED, time.monotonic()
            elif job.state == RUNNING and job.stop is not None and not job.stopping:
                job.stopping = True
                job.stop.set()
                ender = threading.Timer(PATIENCE, self._kill, args=(job,))
                ender.daemon = True  # a server that ends must not wait for it
                ender.start()

    def close(self) -> None:
        """End every process; what waits is not begun."""
        with self._lock:
            self._closed = True
            for job in self._jobs.values():
                if job.process is not None and job.state == RUNNING:
                    job.process.terminate()

    def _kill(self, job: Job) -> None:
        if job.state == RUNNING:
            job.process.terminate()

    def _tidy(self) -> None:
        for name in [one.name for one in self._jobs.values() if not one.open][: max(0, len(self._jobs) - KEPT)]:
            del self._jobs[name]

    def _go_on(self) -> None:
        """Start what waits, as far as there is room; the lock is held."""
        running = sum(one.state == RUNNING for one in self._jobs.values())
        for job in list(self._jobs.values()):
            if job.state == WAITING and running < AT_ONCE and not self._closed:
                self._start(job)
                running += job.state == RUNNING

    def _start(self, job: Job) -> None:
        here, there = self._context.Pipe(duplex=False)
        job.stop, job.state = self._context.Event(), RUNNING
        job.process = self._context.Process(target=_run, args=(there, job.stop, job.work, job.given), daemon=True)
        try:
            job.process.start()
        except Exception:  # noqa: BLE001 - no memory for it, or what is given cannot be handed over: the place is free
            job.state, job.ended = BROKEN, time.monotonic()
            print(traceback.format_exc(), flush=True)  # noqa: T201 - a fault of ours belongs in the server's window
            here.close()
            return
        finally:
            there.close()
        threading.Thread(target=self._listen, args=(job, here), daemon=True).start()

    def _listen(self, job: Job, here: Connection) -> None:
        """Hear what the process says until it ends."""
        state, answer = (STOPPED if job.stopping else BROKEN), None
        try:
            while True:
                kind, told = here.recv()
                if kind == "said":
                    job.said = told
                    continue
                state, answer = kind, told
                break
        except Exception as error:  # noqa: BLE001 - a process that was ended, or an answer that cannot be read
            state = STOPPED if job.stopping else BROKEN
            ended = "" if self._closed else f'The process that worked at "{job.title}" was ended from outside.'
            answer = ended if isinstance(error, EOFError) else traceback.format_exc()
        here.close()
        job.process.join(2.0)
        with self._lock:
            if state == DONE:
                job.answer = answer
            elif state == REFUSED:
                job.faults = tuple(answer or ())
            elif state == BROKEN and answer:
                print(answer, flush=True)  # noqa: T201 - a fault of ours belongs in the server's window
            job.state, job.ended = state, time.monotonic()
            self._go_on()


def _end_with(server: BaseProcess) -> None:
    server.join()
    os._exit(0)


def _run(pipe: Connection, stop: Event, work: Work, given: tuple[object, ...]) -> None:
    """Do the work in a process of its own, behind everything that a person waits for; end with the server."""
    if hasattr(os, "nice"):
        os.nice(BEHIND)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C is the server's to answer
    if (server := parent_process()) is not None:
        threading.Thread(target=_end_with, args=(server,), daemon=True).start()
    try:
        answer = work(*given, lambda words: pipe.send(("said", words)), stop.is_set)
    except Refusal as refusal:
        pipe.send((REFUSED, [str(fault) for fault in refusal.faults]))
    except Exception:  # noqa: BLE001 - whatever it is, the page must hear of it
        pipe.send((BROKEN, traceback.format_exc()))
    else:
        pipe.send((DONE, answer))
    pipe.close()
