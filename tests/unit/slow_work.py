"""Work that a job does in a process of its own, for the tests of jobs."""

from __future__ import annotations

import os
import time

from ringwright.refusal import Fault, Refusal


def count(to, say, stopped):
    """Count slowly; when stopped, give how far it came."""
    for k in range(to):
        say(f"{k} of {to}")
        if stopped():
            return k
        time.sleep(0.02)
    return to


def refuse(say, stopped):  # noqa: ARG001 - as all work is called
    raise Refusal(Fault(where="the work", got="nothing", wants="something"))


def linger(say, stopped):  # noqa: ARG001 - deaf to being stopped
    say("deaf")
    time.sleep(60)


def own_number():
    """Give the number of the worker's process."""
    return os.getpid()


def rest(seconds, answer):
    time.sleep(seconds)
    return answer


def end_myself():
    """End as a worker does for which there is no memory left."""
    os._exit(9)


def note_and_end_myself(path):
    with open(path, "a", encoding="utf-8") as notes:  # noqa: PTH123 - appended to
        notes.write("noted\n")
    os._exit(9)
