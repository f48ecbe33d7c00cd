"""Where things stand in a store, and how a file gets there whole."""

from __future__ import annotations

import contextlib
import os
import re
import unicodedata
from collections.abc import Iterator
from hashlib import blake2b
from pathlib import Path
from typing import Final

from ringwright.refusal import Fault, Refusal

__all__ = ["INCOMING", "SET_ASIDE", "month_path", "put_in_place", "store_mill", "sync", "told"]

INCOMING: Final = ".incoming"
SET_ASIDE: Final = "set-aside"


def store_mill(name: str) -> str:
    """Give the mill's name as the store writes it: small letters, figures and hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or blake2b(name.encode(), digest_size=6).hexdigest()


def month_path(table: str, mill: str, month: int) -> str:
    """Give the path of a month's file within the store."""
    return f"{table}/mill={mill}/month={month}/{table}.parquet"


@contextlib.contextmanager
def told(where: Path | str) -> Iterator[None]:
    """Turn what the system refuses (full disk, no right to write) into a sentence that names the place."""
    try:
        yield
    except OSError as error:
        place = str(error.filename or where)
        reason = (error.strerror or str(error).splitlines()[0] or "unknown reason").lower()
        wants = "a place that can be read and written, with room"
        mend = "Nothing of this file was taken; put it right and take the file again."
        raise Refusal(Fault(where=place, got=f"not usable ({reason})", wants=wants, mend=mend)) from None


def sync(path: Path) -> None:
    """Have the system write a file or folder through to the disk."""
    if os.name == "nt" and path.is_dir():  # Windows has no such call for folders
        return
    held = os.open(path, os.O_RDONLY if os.name != "nt" else os.O_RDWR)
    try:
        os.fsync(held)
    finally:
        os.close(held)


def put_in_place(root: Path, draft: str, goal: str) -> None:
    """Rename a finished draft to its goal, in one step; a draft that is no longer there was placed before."""
    target = root / goal
    if not (root / draft).exists():
        return
    target.parent.mkdir(parents=True, exist_ok=True)
    with contextlib.suppress(FileNotFoundError):  # another process placed it in this very moment
        (root / draft).replace(target)
    folder = target.parent
    while folder != root.parent:
        sync(folder)
        folder = folder.parent
