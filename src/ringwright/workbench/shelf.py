"""The mill as it stands on disk: read again when a file has changed, kept as it was last valid when one is wrong."""

from __future__ import annotations

import threading
from pathlib import Path

from ringwright.mill import Mill
from ringwright.refusal import Refusal
from ringwright.verbs import app

__all__ = ["MillShelf"]

Stamp = tuple[tuple[str, int, int], ...]


class MillShelf:
    """Gives the mill, read once for each state of its files; safe to ask from many threads."""

    def __init__(self, where: str) -> None:
        self.where = where
        self._lock = threading.Lock()
        self._stamp: Stamp | None = None
        self._mill: Mill | None = None
        self._refusal: Refusal | None = None
        self.version = 0

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
            found.append((file.name, seen.st_mtime_ns, seen.st_size))
        return tuple(found)

    def mill(self) -> Mill:
        """Give the mill; Refusal with every fault of the files as they are now."""
        with self._lock:
            stamp = self._now()
            if stamp != self._stamp:
                try:
                    self._mill, self._refusal = app.open_mill(self.where), None
                except Refusal as refusal:
                    self._refusal = refusal
                self._stamp = stamp
                self.version += 1
            if self._refusal is not None:
                raise self._refusal
            assert self._mill is not None  # noqa: S101 - read above, or refused
            return self._mill
