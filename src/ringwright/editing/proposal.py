"""What a person typed into a sheet: the files that it would make, and their faults, before anything is written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ringwright.editing.change import Change, changed_content
from ringwright.editing.files import MillFiles
from ringwright.editing.leaves import Path
from ringwright.editing.literal import literal_of
from ringwright.editing.sheet import Sheet
from ringwright.mill.texts import text_from
from ringwright.refusal import Fault, Refusal

__all__ = ["Proposal", "ValueChange", "beside", "proposed"]


@dataclass(frozen=True, slots=True)
class ValueChange:
    """One value as it was and as it becomes; "" stands for one that is not written."""

    path: Path
    was: str
    becomes: str

    @property
    def key(self) -> str:
        """The key as a fault names it."""
        return ".".join(self.path)


@dataclass(frozen=True, slots=True)
class Proposal:
    """The files as they would become, the values that change, and the faults of the mill that they would make."""

    after: MillFiles
    changes: tuple[ValueChange, ...]
    faults: tuple[Fault, ...]


def proposed(files: MillFiles, sheet: Sheet, typed: Mapping[Path, str]) -> Proposal:
    """Put what was typed into the files and check the whole mill that they make.

    Only keys of the sheet are taken; blanks at the ends do not count; an empty field leaves its key out.
    """
    changes: list[ValueChange] = []
    faults: list[Fault] = []
    made: dict[str, list[Change]] = {}
    kinds = sheet.kinds()
    for path, written in sheet.values().items():
        word = typed.get(path, written).strip()
        if word == written.strip():
            continue
        changes.append(ValueChange(path, written, word))
        name = _file_of(files, sheet, path)
        try:
            literal = literal_of(word, kinds[path], _where(files, name, path)) if word else None
        except Refusal as refusal:
            faults += refusal.faults
            continue
        made.setdefault(name, []).append(Change(path, literal))
    contents: dict[str, bytes] = {}
    for name, several in made.items():
        try:
            contents[name] = changed_content(name, files.contents[name], several)
        except Refusal as refusal:
            faults += refusal.faults
    after = files.replaced(contents)
    return Proposal(after, tuple(changes), (*faults, *(fault for fault in after.faults if fault not in faults)))


def beside(sheet: Sheet, faults: tuple[Fault, ...]) -> tuple[dict[Path, list[Fault]], list[Fault]]:
    """Sort faults to the values of a sheet that they speak of; the second list holds those of anything else."""
    known = {".".join(path): path for path in sheet.values()}
    at: dict[Path, list[Fault]] = {}
    others: list[Fault] = []
    for fault in faults:
        key = fault.where.rpartition(", ")[2]
        parts = key.split(".")
        found = next((known[k] for n in range(len(parts), 0, -1) if (k := ".".join(parts[:n])) in known), None)
        if found is None:
            others.append(fault)
        else:
            at.setdefault(found, []).append(fault)
    return at, others


def _file_of(files: MillFiles, sheet: Sheet, path: Path) -> str:
    return files.file_of(path[:2]) or files.file_of(path[:1]) or sheet.file


def _where(files: MillFiles, name: str, path: Path) -> str:
    return text_from(name, files.contents[name]).where(path)
