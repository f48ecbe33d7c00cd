"""Write a set of files into a folder so that nothing half-written is left behind."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from errno import EACCES, EEXIST, ENOENT, ENOTDIR, EROFS
from pathlib import Path

from ringwright.refusal import Fault, Refusal

__all__ = ["write_files"]

_GOT = {EEXIST: "the name of a file", ENOTDIR: "inside a file", EACCES: "closed to you", EROFS: "on a read-only disk"}
"""What the commonest errors mean here; others are told in the system's own words."""


def write_files(folder: str, files: Mapping[str, bytes]) -> list[Path]:
    """Write a set of files: all whole under passing names first, then each under its own, so that no half is left.

    Raises Refusal if the folder cannot be made or written.
    """
    target = Path(folder)
    waiting: dict[Path, Path] = {}
    try:
        if not folder.strip():
            raise FileNotFoundError(ENOENT, "without a name")
        target.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            waiting[target / name] = _written(target, name, content)
        for path, passing in waiting.items():
            passing.replace(path)
    except OSError as error:
        for passing in waiting.values():
            passing.unlink(missing_ok=True)
        raise Refusal(
            Fault(
                where=f'the folder "{folder}"',
                got=_GOT.get(error.errno or 0, (error.strerror or "not writable").lower()),
                wants="a folder that can be written",
                mend="Name another with --out.",
            )
        ) from None
    return list(waiting)


def _written(target: Path, name: str, content: bytes) -> Path:
    """Write a file whole under a passing name and give its path; nothing is left behind if that fails."""
    handle, passing = tempfile.mkstemp(dir=target, prefix=f".{name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.chmod(passing, 0o644)  # noqa: PTH101 - the temporary file is private; the finished one is for the shift
    except OSError:
        Path(passing).unlink(missing_ok=True)
        raise
    return Path(passing)
