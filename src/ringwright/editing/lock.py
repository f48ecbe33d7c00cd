"""One writer at a time in a mill's folder, among all processes of the computer; a writer that dies holds nothing."""

from __future__ import annotations

import contextlib
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from ringwright.refusal import Fault, Refusal

__all__ = ["held"]

PATIENCE_S = 5.0
_STEP_S = 0.02


@contextlib.contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold the folder while the block runs; Refusal if another holds it for longer than five seconds, or it cannot be.

    On Windows a hidden file stands in for the folder, which cannot be locked itself there.
    """
    try:
        handle = _open(folder)
    except OSError as error:
        raise _refusal(folder, (error.strerror or "unknown reason").lower()) from None
    try:
        until = time.monotonic() + PATIENCE_S
        while not _taken(handle):
            if time.monotonic() > until:
                raise _refusal(folder, "another program is saving")
            time.sleep(_STEP_S)
        yield
    finally:
        os.close(handle)


def _refusal(folder: Path, reason: str) -> Refusal:
    mend = "Save again in a moment."
    return Refusal(Fault(where=str(folder), got=f"not free to be written ({reason})", wants="free", mend=mend))


if sys.platform == "win32":
    import msvcrt

    def _open(folder: Path) -> int:
        return os.open(folder / ".ringwright-lock", os.O_RDWR | os.O_CREAT)

    def _taken(handle: int) -> bool:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _open(folder: Path) -> int:
        return os.open(folder, os.O_RDONLY)

    def _taken(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True
