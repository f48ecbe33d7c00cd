"""The door that is a folder: files renamed into it are taken, then moved aside."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from ringwright.live.desk import Desk

__all__ = ["empty_folder"]

TAKEN: Final = "taken"
BATCH: Final = 2 << 20


def empty_folder(folder: Path, desk: Desk, take_csv: Callable[[Path], object] | None = None) -> int:
    """Take every whole file of the folder: .ndjson by the desk, .csv and .parquet by ``take_csv`` if it is given.

    A file is moved into ``taken`` only after its commit. Files still being written must have another ending and be
    renamed when they are whole. Gives the number of files; Refusal if one could not be committed, and it stays.
    """
    taken = folder / TAKEN
    taken.mkdir(parents=True, exist_ok=True)
    done = 0
    for file in sorted(path for path in folder.iterdir() if path.is_file()):
        if file.suffix == ".ndjson":
            waiting = [desk.bring("folder", part) for part in _parts(file.read_bytes())]
            for answer in waiting:
                answer.result()
        elif file.suffix in {".csv", ".parquet"} and take_csv:
            take_csv(file)
        else:
            continue
        file.replace(taken / file.name)
        done += 1
    return done


def _parts(text: bytes) -> list[bytes]:
    """Part a text at line ends into pieces of some size."""
    parts, at = [], 0
    while at < len(text):
        end = text.find(b"\n", min(at + BATCH, len(text)))
        end = len(text) if end < 0 else end
        parts.append(text[at:end])
        at = end + 1
    return parts
