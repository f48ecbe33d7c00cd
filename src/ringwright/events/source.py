"""A source of records, stated once: its columns, time, zone, numbering and words."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal

from pydantic import ValidationError, field_validator, model_validator

from ringwright.events.clock import DIRECTIVES, UNIX
from ringwright.events.zones import zone_names
from ringwright.mill.faults import told_faults
from ringwright.mill.field import plain_field
from ringwright.mill.table import Table
from ringwright.mill.texts import texts_of
from ringwright.refusal import Fault, Refusal, nearest

__all__ = ["Columns", "Cop", "Source", "Spindles", "Time", "read_source"]

UnknownWord = Literal["set aside", "keep"]


class Columns(Table):
    """The headings of the source's columns; each may be left out if the source has no such column."""

    time: str = plain_field("heading of the column with the time, or with the time of day if date is given too")
    machine: str = plain_field("heading of the column with the frame")
    date: str = plain_field("heading of the column with the date, if date and time are apart", default="")
    zone: str = plain_field("heading of the column with the time zone", default="")
    fold: str = plain_field("heading of the column that tells the first from the second repeated hour", default="")
    spindle: str = plain_field("heading of the column with the spindle's number", default="")
    side: str = plain_field("heading of the column with the frame's side", default="")
    cop: str = plain_field("heading of the column with the place in the cop", default="")
    yarn: str = plain_field("heading of the column with the yarn", default="")
    cause: str = plain_field("heading of the column with the cause", default="")
    operator: str = plain_field("heading of the column with the operator", default="")
    id: str = plain_field("heading of the column with the source's own id of the event", default="")
    kind: str = plain_field("heading of the column that says start, stop, doff and so on", default="")
    until: str = plain_field("heading of the column with the end of a stretch", default="")
    speed: str = plain_field("heading of the column with the spindle speed", default="")
    shift: str = plain_field("heading of the column with the shift", default="")

    def stated(self) -> dict[str, str]:
        """Give the headings that are stated, by our own names."""
        return {name: heading for name in type(self).model_fields if (heading := getattr(self, name))}


class Time(Table):
    """How the source writes time."""

    format: str = plain_field("iso, unix s, unix ms, unix us, or codes such as %d.%m.%Y %H:%M:%S", default="iso")
    zone: str = plain_field("IANA name of the zone of the source's clock", default="")
    repeated_hour: Literal["set aside", "by order", "by column"] = plain_field(
        "what tells the two passes of the hour that repeats when the clock goes back", default="set aside"
    )
    first: str = plain_field("word in the fold column for the first pass (before the clock goes back)", default="")
    second: str = plain_field("word in the fold column for the second pass", default="")

    @field_validator("format")
    @classmethod
    def _format_fits(cls, given: str) -> str:
        """Refuse formats with unknown codes, or without a date or a time of day."""
        if given == "iso" or given in UNIX:
            return given
        codes = re.findall(r"%(.?)", given)
        unknown = [code for code in codes if code not in DIRECTIVES]
        wants = 'iso, unix s, unix ms, unix us, or codes such as "%d.%m.%Y %H:%M:%S"'
        if unknown or not codes:
            got = f'"{given}"' + (f", with the unknown code %{unknown[0]}" if unknown else "")
            mend = "Known codes: " + ", ".join(f"%{code}" for code in DIRECTIVES) + "."
            raise Refusal(Fault(where="", got=got, wants=wants, mend=mend))
        wanted = (("%Y", "%y"), ("%m",), ("%d",), ("%H", "%I"), ("%M",))
        missing = [ways[0] for ways in wanted if not any(f"{way}" in given for way in ways)]
        if "%I" in given and "%p" not in given:
            missing.append("%p")
        twice = sorted({code for code in codes if codes.count(code) > 1 and code != "%"})
        if missing or twice:
            got = f'"{given}", ' + (f"without {missing[0]}" if missing else f"with %{twice[0]} twice")
            raise Refusal(Fault(where="", got=got, wants="a format with year, month, day, hour and minute, each once"))
        return given

    @field_validator("zone")
    @classmethod
    def _zone_is_known(cls, given: str) -> str:
        """Refuse names that are no IANA zone."""
        if given and given not in zone_names():
            wants = 'an IANA name of a time zone, as "Europe/Berlin"'
            raise Refusal(Fault(where="", got=f'"{given}"', wants=wants, mend=_nearest_zone(given)))
        return given


class Spindles(Table):
    """How the source numbers spindles."""

    numbering: Literal["through", "side and number"] = plain_field(
        "through: 1 to the last, side 1 first; side and number: 1 to the last of each side", default="through"
    )
    sides: dict[str, Literal[1, 2]] = plain_field(
        "the source's words for side 1 and side 2", default_factory=lambda: {"1": 1, "2": 2}
    )


class Cop(Table):
    """How the source tells the place in the cop."""

    unit: Literal["share", "percent", "mm"] = plain_field(
        "share: 0 to 1 of the doff; percent: 0 to 100 of the doff; mm: of the frame's lift", default="share"
    )


class Source(Table):
    """One source of records, as its file states it."""

    name: str = plain_field("name of the source")
    holds: Literal["breaks", "running"] = plain_field("breaks: end breaks; running: starts, stops, doffs and so on")
    encoding: str = plain_field("how the file's letters are coded", default="utf-8")
    separator: Literal[",", ";", "\t", "|"] = plain_field("what stands between two columns", default=",")
    decimal: Literal[".", ","] = plain_field("the decimal sign", default=".")
    speed_unit: Literal["rpm", "rev/s"] = plain_field("unit of the spindle speed", default="rpm")
    columns: Columns = plain_field("the headings of the columns")
    time: Time = plain_field("how time is written")
    spindles: Spindles = plain_field("how spindles are numbered", default_factory=Spindles)
    cop: Cop = plain_field("how the place in the cop is told", default_factory=Cop)
    machines: dict[str, str] = plain_field("the source's name of a frame = its name in the mill", default_factory=dict)
    yarns: dict[str, str] = plain_field("the source's name of a yarn = its name in the mill", default_factory=dict)
    causes: dict[str, str] = plain_field("the source's word for a cause = our word", default_factory=dict)
    kinds: dict[str, Literal["start", "stop", "doff", "traveller change", "run", "speed"]] = plain_field(
        "the source's word for what happened = start, stop, doff, traveller change, run or speed", default_factory=dict
    )
    unknown_yarns: UnknownWord = plain_field("what to do with a yarn that the mill does not have", default="set aside")
    unknown_causes: UnknownWord = plain_field("what to do with a cause that [causes] does not have", default="keep")

    @field_validator("encoding")
    @classmethod
    def _encoding_is_known(cls, given: str) -> str:
        """Refuse codings that are not known, or that a line cannot be cut out of."""
        known = ("utf-8", "cp1252", "latin-1", "cp1250", "cp1251", "cp1254", "utf-16")
        if given not in known:
            raise Refusal(Fault(where="", got=f'"{given}"', wants=f"one of {', '.join(known)}"))
        return given

    @model_validator(mode="after")
    def _columns_suffice(self) -> Source:
        """Refuse a source whose columns cannot give what it holds."""
        faults = list(_column_faults(self))
        if faults:
            raise Refusal(faults)
        return self


def _nearest_zone(given: str) -> str:
    """Suggest a zone; the whole list is too long to tell."""
    mend = nearest(given, zone_names())
    return mend if mend.startswith("Did you mean") else "Names are of the form Continent/City."


def _column_faults(source: Source) -> list[Fault]:
    """Give the faults between the parts of a source."""
    columns, time, faults = source.columns, source.time, []
    needed = {"spindle": "breaks", "kind": "running"}
    for column, holds in needed.items():
        if source.holds == holds and not getattr(columns, column):
            faults.append(Fault(where=f"columns.{column}", got="missing", wants=f"written where holds is {holds}"))
    if source.holds == "breaks" and source.spindles.numbering == "side and number" and not columns.side:
        faults.append(Fault(where="columns.side", got="missing", wants="written, as spindles have side and number"))
    if not time.zone and not columns.zone and time.format not in UNIX and "%z" not in time.format:
        mend = 'Write the zone of the clock, as zone = "Europe/Berlin"; "UTC" if the clock has no summer time.'
        faults.append(Fault(where="time.zone", got="missing", wants="written, or a zone column", mend=mend))
    if time.repeated_hour == "by column" and not (columns.fold and time.first and time.second):
        wants = "set, with columns.fold, time.first and time.second"
        faults.append(Fault(where="time.repeated_hour", got='"by column" without its column or words', wants=wants))
    if source.separator == source.decimal:
        faults.append(Fault(where="decimal", got="the same sign as the separator", wants="another sign"))
    headings = list(columns.stated().values())
    twice = sorted({heading for heading in headings if headings.count(heading) > 1})
    faults += [Fault(where="columns", got=f'"{one}" for two things', wants="each heading once") for one in twice]
    return faults


def read_source(path: Path | str) -> Source:
    """Read a source's TOML file; Refusal with every fault, each with file, line and key."""
    texts, faults = texts_of(Path(path))
    if faults:
        raise Refusal(faults)
    if len(texts) != 1:
        raise Refusal(Fault(where=str(path), got="a folder", wants="the TOML file of one source"))
    try:
        return Source.model_validate(texts[0].tables, context={"written": True})
    except ValidationError as error:
        raise Refusal(told_faults(error, Source, texts[0].tables, texts[0], ())) from None
