"""The mill as it stands on disk: read again when a file has changed, kept as it was last valid when one is wrong."""

from __future__ import annotations

import hashlib
import threading
import time
from collections import OrderedDict
from itertools import count
from pathlib import Path

from ringwright.mill import Mill
from ringwright.refusal import Fault, Refusal
from ringwright.verbs import app

__all__ = ["MillShelf"]

Stamp = tuple[tuple[str, int, int, int, int], ...]
YOUNG_NS = 50_000_000
"""A file changed so lately may be changed again within one tick of the disk's clock, which its stamp would not show."""
KEPT = 16


class MillShelf:
    """Gives the mill, read once for each state of its files; safe to ask from many threads."""

    def __init__(self, where: str) -> None:
        self.where = where
        self._lock = threading.Lock()
        self._stamp: Stamp | None = None
        self._mill: Mill | None = None
        self._faults: tuple[Fault, ...] = ()
        self._known: OrderedDict[int, tuple[Mill, int]] = OrderedDict()
        self._numbers = count(1)
        self.version = 0
        self.mark = ""
        """What tells this state of the mill from any other, also after a new start; "" while the files are wrong."""

    def _now(self) -> Stamp:
        if self.where == app.DEMO:
            return ()
        path = Path(self.where)
        files = sorted(path.glob("*.toml")) if path.is_dir() else [path]
        found = []
        for file in files:
            try:
                seen = file.stat()
            except OSError:
                continue
            found.append((file.name, seen.st_ino, seen.st_size, seen.st_mtime_ns, seen.st_ctime_ns))
        return tuple(found)

    def mill(self) -> Mill:
        """Give the mill; Refusal with every fault of the files as they are now."""
        with self._lock:
            stamp = self._now()
            if stamp != self._stamp:
                self._read()
                young = any(0 <= time.time_ns() - max(one[3:]) < YOUNG_NS for one in stamp)
                self._stamp = None if young else stamp
            if self._faults:
                raise Refusal(self._faults)  # a new one each time: one raised again and again would grow
            assert self._mill is not None  # noqa: S101 - read above, or refused
            return self._mill

    def version_of(self, mill: Mill) -> int:
        """Give the version of the files at which a mill was read; one that is long gone has a version of its own."""
        with self._lock:
            known = self._known.get(id(mill))
            return self._keep(mill, next(self._numbers)) if known is None else known[1]

    def _read(self) -> None:
        """Read the files; the same mill again keeps its version, and what was worked out for it."""
        try:
            mill, self._faults = app.open_mill(self.where), ()
        except Refusal as refusal:
            self._faults, self.mark = tuple(refusal.faults), ""
            return
        self.mark = hashlib.sha256(mill.model_dump_json().encode()).hexdigest()[:12]
        if self._mill is None or mill != self._mill:
            self._mill, self.version = mill, self._keep(mill, next(self._numbers))

    def _keep(self, mill: Mill, version: int) -> int:
        self._known[id(mill)] = (mill, version)
        while len(self._known) > KEPT:
            self._known.popitem(last=False)
        return version
