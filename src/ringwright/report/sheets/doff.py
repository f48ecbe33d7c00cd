"""The doff on one sheet: what it does to the yarn from empty tube to full cop, and the room to each limit."""

from __future__ import annotations

from ringwright.judgement import Judgement, Room, cautions
from ringwright.judgement.room import told
from ringwright.report.card_filling import chart_room
from ringwright.report.doff_figures import doff_figures
from ringwright.report.doff_text import doff_changes, doff_ranges
from ringwright.report.limits_chart import limits_chart
from ringwright.report.number import Origin
from ringwright.report.sheets.sheet import Picture, Row, Sheet, Table
from ringwright.setting.doff import Comparison, Doff
from ringwright.units import show

__all__ = ["doff_sheet"]

_TITLES = {
    "tension": "Tension in the yarn through the doff",
    "rails": "Height of each rail through the doff",
    "balloon-height-guide-fixed": "Height of the balloon, guide moving and guide fixed",
    "tension-guide-fixed": "Tension in the yarn, guide moving and guide fixed",
    "balloon-height": "Height of the balloon",
    "tension-no-control-ring": "Tension in the yarn, with control ring and without",
}
WIDTH = 640.0


def doff_sheet(shown: Comparison, limit: float | None, judgement: Judgement) -> Sheet:
    """Tell a doff with what it is compared to, the limit on tension (N) or None, and the rooms of the same setting."""
    doff = shown.as_chosen
    choice = doff.choice
    rooms = Picture(
        title="Room to each limit, nearest first",
        svg=limits_chart([chart_room(one) for one in judgement.rooms], width=WIDTH),
        words="; ".join(f"{one.name}: {one.words}" for one in judgement.rooms),
    )
    figures = [
        Picture(title=_TITLES[name], svg=figure, words=f"{_TITLES[name]}, against the minutes of the doff")
        for name, figure in doff_figures(shown, limit).items()
    ]
    return Sheet(
        title=f"The doff of {choice.frame.name} with {choice.yarn.name}",
        answer=_answer(doff, judgement),
        rows=_rows(doff),
        tables=(_through(doff), _rooms(judgement)),
        pictures=(rooms, *figures),
        warnings=tuple(doff.notes),
        notes=(*doff_changes(shown), *judgement.notes, f"Intervals span {judgement.band}."),
        sources=tuple(dict.fromkeys(f"{one.name}: {one.source} ({one.owner})" for one in judgement.rooms)),
        cautions=tuple(one.words for one in cautions(choice.frame, choice.yarn)),
    )


def _answer(doff: Doff, judgement: Judgement) -> str:
    winding = next(one for one in doff_ranges(doff) if one.name == "Winding tension")
    nearest = judgement.rooms[0]
    tension = (
        f"Winding tension lies between {winding.least} and {winding.most}."
        if winding.least
        else "There is no steady balloon at any place of the doff."
    )
    place = f", at {nearest.place.words}" if nearest.place else ""
    return (
        f"{tension} The doff lasts {show(doff.problem.doff_time, 'time', 'min', 0)}. "
        f"Nearest limit: {nearest.name}, {nearest.words}{place}."
    )


def _rows(doff: Doff) -> tuple[Row, ...]:
    p, computed = doff.problem, Origin.COMPUTED.value
    cells = (
        ("Traveller", doff.choice.traveller.mass, "mass", "mg", 1, "as set or as tried"),
        ("Yarn on the cop", p.content, "mass", "g", 1, computed),
        ("Doff lasts", p.doff_time, "time", "min", 0, computed),
        ("Yarn", p.yarn_length, "length", "m", 0, computed),
        ("Mean spindle speed", doff.mean_spindle_speed, "rotation", "rpm", 0, computed),
    )
    rows = []
    for name, value, quantity, unit, digits, origin in cells:
        text = show(value, quantity, unit, digits).removesuffix(unit).strip()
        rows.append(Row(name=name, value=text, unit=unit, origin=origin, raw=value))
    return tuple(rows)


def _through(doff: Doff) -> Table:
    rows = tuple(
        (one.name, one.least, f"{one.at_least:.0f}", one.most, f"{one.at_most:.0f}")
        if one.least
        else (one.name, "not known: no steady balloon", "", "", "")
        for one in doff_ranges(doff)
    )
    return Table(
        title="Through the doff",
        columns=("Quantity", "Least", "at min", "Most", "at min"),
        rows=rows,
        origin=f"computed at {len(doff.places)} places",
        numbers=(1, 2, 3, 4),
    )


def _rooms(judgement: Judgement) -> Table:
    return Table(
        title="Room to each limit, nearest first",
        columns=("Limit", "Room", "Interval", "Value", "Limit lies at", "Where in the doff"),
        rows=tuple(_room(one) for one in judgement.rooms),
        origin="computed; who says where a limit lies stands below",
        numbers=(1, 2, 3, 4),
    )


def _room(room: Room) -> tuple[str, ...]:
    if room.value is None or room.limit is None or room.place is None:
        return (room.name, "", "", "", "", room.words)
    return (
        room.name, room.words, room.interval_words, told(room.value, room.kind), told(room.limit, room.kind),
        room.place.words,
    )  # fmt: skip
