"""One sheet of the mill: the keys of a frame, yarn or the like, with what each means and what stands in the file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin

from ringwright.editing.files import MillFiles
from ringwright.editing.leaves import Path
from ringwright.editing.literal import Kind
from ringwright.mill.field import ORIGINS, Stated, stated
from ringwright.mill.limit import KNOWN_LIMITS, standing_limits
from ringwright.mill.reference import ReferenceRow, reference, tables
from ringwright.mill.table import Table
from ringwright.units import show

__all__ = ["KINDS", "WHOLE", "Key", "Section", "Sheet", "sheet_of"]

KINDS = ("frame", "yarn", "roving", "traveller", "setting")
"""The headings under which a mill has entries with names, each a sheet."""
WHOLE = ("mill", "limits")
"""The headings of which a mill has one sheet each."""
_REFERS = {("setting", kind): kind for kind in KINDS}


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of a sheet: its path in the file, its row of the reference, and what stands there ("" if nothing).

    ``origin`` and ``spread`` are as written under origins and spread; None where the table has no such thing.
    ``comes_from`` is what holds: the nearest origin written, else measured for a key that is written, else the
    default's own.
    """

    path: Path
    row: ReferenceRow
    kind: Kind
    written: str
    choices: tuple[str, ...] = ()
    origin: str | None = None
    spread: str | None = None
    origin_path: Path = ()
    spread_path: Path = ()
    comes_from: str = ""

    @property
    def dotted(self) -> str:
        """The path as a fault names it."""
        return ".".join(self.path)

    def slots(self) -> Iterator[tuple[Path, str, Kind]]:
        """List what may be changed: path, what is written, kind."""
        yield self.path, self.written, self.kind
        if self.origin is not None:
            yield self.origin_path, self.origin, "text"
        if self.spread is not None:
            yield self.spread_path, self.spread, "text"


@dataclass(frozen=True, slots=True)
class Section:
    """The keys of one table; ``written`` is False for a table that is left out, ``instead`` what then holds."""

    heading: str
    meaning: str
    keys: tuple[Key, ...]
    written: bool
    instead: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One frame, yarn, roving, traveller or setting, or the mill's own values, or its limits."""

    kind: str
    name: str
    file: str
    sections: tuple[Section, ...]

    def every_key(self) -> Iterator[Key]:
        """List the keys of all sections."""
        for section in self.sections:
            yield from section.keys

    def values(self) -> dict[Path, str]:
        """Give what is written, by path; "" for what may be written and is not."""
        return {path: written for key in self.every_key() for path, written, _ in key.slots()}

    def kinds(self) -> dict[Path, Kind]:
        """Give the kind of each value, by path."""
        return {path: kind for key in self.every_key() for path, _, kind in key.slots()}


def sheet_of(files: MillFiles, kind: str, name: str = "") -> Sheet | None:
    """Make the sheet of an entry, or of one of WHOLE; None if the files have no such entry."""
    if kind in KINDS:
        file = files.file_of((kind, name)) if name in files.names(kind) else None
    else:
        file = files.file_of((kind,)) or files.file_of(("mill",)) if kind in WHOLE and not name else None
    if file is None:
        return None
    sections = []
    for heading, model in tables().items():
        for path in _places(files, heading, kind, name):
            keys = tuple(_keys(files, heading, model, path))
            if keys:
                there = files.file_of(path) is not None or path[-1].isdigit()
                instead = "" if there else _standing(heading)
                sections.append(Section(".".join(path), _meaning(heading, model), keys, there, instead))
    return Sheet(kind=kind, name=name, file=file, sections=tuple(sections))


def _places(files: MillFiles, heading: str, kind: str, name: str) -> list[Path]:
    """Give the paths at which the tables of a heading stand in a sheet: one, or one for each of a list."""
    parts = tuple(heading.split("."))
    if parts[0] != kind:
        return []
    path = tuple(name if part == "NAME" else part for part in parts)
    value: Any = None
    if (file := files.file_of(path)) is not None:
        value = files.data(file)
        for part in path:
            value = value[part]
    return [(*path, str(place)) for place in range(len(value))] if isinstance(value, list) else [path]


def _meaning(heading: str, model: type[Table]) -> str:
    """Say what a table is."""
    above, _, last = heading.rpartition(".")
    if heading.startswith("limits."):
        return KNOWN_LIMITS[last].meaning
    parent = tables().get(above)
    if parent is not None and last in parent.model_fields:
        return stated(parent, last).meaning
    return (model.__doc__ or "").split("\n", 1)[0].split(":")[0].rstrip(".")


def _standing(heading: str) -> str:
    """Say which limit holds where the mill writes none."""
    name = heading.removeprefix("limits.")
    limit = standing_limits().get(name)
    if limit is None:
        return ""
    told = KNOWN_LIMITS[name]
    return f"{show(limit.value, told.quantity, told.unit)} holds instead ({limit.source})"


def _keys(files: MillFiles, heading: str, model: type[Table], path: Path) -> Iterator[Key]:
    entry = path[:1] if path[0] == "mill" else path[:2]
    with_origins = path[0] in (*KINDS, "mill") and not path[-1].isdigit()
    values = _values(files, path)
    for row in reference():
        if row.table != heading or row.key in {"origins", "spread"}:
            continue
        at = (*path, row.key)
        told = _told(heading, model, row.key)
        within = ".".join(at[len(entry) :])
        spread_path = (*entry, "spread", within)
        kind, choices = _kind(model.model_fields[row.key].annotation, told)
        yield Key(
            path=at, row=row, kind=kind, written=values.get(at, ""),
            choices=choices or tuple(files.names(_REFERS.get((path[0], row.key), ""))),
            origin=values.get((*entry, "origins", within), "") if with_origins else None,
            origin_path=(*entry, "origins", within), spread=values.get(spread_path), spread_path=spread_path,
            comes_from=_comes_from(values, entry, at[len(entry) :], row, written=at in values) if with_origins
            else _of_limit(values, at),
        )  # fmt: skip


def _of_limit(values: Mapping[Path, str], at: Path) -> str:
    """Give the origin of a limit's value: its source, which counts as measured unless it begins with another word."""
    source = values.get((*at[:-1], "source"), "")
    if at[0] != "limits" or at[-1] != "value" or not source:
        return ""
    return source if source.startswith(ORIGINS) else f"measured, {source}"


def _comes_from(values: Mapping[Path, str], entry: Path, within: Path, row: ReferenceRow, *, written: bool) -> str:
    for length in range(len(within), 0, -1):
        text = values.get((*entry, "origins", ".".join(within[:length])))
        if text is not None:
            return text
    return "measured" if written else row.origin


def _values(files: MillFiles, path: Path) -> Mapping[Path, str]:
    file = files.file_of(path[:2]) or files.file_of(path[:1])
    return {} if file is None else files.written(file)


def _told(heading: str, model: type[Table], key: str) -> Stated:
    if heading.startswith("limits.") and key == "value":
        return KNOWN_LIMITS[heading.removeprefix("limits.")]
    return stated(model, key)


def _kind(annotation: object, told: Stated) -> tuple[Kind, tuple[str, ...]]:
    """Say how a value is written, and the words to choose from."""
    if told.quantity:
        return ("number" if told.quantity == "ratio" else "quantity"), ()
    inner = get_args(annotation)[0] if get_origin(annotation) in {Union, UnionType} else annotation
    if inner is bool:
        return "switch", ("true", "false")
    if get_origin(inner) is Literal:
        return "choice", get_args(inner)
    return ("list" if get_origin(inner) is tuple else "text"), ()
