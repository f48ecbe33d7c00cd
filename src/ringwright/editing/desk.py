"""The mill's files on disk: read as they are now, and written whole, and only over what the writer has seen."""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
import threading
from collections import OrderedDict
from pathlib import Path
from types import MappingProxyType

from ringwright.editing.files import MillFiles
from ringwright.editing.lock import held
from ringwright.mill import demo_mill_path
from ringwright.refusal import Fault, Refusal

__all__ = ["Desk", "Stale"]

REMEMBERED = 32
"""States of the files that are kept, so that a late writer can be shown what changed since."""


class Stale(Exception):  # noqa: N818 - a stale save is a thing that happens, not a fault
    """The files have changed since the writer read them; ``now`` is what they are."""

    def __init__(self, now: MillFiles) -> None:
        self.now = now
        super().__init__("the files have changed")


class Desk:
    """Reads and writes the files of one mill; safe to use from many threads and beside other processes."""

    def __init__(self, where: str, *, demo: bool) -> None:
        """Take the mill in a folder or file, or the demo mill, which is never written."""
        self.path = demo_mill_path() if demo else Path(where)
        self.where = where
        self.read_only = demo or _within(self.path, demo_mill_path())
        self._seen: OrderedDict[str, MillFiles] = OrderedDict()
        self._lock = threading.Lock()

    def read(self) -> MillFiles:
        """Read the files as they are now; Refusal if there is nothing to read or a file may not be read."""
        with self._lock:
            files = self._read()
            self._remember(files)
            return files

    def remembered(self, version: str) -> MillFiles | None:
        """Give an earlier state of the files, if it is still known."""
        return self._seen.get(version)

    def save(self, before: MillFiles, after: MillFiles) -> None:
        """Write the files that differ, each whole and with its mode kept.

        Raises Stale if the files on disk are no longer ``before``, Refusal if the mill is read-only or cannot be
        written; then nothing is changed.
        """
        if self.read_only:
            wants = "a mill of your own"
            raise Refusal(Fault(where=self.where, got="read-only", wants=wants, mend="Start one with: ringwright init"))
        with self._lock, held(self._folder()):
            now = self._read()
            if now.version != before.version:
                self._remember(now)
                raise Stale(now)
            known = self._paths()
            changed = {known[name]: new for name, new in after.contents.items() if new != now.contents.get(name)}
            if not _write_all(changed, {known[name]: old for name, old in now.contents.items()}):
                now = self._read()
                self._remember(now)
                raise Stale(now)
            self._remember(after)

    def _folder(self) -> Path:
        return self.path if self.path.is_dir() else self.path.parent

    def _paths(self) -> dict[str, Path]:
        """Give the files of the mill by name, as the reader of mills finds them."""
        if self.path.is_file():
            return {self.path.name: self.path}
        return {p.name: p for p in sorted(self.path.glob("*.toml")) if p.is_file() and not p.name.startswith(".")}

    def _read(self) -> MillFiles:
        contents = {}
        for name, path in self._paths().items():
            try:
                contents[name] = path.read_bytes()
            except OSError as error:
                reason = (error.strerror or "unknown reason").lower()
                fault = Fault(where=name, got=f"not readable ({reason})", wants="a file that you may read")
                raise Refusal(fault) from None
        if not contents:
            mend = "Put the files back, or start a mill with: ringwright init"
            raise Refusal(Fault(where=self.where, got="without .toml files", wants="the folder of a mill", mend=mend))
        return MillFiles(MappingProxyType(contents), self.where)

    def _remember(self, files: MillFiles) -> None:
        self._seen[files.version] = files
        self._seen.move_to_end(files.version)
        while len(self._seen) > REMEMBERED:
            self._seen.popitem(last=False)


def _within(path: Path, folder: Path) -> bool:
    return path.resolve().is_relative_to(folder.resolve())


def _write_all(changed: dict[Path, bytes], before: dict[Path, bytes]) -> bool:
    """Lay every file down beside its place first, then move all into place; put back what was moved if one fails.

    False, and nothing is changed, where someone has written a file by hand while the new ones were laid down: an
    editor does not ask for the lock.
    """
    drafts: dict[Path, Path] = {}
    backs: dict[Path, Path] = {}
    moved: list[Path] = []
    try:
        for path, content in changed.items():
            drafts[path] = _draft(path.resolve(), content)
            if len(changed) > 1:  # laid down now, as a full disk could not take it later
                backs[path] = _draft(path.resolve(), before[path])
        if not all(_is_still(path, before[path]) for path in changed):
            return False
        for path, draft in drafts.items():
            draft.replace(path.resolve())
            moved.append(path)
            _settle(path.resolve().parent)
    except OSError as error:
        for path in moved:
            if path in backs:
                backs[path].replace(path.resolve())
        reason = (error.strerror or "unknown reason").lower()
        name = next((path.name for path in changed if path not in moved), "the mill")
        raise Refusal(
            Fault(where=name, got=f"not writable ({reason})", wants="a file in a folder that you may write")
        ) from None
    finally:
        for draft in (*drafts.values(), *backs.values()):
            with contextlib.suppress(OSError):
                draft.unlink(missing_ok=True)
    return True


def _is_still(path: Path, content: bytes) -> bool:
    try:
        return path.read_bytes() == content
    except OSError:  # taken away
        return False


def _draft(path: Path, content: bytes) -> Path:
    """Write a file beside its place, down to the disk, with the mode of what it will replace."""
    if not os.access(path, os.W_OK):
        raise PermissionError(13, "Permission denied")
    mode = stat.S_IMODE(path.stat().st_mode)
    draft = path.with_name(f".{path.name}-{secrets.token_hex(6)}")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    try:
        with os.fdopen(handle, "wb") as written:
            written.write(content)
            written.flush()
            draft.chmod(mode)
            os.fsync(written.fileno())
    except OSError:
        draft.unlink(missing_ok=True)
        raise
    return draft


def _settle(folder: Path) -> None:
    """Have the folder itself written down, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
