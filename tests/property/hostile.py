"""Hostile rows, seeded, and a plain row-by-row check of our own to hold the quick one against."""

from __future__ import annotations

import csv
import random
import re
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

ZONE = "Europe/Berlin"
SPINDLES = {"F1": 1008, "F2": 1008, "F3": 1008, "F4": 1008}
YARNS = ("AV30K", "AV20W", "AV40B", "AV60C")
HEADINGS = ("id", "frame", "spindle", "when", "cop", "yarn", "cause", "who")

SOURCE = """
name = "hostile"
holds = "breaks"

[columns]
id = "id"
machine = "frame"
spindle = "spindle"
time = "when"
cop = "cop"
yarn = "yarn"
cause = "cause"
operator = "who"

[time]
format = "%Y-%m-%d %H:%M:%S"
zone = "Europe/Berlin"

[cop]
unit = "percent"
"""

MACHINES = (
    "",
    "f1",
    "F9",
    "F1 ",
    " F2",
    "F1\u200b",
    "F\uff11",
    "'; DROP TABLE breaks;--",
    "=1+1",
    "\u202eF1",
    "F" * 500,
)
WHOLES = (
    "", "0", "-1", "1009", "1008", "12.0", "12.5", "1e2", "+7", "٣", "²", "0x10", "999999999999999999999", "nan", "1_0",
    "7 7", "1008.00", "1008.0000000000", "00000012",
)  # fmt: skip
TIMES = (
    "", "2026-02-30 10:00:00", "2026-13-01 10:00:00", "2026-03-29 02:30:00", "2025-10-26 02:30:00", "2026-03-01",
    "0001-01-01 00:00:00", "9999-12-31 23:59:59", "1989-12-31 23:00:00", "2026-03-01 24:00:00", "2026-03-01 10:60:00",
    "2026-03-01 10:00:60", "2026-3-1 1:2:3", "2026-03-01T10:00:00", "2025-10-26 02:30:00 +02:00",
    "2026-03-01 10:00:00Z", "2026-03-01 10:00:00 +25:00", "2026-03-01 10:00:00 -05:30",
    "\uff12026-03-01 10:00:00", "2024-02-29 10:00:00", "now",
    "2026-03-01 10:00:00 ", "2026-03-01 10:00:00.5", "2098-01-01 00:00:00", "2026-03-01 1O:00:00",
)  # fmt: skip
COPS = ("", "0", "100", "100.1", "-0.1", "-0", "nan", "inf", "1e1", "1e99", "5,5", ".5", "5.", ".", "1e-400", "50%")
TEXTS = (
    "", "=HYPERLINK(1)", "<script>alert(1)</script>", "\x1b[31mred", "a\tb", "x" * 201, "x" * 200, "Müller",
    "\u0085", "\u202eabc", "naïve", "a\rb", "\u00a0", "É", "日本語", "\U0001f9f5", "NULL", "\ufeff",
)  # fmt: skip


def rows(count: int, seed: int) -> list[bytes]:
    """Lines of a CSV file without their ends: some good, most with one thing or another amiss."""
    chance = random.Random(seed)  # noqa: S311 - to repeat it, not to hide anything
    made: list[bytes] = []
    for number in range(count):
        made.append(_row(chance, number, made))
    return made


SPOILT = ((1, MACHINES), (2, WHOLES), (3, TIMES), (4, COPS), (5, TEXTS), (6, TEXTS), (7, TEXTS))


def _row(chance: random.Random, number: int, before: list[bytes]) -> bytes:
    """One line."""
    cells = _good(chance, number)
    kind = chance.randrange(22)
    if kind < len(SPOILT):
        place, choices = SPOILT[kind]
        cells[place] = chance.choice(choices)
        return _joined(chance, cells)
    if kind in {7, 8, 9, 10, 11, 12}:
        return _broken(chance, cells, kind)
    if kind in {13, 14} and before:
        again = chance.choice(before[-200:])
        return again if kind == 13 else again.replace(b"slub", b"lap")
    if kind == 15:
        cells[0] = str(chance.randrange(max(number, 1)))
    if kind == 16:
        cells = [f'"{cell}"' for cell in cells]
    if kind == 17:
        said = chance.choice(["a, b", 'say ""no""', ""])
        cells[7] = f'"{said}"'
    return ",".join(cells).encode()


def _broken(chance: random.Random, cells: list[str], kind: int) -> bytes:
    """A line that cannot be cut into cells, or hardly."""
    whole = ",".join(cells).encode()
    match kind:
        case 7:
            return ",".join(cells[: chance.randrange(8)]).encode()
        case 8:
            return ",".join(cells + cells[: chance.randrange(1, 5)]).encode()
        case 9:
            return whole[:40] + chance.choice([b"\xff\xfe", b"\xc3", b"\xed\xa0\x80", b"\x80"]) + b",,"
        case 10:
            return whole.replace(b",", b",\0", 1)
        case 11:
            return chance.choice([b'"', b'",', b',"a"b,', b'"F1', b'a"', b'""""']) + whole
        case _:
            return bytes(chance.randrange(256) for _ in range(chance.randrange(60))).replace(b"\n", b"")


def _good(chance: random.Random, number: int) -> list[str]:
    """The cells of a row without fault, but that it may chance to fall into the hours of a clock change."""
    at = datetime(2025, 10, 1) + timedelta(seconds=chance.randrange(180 * 86400))  # noqa: DTZ001 - local time
    frame = chance.choice(list(SPINDLES))
    cause = chance.choice(("slub", "", "thin place"))
    cop = f"{chance.random() * 100:.1f}"
    return [str(number), frame, str(chance.randint(1, 1008)), str(at), cop, chance.choice(YARNS), cause, "night"]


def _joined(chance: random.Random, cells: list[str]) -> bytes:
    """Join cells, at times with quotation marks."""
    if chance.random() < 0.3:
        cells = [f'"{cell.replace(chr(34), chr(34) * 2)}"' for cell in cells]
    return ",".join(cells).encode()


@dataclass
class Plain:
    """What becomes of rows when they are looked at one by one."""

    taken: list[int] = field(default_factory=list)
    known: list[int] = field(default_factory=list)
    set_aside: dict[int, set[str]] = field(default_factory=dict)
    _events: dict[tuple[str, int, datetime], tuple[str | None, ...]] = field(default_factory=dict)
    _aside: set[tuple[str, int, datetime]] = field(default_factory=set)
    _ids: dict[tuple[str, int], tuple[str, int, datetime]] = field(default_factory=dict)

    def hear(self, line: int, raw: bytes, latest: datetime) -> None:
        """Look at one line."""
        raw = raw.rstrip(b"\r\n")
        try:
            text = raw.decode()
        except UnicodeDecodeError:
            self.set_aside[line] = {"not utf-8"} if b"\0" not in raw else {"zero byte"}
            return
        if "\0" in text:
            self.set_aside[line] = {"zero byte"}
            return
        if not text.strip(" \t\v\f\r\n"):
            return
        try:
            # Python's reader takes a bare carriage return for a line end; here a record is a line.
            kept = text.replace("\r", "\x01CR\x01")
            (cells,) = csv.reader([kept], strict=True) if '"' in text else [kept.split(",")]
        except csv.Error:
            self.set_aside[line] = {"quotation mark"}
            return
        if len(cells) != len(HEADINGS):
            self.set_aside[line] = {"columns"}
            return
        cells = [cell.replace("\x01CR\x01", "\r").strip() for cell in cells]
        found, when, cop = self._faults(cells, latest)
        if found or when is None:
            self.set_aside[line] = found
            return
        self._join(line, cells, when, cop)

    def _faults(self, cells: list[str], latest: datetime) -> tuple[set[str], datetime | None, str | None]:
        """What is wrong with the cells themselves."""
        found = set()
        _, frame, spindle, when, cop, yarn, _, _ = cells
        if frame not in SPINDLES:
            found.add("machine")
        whole = re.fullmatch(r"([0-9]{1,9})(\.0{1,9})?", spindle)
        if not whole or (frame in SPINDLES and not 1 <= int(whole[1]) <= SPINDLES[frame]):
            found.add("spindle")
        at = _time(when, latest)
        if at is None:
            found.add("time")
        number = re.fullmatch(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,2})?", cop)
        if cop and (not number or not 0 <= float(cop) <= 100):
            found.add("cop")
        if yarn and yarn not in YARNS:
            found.add("yarn")
        for place in (0, 6, 7):
            if len(cells[place]) > 200 or _has_control(cells[place]):
                found.add("sign")
        return found, at, (f"{float(cop) / 100:.6g}" if cop and "cop" not in found else None)

    def _join(self, line: int, cells: list[str], when: datetime, cop: str | None) -> None:
        """Hold a good row against the rows before it."""
        key = (cells[1], int(float(cells[2])), when)
        content = (cop, *(cell or None for cell in cells[5:]))
        if key in self._aside:
            self.set_aside[line] = {"known", "same event"}
        elif key in self._events:
            there = self._events[key]
            if any(new is not None and new != old for old, new in zip(there, content, strict=True)):
                self.set_aside[line] = {"known"}
            else:
                self.known.append(line)
        elif cells[0] and self._ids.setdefault((cells[0], when.year * 12 + when.month), key) != key:
            self._aside.add(key)
            self.set_aside[line] = {"id"}
        else:
            self._events[key] = content
            self.taken.append(line)


def _has_control(text: str) -> bool:
    return any(ord(sign) < 32 or 127 <= ord(sign) < 160 for sign in text)


def _time(text: str, latest: datetime) -> datetime | None:
    """Read a time with the standard library; None if it cannot be one, or is one of two."""
    found = re.fullmatch(
        r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2}) ([0-9]{1,2}):([0-9]{1,2}):([0-9]{1,2})"
        r"(?: ?(Z|[+-][0-9]{2}:?[0-9]{2}))?",
        text,
    )
    if not found:
        return None
    try:
        local = datetime(*(int(part) for part in found.groups()[:6]))  # type: ignore[arg-type]  # noqa: DTZ001
    except ValueError:
        return None
    if not datetime(1990, 1, 2) <= local < datetime(2099, 12, 31):  # noqa: DTZ001
        return None
    if found[7]:
        shift = _shift(found[7])
        if shift is None:
            return None
        at = (local - shift).replace(tzinfo=UTC)
    else:
        first, second = (local.replace(tzinfo=ZoneInfo(ZONE), fold=fold).astimezone(UTC) for fold in (0, 1))
        if first != second:
            return None
        at = first
    return at if at <= latest else None


def _shift(text: str) -> timedelta | None:
    if text == "Z":
        return timedelta()
    hour, minute = int(text[1:3]), int(text[-2:])
    if hour > 14 or minute > 59:
        return None
    return timedelta(hours=hour, minutes=minute) * (-1 if text[0] == "-" else 1)


WORDS = {  # what a reason of ours says where the plain check finds the fault
    "not utf-8": "not utf-8 text",
    "zero byte": "zero byte",
    "quotation mark": "quotation mark",
    "columns": "columns; the line of headings has",
    "machine": "the machine",
    "spindle": "the spindle",
    "time": "the time|the clocks of",
    "cop": "the place in the cop",
    "yarn": "the yarn",
    "sign": "has over 200 signs or a control sign",
    "known": "the event is known with|the same event stands",
    "same event": "",
    "id": "was already taken for another event",
}


def reasons_of(path: Path) -> dict[int, str]:
    """Give the reasons by line; read byte by byte, as the rows behind them may hold anything."""
    found = {}
    for raw in path.read_bytes().split(b"\n")[1:-1]:
        line, _, rest = raw.partition(b',"')
        reason, closed, _ = rest.partition(b'",')
        assert closed, raw
        found[int(line)] = reason.decode()
    return found


def untrue(reasons: dict[int, str], plain: Plain) -> list[tuple[int, str, str]]:
    """List lines whose told reasons leave out a fault that the plain check finds: line, fault, what was told."""
    return [
        (line, fault, reasons[line])
        for line, faults in plain.set_aside.items()
        for fault in faults
        if not any(word in reasons[line] for word in WORDS[fault].split("|"))
    ]
