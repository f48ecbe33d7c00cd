"""Read a mill from its TOML files; every fault of every file is told together."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from ringwright.mill.faults import told_faults
from ringwright.mill.frame import Frame
from ringwright.mill.limit import KNOWN_LIMITS, Limit
from ringwright.mill.mill import Mill, speed_faults, unknown_names
from ringwright.mill.setting import Setting
from ringwright.mill.texts import Text, text_from, texts_of
from ringwright.mill.traveller import Traveller
from ringwright.mill.yarn import Roving, Yarn
from ringwright.refusal import Fault, Refusal, nearest

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ringwright.mill.table import Table

__all__ = ["KINDS", "read_mill", "read_mill_files"]

KINDS: dict[str, tuple[type[Table], str]] = {
    "frame": (Frame, "frames"),
    "yarn": (Yarn, "yarns"),
    "roving": (Roving, "rovings"),
    "traveller": (Traveller, "travellers"),
    "setting": (Setting, "settings"),
    "limits": (Limit, "limits"),
}
"""The tables of a mill file beside [mill]: heading, model, and the mill's field that holds them."""


@dataclass(slots=True)
class _Found:
    """What stands in the files so far: place of each named table, models read, faults."""

    places: dict[tuple[str, str], tuple[Text, dict[str, Any]]] = field(default_factory=dict)
    mill: tuple[Text, dict[str, Any]] | None = None
    models: dict[str, dict[str, Any]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def names(self, kind: str) -> list[str]:
        """List the names of a kind, also of those that could not be read."""
        return [name for known, name in self.places if known == kind]


def read_mill(path: Path | str) -> Mill:
    """Read the mill in a folder (all its .toml files together) or in one file; Refusal with every fault found."""
    texts, faults = texts_of(Path(path))
    return _mill_of(texts, faults, str(path))


def read_mill_files(files: Mapping[str, bytes], where: str) -> Mill:
    """Read a mill from its files' contents by name, as they would be in the folder ``where``; refuses as read_mill."""
    texts: list[Text] = []
    faults: list[Fault] = []
    for name, content in files.items():
        try:
            texts.append(text_from(name, content))
        except Refusal as refusal:
            faults += refusal.faults
    return _mill_of(texts, faults, where)


def _mill_of(texts: list[Text], faults: list[Fault], where: str) -> Mill:
    """Make the mill of its texts; the faults are those of files that could not be parsed."""
    found = _Found(faults=list(faults))
    for text in texts:
        _sort(text, found)
    for (kind, name), (text, given) in found.places.items():
        _read_entry(kind, name, text, given, found)
    whole = not faults and not any(heading not in {"mill", *KINDS} for text in texts for heading in text.tables)
    if whole:
        _hold_settings(found)
    facts = _read_facts(found, where, whole=whole)
    if found.faults or facts is None:
        raise Refusal(found.faults)
    return facts.model_copy(update=_tables(found, facts))


def _sort(text: Text, found: _Found) -> None:
    """Put the tables of a text where they belong."""
    for heading, given in text.tables.items():
        where = text.where((heading,))
        if heading != "mill" and heading not in KINDS:
            names = ("mill", *KINDS)
            fault = Fault(
                where=where, got="not a known table", wants=f"one of {', '.join(names)}", mend=nearest(heading, names)
            )
            found.faults.append(fault)
        elif not isinstance(given, dict):
            found.faults.append(Fault(where=where, got="not a table", wants=f"a table, as [{heading}.NAME]"))
        elif heading == "mill":
            if found.mill is None:
                found.mill = (text, given)
            else:
                found.faults.append(_again(text, ("mill",), found.mill[0]))
        else:
            for name, table in given.items():
                _place(heading, name, table, text, found)


def _place(kind: str, name: str, given: object, text: Text, found: _Found) -> None:
    """Note a named table once."""
    path = (kind, name)
    if path in found.places:
        found.faults.append(_again(text, path, found.places[path][0]))
    elif not isinstance(given, dict):
        wants = f"a table with a name, as [{kind}.NAME]"
        found.faults.append(Fault(where=text.where(path), got="not a table", wants=wants))
    else:
        found.places[path] = (text, given)


def _again(text: Text, path: tuple[str, ...], first: Text) -> Fault:
    """Tell a table that stands in two files."""
    got = f"written again (first in {first.where(path)})"
    return Fault(where=text.where(path), got=got, wants="written once", mend="Keep one of them, or rename one.")


def _read_entry(kind: str, name: str, text: Text, given: dict[str, Any], found: _Found) -> None:
    """Read one named table into its model."""
    path = (kind, name)
    model, store = KINDS[kind]
    if kind == "limits" and name not in KNOWN_LIMITS:
        wants = f"one of {', '.join(KNOWN_LIMITS)}"
        found.faults.append(
            Fault(where=text.where(path), got="not a known limit", wants=wants, mend=nearest(name, KNOWN_LIMITS))
        )
        return
    if "name" in given:
        mend = "Delete this line."
        found.faults.append(
            Fault(
                where=text.where((*path, "name")),
                got="written",
                wants=f"left out, as the heading says {name}",
                mend=mend,
            )
        )
    filled = given | {"name": name}
    try:
        found.models.setdefault(store, {})[name] = model.model_validate(filled, context={"written": True})
    except ValidationError as error:
        found.faults += told_faults(error, model, filled, text, path)


def _hold_settings(found: _Found) -> None:
    """Hold each setting against the names and frames of the mill."""
    known = {kind: found.names(kind) for kind in ("frame", "yarn", "roving", "traveller")}
    for (kind, name), (text, given) in found.places.items():
        if kind != "setting":
            continue
        faults = unknown_names(given, known)
        setting = found.models.get("settings", {}).get(name)
        if setting is not None:
            faults += speed_faults(setting, found.models.get("frames", {}))
        for fault in faults:
            where = text.where((kind, name, fault.where))
            found.faults.append(Fault(where=where, got=fault.got, wants=fault.wants, mend=fault.mend))


def _read_facts(found: _Found, where: str, *, whole: bool) -> Mill | None:
    """Read the [mill] table; a fault if it is in none of the files, unless a file could not be read."""
    if found.mill is None:
        if whole:
            mend = "Add [mill] with the mill's name."
            found.faults.append(Fault(where=where, got="without a [mill] table", wants="a mill with one", mend=mend))
        return None
    text, given = found.mill
    stores = {store for _, store in KINDS.values()} & given.keys()
    for store in sorted(stores):
        wants = "a table of its own, as [frame.NAME] or [yarn.NAME]"
        found.faults.append(Fault(where=text.where(("mill", store)), got="inside [mill]", wants=wants))
    try:
        return Mill.model_validate({k: v for k, v in given.items() if k not in stores}, context={"written": True})
    except ValidationError as error:
        found.faults += told_faults(error, Mill, given, text, ("mill",))
        return None


def _tables(found: _Found, facts: Mill) -> dict[str, dict[str, Any]]:
    """Gather the models for the mill, the standing limits under its own."""
    return {store: found.models.get(store, {}) for _, store in KINDS.values()} | {
        "limits": facts.limits | found.models.get("limits", {})
    }
