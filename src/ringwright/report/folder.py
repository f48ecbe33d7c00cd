"""Write a set of files into a folder so that nothing half-written is left behind."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from ringwright.refusal import Fault, Refusal

__all__ = ["write_files"]


def write_files(folder: str, files: Mapping[str, bytes]) -> list[Path]:
    """Write each file whole (a temporary name, then its own); Refusal if the folder cannot be written."""
    target = Path(folder)
    written = []
    try:
        target.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            written.append(_write(target / name, content))
    except OSError as error:
        got = (error.strerror or "not writable").lower()
        raise Refusal(
            Fault(where=str(folder), got=got, wants="a folder that can be written", mend="Name another with --out.")
        ) from None
    return written


def _write(path: Path, content: bytes) -> Path:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.chmod(name, 0o644)  # noqa: PTH101 - the temporary file is private; the finished one is for the shift
        Path(name).replace(path)
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise
    return path
