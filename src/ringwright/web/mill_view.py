"""The words of the mill pages: the list of what the mill has, the fields of a sheet, and where a file is wrong."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

from ringwright.editing.files import MillFiles
from ringwright.editing.leaves import Path
from ringwright.editing.sheet import KINDS, Key, Section, Sheet
from ringwright.refusal import Fault
from ringwright.web.bench_view import MARKS

__all__ = ["faulty", "heads", "key_words", "link_of", "listed", "sections_view", "title_of", "wrong_lines"]

_GROUPS = {
    "frame": "Frames", "yarn": "Yarns", "roving": "Rovings", "traveller": "Travellers", "setting": "Settings",
}  # fmt: skip
_NAMES = {"mill": "The mill's own values", "limits": "Limits"}
_TOLD: dict[str, tuple[str, ...]] = {
    "frame": ("ring {ring.diameter}", "lift {build.lift}", "{spindles} spindles"),
    "yarn": ("{count}", "{process}", "for {end_use}", "{strength}"),
    "roving": ("{count}", "{twist_multiplier}"),
    "traveller": ("{mass}", "{profile}"),
    "setting": ("{frame} with {yarn}", "traveller {traveller}", "{main_speed}"),
}
_WHERE = re.compile(r"^(?P<file>.*?), line (?P<line>\d+)(?:, |$)")


def link_of(kind: str, name: str = "") -> str:
    """Give the address of a sheet."""
    return f"/mill/{quote(kind, safe='')}" + (f"/{quote(name, safe='')}" if name else "")


def title_of(kind: str, name: str) -> str:
    """Name a sheet: "Frame F1"."""
    return _NAMES.get(kind) or f"{kind.capitalize()} {name}"


def listed(files: MillFiles) -> list[dict[str, Any]]:
    """List the sheets of a mill by kind, each with a few words from its file."""
    whole = [
        {"name": _NAMES[kind], "words": words, "file": files.file_of((kind,)) or "", "link": link_of(kind)}
        for kind, words in (("mill", "air, shift, prices, power"), ("limits", "what the settings are held to"))
    ]
    groups: list[dict[str, Any]] = [{"name": "The mill", "kind": "", "rows": whole}]
    for kind in KINDS:
        rows = [
            {
                "name": name, "words": _summary(files, kind, name), "file": files.file_of((kind, name)) or "",
                "link": link_of(kind, name),
            }
            for name in _in_order(kind, files.names(kind))
        ]  # fmt: skip
        groups.append({"name": _GROUPS[kind], "kind": kind, "rows": rows})
    return groups


def _in_order(kind: str, names: Sequence[str]) -> Sequence[str]:
    """Give frames, each of which has its file, by number: F2 before F10; all else as it is written."""
    if kind != "frame":
        return names
    return sorted(names, key=lambda name: re.sub(r"\d+", lambda figure: figure[0].zfill(9), name))


def _summary(files: MillFiles, kind: str, name: str) -> str:
    written = files.written(files.file_of((kind, name)) or "")
    values = {".".join(path[2:]): word for path, word in written.items() if path[:2] == (kind, name)}
    told = []
    for words in _TOLD[kind]:
        wanted = re.findall(r"\{(.*?)\}", words)
        if all(key in values for key in wanted):
            told.append(re.sub(r"\{(.*?)\}", lambda found: values[found[1]], words))
    return ", ".join(told)


def heads(files: MillFiles, kind: str, name: str) -> list[tuple[str, str, str]]:
    """Give the links to the other pages, at a setting that has to do with the sheet: page, word, address."""
    pair = ""
    for setting in files.names("setting"):
        written = files.written(files.file_of(("setting", setting)) or "")
        if setting == name or (kind and written.get(("setting", setting, kind)) == name):
            pair = f"&pair={quote(setting, safe='')}"
            break
    words = (
        ("bench", "Bench"), ("doff", "Doff"), ("parts", "Parts"), ("lessons", "Lessons"), ("better", "Better"),
        ("card", "Card"),
    )  # fmt: skip
    return [(page, word, f"/?page={page}{pair}") for page, word in words]


def sections_view(
    sheet: Sheet, typed: Mapping[Path, str], was: Mapping[Path, str], faults: Mapping[Path, Sequence[Fault]]
) -> list[dict[str, Any]]:
    """Give the sections of a sheet with their fields: what is typed where something is, else what is written."""

    def slot(path: Path, written: str) -> dict[str, Any]:
        text, before = typed.get(path, written), was.get(path, written)
        return {
            "key": ".".join(path), "id": _id(path), "text": text, "was": before,
            "changed": text.strip() != before.strip(), "faults": [str(fault) for fault in faults.get(path, ())],
        }  # fmt: skip

    return [
        {
            "id": _id((section.heading,)),
            "title": _section_title(sheet, section),
            "meaning": section.meaning[:1].upper() + section.meaning[1:],
            "written": section.written,
            "instead": section.instead,
            "fields": [_field(key, slot, section) for key in section.keys],
        }
        for section in sheet.sections
    ]


def faulty(sheet: Sheet, faults: Mapping[Path, Sequence[Fault]]) -> list[dict[str, str]]:
    """List the fields that have a fault, in the order of the sheet: name and element."""
    marks = {"origins": " (origin)", "spread": " (spread)"}
    told = []
    for key in sheet.every_key():
        for path, _, _ in key.slots():
            if path in faults:
                told.append({"title": key_words(key.path[-1]) + marks.get(path[-2], ""), "id": _id(path)})
    return told


def _field(key: Key, slot: Any, section: Section) -> dict[str, Any]:  # noqa: ANN401 - a function of path and word
    value: dict[str, Any] = slot(key.path, key.written)
    word = next((one for one in MARKS if key.comes_from.startswith(one)), "")
    choices = list(key.choices)
    if choices and value["text"] not in choices and value["text"]:
        choices.append(value["text"])
    return value | {
        "title": key_words(key.path[-1]),
        "meaning": key.row.meaning,
        "kind": key.kind,
        "choices": choices,
        "rows": _rows(value["text"]) if key.kind == "list" else 2 if "\n" in value["text"] else 0,
        "required": key.row.default == "required",
        "allowed": key.row.range if not key.choices else "",
        "units": key.row.units if key.row.units.count(",") else "",
        "left_out": _left_out(key),
        "comes_from": key.comes_from if section.written and key.comes_from != key.origin else "",
        "mark": MARKS.get(word, "") if section.written else "",
        "origin": None if key.origin is None else slot(key.origin_path, key.origin),
        "spread": None if key.spread is None else slot(key.spread_path, key.spread),
    }


def _rows(text: str) -> int:
    return min(8, max(2, text.count("\n") + 1 + len(text) // 90))


def _left_out(key: Key) -> str:
    if key.row.default == "required":
        return ""
    origin = f" ({key.row.origin})" if key.row.origin else ""
    if key.row.default == "may be left out":
        return f"It may be left out{origin}."
    return f"If left out: {key.row.default}{origin}."


def _section_title(sheet: Sheet, section: Section) -> str:
    parts = section.heading.split(".")
    if sheet.kind == "mill":
        return key_words(parts[-1]) if len(parts) > 1 else "The mill"
    if sheet.kind == "limits":
        return key_words(parts[-1])
    inner = section.heading.removeprefix(f"{sheet.kind}.{sheet.name}").strip(".").split(".")
    if inner == [""]:
        return sheet.kind.capitalize()
    if inner[-1].isdigit():
        return f"{key_words(inner[-2]).removesuffix('s')} {int(inner[-1]) + 1}"
    return key_words(inner[-1])


def key_words(key: str) -> str:
    """Write a key as words: "bottom_diameter" as "Bottom diameter"."""
    words = key.replace("_", " ")
    return words[:1].upper() + words[1:]


def _id(path: Path) -> str:
    """Make an element's id of a path, with nothing in it that a style sheet would read as more than a name."""
    return "k-" + "".join(sign if sign.isascii() and sign.isalnum() else f"_{ord(sign):x}_" for sign in ".".join(path))


def wrong_lines(files: MillFiles, faults: Sequence[Fault]) -> list[dict[str, Any]]:
    """Give each fault as its sentence, with the line of the file that it names and those beside it."""
    told = []
    for fault in faults:
        found = _WHERE.match(fault.where)
        lines: list[tuple[int, str, bool]] = []
        if found and found["file"] in files.contents:
            text = files.contents[found["file"]].decode("utf-8", "replace").splitlines()
            at = int(found["line"])
            lines = [(n, text[n - 1], n == at) for n in range(max(1, at - 1), min(len(text), at + 1) + 1)]
        told.append({"sentence": str(fault), "lines": lines, "file": found["file"] if found else ""})
    return told
