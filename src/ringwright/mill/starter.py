"""Write a commented starter mill for a person to edit."""

from __future__ import annotations

import os
import re
import shutil
import textwrap
from collections.abc import Mapping
from pathlib import Path
from uuid import uuid4

from ringwright.mill.demo import demo_mill_path
from ringwright.mill.reference import ReferenceRow, reference
from ringwright.refusal import Fault, Refusal
from ringwright.units import NARROW_SPACE

__all__ = ["starter_texts", "write_demo_copy", "write_starter"]

_VALUES = Path(__file__).parent / "starter"
_HEADING = re.compile(r"^\[\[?([^\]]+)\]")
_KEY = re.compile(r"^([A-Za-z0-9_]+)\s*=")
_WIDTH = 110


def write_starter(folder: Path | str) -> Path:
    """Write the starter mill as a new folder and give its path.

    Raises Refusal if anything is there already, or if it cannot be written; then nothing is left behind.
    """
    return _write(folder, {name: text.encode("utf-8") for name, text in starter_texts().items()})


def write_demo_copy(folder: Path | str) -> Path:
    """Write a copy of the demo mill as a new folder and give its path; refuses as ``write_starter``."""
    demo = demo_mill_path()
    files = (file for file in sorted(demo.rglob("*")) if file.is_file() and "__pycache__" not in file.parts)
    return _write(folder, {str(file.relative_to(demo)): file.read_bytes() for file in files})


def _write(folder: Path | str, files: Mapping[str, bytes]) -> Path:
    if not str(folder).strip():
        raise Refusal(Fault(where="the folder", got="empty", wants="the name of a new folder", mend="As: mymill."))
    goal = Path(folder).absolute()
    if os.path.lexists(goal):
        mend = "Give the name of a new folder, or move what is there out of the way."
        raise Refusal(Fault(where=str(folder), got="there already", wants="a new folder", mend=mend))
    if not goal.parent.is_dir():
        mend = f"Make {goal.parent} first."
        raise Refusal(
            Fault(where=str(folder), got="in a folder that is not there", wants="in a folder that is", mend=mend)
        )
    draft = goal.parent / f".{goal.name}-{uuid4().hex[:8]}"
    try:
        draft.mkdir()
        for name, content in files.items():
            (draft / name).parent.mkdir(parents=True, exist_ok=True)
            (draft / name).write_bytes(content)
        draft.rename(goal)
    except OSError as error:
        shutil.rmtree(draft, ignore_errors=True)
        reason = (error.strerror or "unknown reason").lower()
        raise Refusal(
            Fault(where=str(folder), got=f"not writable ({reason})", wants="a folder that you may write")
        ) from None
    return goal


def starter_texts() -> dict[str, str]:
    """Give the text of each starter file: its values with a comment made from the models above every key."""
    rows = {(row.table, row.key): row for row in reference()}
    return {file.name: _commented(file.read_text(encoding="utf-8"), rows) for file in sorted(_VALUES.glob("*.toml"))}


def _commented(text: str, rows: dict[tuple[str, str], ReferenceRow]) -> str:
    """Put a comment above every key that the reference knows."""
    told: list[str] = []
    heading = ""
    for line in text.splitlines():
        if match := _HEADING.match(line):
            parts = match[1].split(".")
            heading = ".".join(parts if parts[0] in {"mill", "limits"} else [parts[0], "NAME", *parts[2:]])
        row = rows.get((heading, key[1])) if (key := _KEY.match(line)) else None
        if row is not None:
            told += textwrap.wrap(_sentence(row), _WIDTH, initial_indent="# ", subsequent_indent="# ")
        told.append(line)
    return "\n".join(told) + "\n"


def _sentence(row: ReferenceRow) -> str:
    """Tell a key in one comment: meaning, range, other units, and what holds if it is left out."""
    parts = [row.meaning[:1].upper() + row.meaning[1:]]
    if row.range:
        parts.append(row.range)
    if row.units.count(","):
        parts.append(f"units: {row.units}")
    if row.default == "may be left out":
        parts.append(row.default)
    elif row.default != "required":
        parts.append(f"if left out: {row.default} ({row.origin})")
    return "; ".join(parts).replace(NARROW_SPACE, " ") + "."
