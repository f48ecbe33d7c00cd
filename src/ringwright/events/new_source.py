"""Write the file of a new source for a person to finish: what the headings suggest, and a comment for every key."""

from __future__ import annotations

import csv
import json
import re
from typing import Final

import pyarrow as pa

from ringwright.events.clock import read_clock

__all__ = ["source_text"]

_WORDS: Final = {
    "machine": ("machine", "frame", "maschine"),
    "spindle": ("spindle", "position", "spindel"),
    "side": ("side", "seite"),
    "date": ("date", "day", "datum"),
    "until": ("until", "end", "to"),
    "time": ("time", "when", "stamp", "zeit", "from", "start"),
    "zone": ("zone", "tz"),
    "fold": ("fold", "dst", "summer"),
    "cop": ("cop", "height", "build"),
    "yarn": ("yarn", "count", "lot", "article"),
    "cause": ("cause", "reason", "fault"),
    "operator": ("operator", "who", "spinner", "tenter"),
    "id": ("id", "number", "event"),
    "kind": ("kind", "state", "what"),
    "speed": ("speed", "rpm"),
    "shift": ("shift",),
}
_FORMATS: Final = (
    "iso", "unix us", "unix ms", "unix s", "%d.%m.%Y %H:%M:%S", "%d.%m.%Y %H:%M", "%d/%m/%Y %H:%M:%S",
    "%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M:%S", "%m/%d/%Y %H:%M", "%Y/%m/%d %H:%M:%S", "%d-%m-%Y %H:%M:%S",
)  # fmt: skip
_NOTES: Final = {
    "machine": "the frame",
    "spindle": "the number of the spindle",
    "side": "the side, if spindles are numbered on each side",
    "time": "the time, or the time of day if date is given too",
    "date": "the date, if date and time are apart",
    "until": "the end of a stretch, for running time",
    "zone": "the time zone, if it changes from row to row",
    "fold": "the word that tells the first from the second repeated hour",
    "cop": "the place in the cop",
    "yarn": "the yarn",
    "cause": "the cause",
    "operator": "the operator",
    "id": "the source's own id of the event; repeats of it are recognised",
    "kind": "start, stop, doff, traveller change, run or speed, for running time",
    "speed": "the spindle speed, for running time",
    "shift": "the shift, for running time",
}


def source_text(name: str, sample: str) -> str:
    """Give the text of a source's TOML file, suggested by the first lines of one of its CSV files.

    What is only guessed says so; the zone is never guessed, and the source is refused until it is written.
    """
    lines = sample.splitlines()
    header = lines[0].removeprefix("\ufeff") if lines else ""
    separator = max((",", ";", "\t", "|"), key=header.count)
    headings = [one.strip() for one in next(csv.reader([header], delimiter=separator), [])]
    rows = [row for row in csv.reader(lines[1:200], delimiter=separator) if len(row) == len(headings)]
    found = _guessed(headings)
    holds = "running" if "kind" in found and "spindle" not in found else "breaks"
    decimal = "," if separator != "," and _some(rows, found.get("cop"), r"[0-9]+,[0-9]+") else "."
    return _TEXT.format(
        name=json.dumps(name),
        holds=holds,
        separator=json.dumps(separator),
        decimal=decimal,
        columns=_columns(found, headings),
        format=_format(rows, found),
        unit="percent" if _some(rows, found.get("cop"), r"[1-9][0-9]+([.,][0-9]*)?") else "share",
    )


def _guessed(headings: list[str]) -> dict[str, int]:
    """Guess which heading is which of our columns, each heading once."""
    found: dict[str, int] = {}
    for name, words in _WORDS.items():
        for place, heading in enumerate(headings):
            parts = re.split(r"[^a-z]+", heading.lower())
            if place not in found.values() and name not in found and any(word in parts for word in words):
                found[name] = place
    if "date" in found and "time" not in found:
        found["time"] = found.pop("date")
    return found


def _columns(found: dict[str, int], headings: list[str]) -> str:
    """Write the [columns] table: guesses first as they stand, the others as comments."""
    told = []
    for name, note in _NOTES.items():
        if name in found:
            told.append(f"{name} = {json.dumps(headings[found[name]], ensure_ascii=False)}   # {note}")
        else:
            told.append(f'# {name} = ""   # {note}')
    left = [heading for place, heading in enumerate(headings) if place not in found.values()]
    if left:
        told.append("# Headings not used so far: " + json.dumps(left, ensure_ascii=False))
    return "\n".join(told)


def _some(rows: list[list[str]], place: int | None, pattern: str) -> bool:
    """Tell whether some cell of a column has a form."""
    return place is not None and any(re.fullmatch(pattern, row[place].strip()) for row in rows)


def _format(rows: list[list[str]], found: dict[str, int]) -> str:
    """Find the formats that read every time of the sample, and write the first with the others in a comment."""
    if "time" not in found or not rows:
        return 'format = "iso"'
    date = found.get("date")
    texts = [(f"{row[date].strip()} " if date is not None else "") + row[found["time"]].strip() for row in rows]
    fitting = [form for form in _FORMATS if _reads_all(texts, form)]
    if not fitting:
        return f'format = "iso"   # does not read {json.dumps(texts[0][:40], ensure_ascii=False)}; write its codes'
    others = f"; these rows would also read as {', '.join(fitting[1:])}" if fitting[1:] else ""
    return f"format = {json.dumps(fitting[0])}   # guessed from the first rows{others}"


def _reads_all(texts: list[str], form: str) -> bool:
    """Tell whether a format reads every text."""
    clock = read_clock(pa.array(texts, pa.string()), form)
    return bool((clock.reads & clock.exists).all())


_TEXT: Final = """\
# A source of records: stated once, read by ringwright take. The columns are guessed from the headings; check them.

name = {name}
holds = "{holds}"   # breaks: end breaks; running: starts, stops, doffs, traveller changes, speeds
encoding = "utf-8"   # or cp1252, latin-1, cp1250, cp1251, cp1254, utf-16
separator = {separator}
decimal = "{decimal}"
# speed_unit = "rpm"   # or rev/s
# unknown_yarns = "set aside"   # or keep: what to do with a yarn that the mill does not have
# unknown_causes = "keep"   # or set aside: what to do with a cause that [causes] does not have

[columns]   # our name = the source's heading
{columns}

[time]
# iso (2026-03-29 14:05:00, with or without an offset), unix s, unix ms, unix us, or codes: %Y %y year, %m month,
# %d day, %H hour, %I with %p hour of twelve, %M minute, %S second, %f digits after it, %z offset from UTC.
{format}
# zone = "Europe/London"   # write the zone of the source's clock, an IANA name; "UTC" if it knows no summer time
# What tells the two passes of the hour that repeats when the clocks go back:
#   "set aside"   nothing does; such rows are set aside, and can be mended by an offset after the time
#   "by order"    the rows of a frame stand in order of time, so that its time steps back once
#   "by column"   the word in the fold column: first = "...", second = "..."
repeated_hour = "set aside"

[spindles]
numbering = "through"   # 1 to the last, side 1 first; or "side and number": 1 to the last of each side
# sides = {{ L = 1, R = 2 }}   # the source's words for the sides

[cop]
unit = "{unit}"   # share: 0 to 1 of the doff; percent: 0 to 100; mm: of the frame's lift

[machines]   # the source's name of a frame = its name in the mill; frames of the same name need no line
# "RF 101" = "F1"

[yarns]   # the source's name of a yarn = its name in the mill

[causes]   # the source's word = our word

[kinds]   # the source's word = start, stop, doff, traveller change, run or speed
"""
