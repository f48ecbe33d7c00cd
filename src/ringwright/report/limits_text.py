"""A setting held against its limits as text and as values: each limit's room, place, source and owner."""

from __future__ import annotations

from textwrap import wrap
from typing import Any

from ringwright.judgement import Judgement, Room
from ringwright.units import NARROW_SPACE

__all__ = ["limits_text", "limits_values"]

WIDTH = 92


def limits_text(judged: Judgement, fit: str = "") -> str:
    """Tell the limits nearest first, each with who says where it lies; limits that are passed are named before all."""
    choice = judged.doff.choice
    lines = [f"{choice.frame.name}, {choice.yarn.name}: room to each limit, nearest first", "=" * WIDTH]
    passed = [room.name for room in judged.rooms if room.room is not None and room.room < 0]
    lines += wrap(f"Passed: {', '.join(passed)}." if passed else "No limit that has a room is passed.", WIDTH)
    for room in judged.rooms:
        lines += ["", *_room(room)]
    lines += ["", "Mind"]
    lines += [line for note in (*judged.notes, fit) if note for line in _wrapped(note)]
    lines += _wrapped(f"Rooms are computed; intervals span {judged.band}.")
    return "\n".join(lines).replace(NARROW_SPACE, " ")


def _room(room: Room) -> list[str]:
    used = "" if room.used is None else f" ({100 * room.used:.0f} % of the way is used)"
    head, _, rest = room.sentence.partition(": ")
    source = room.source if room.source.startswith(room.origin) else f"{room.origin}, {room.source}"
    return [
        f"{head}{used}",
        *_wrapped(rest[:1].upper() + rest[1:]),
        *_wrapped(f"Limit: {source}. Owner: {room.owner}."),
    ]


def _wrapped(words: str) -> list[str]:
    return wrap(words, WIDTH, initial_indent="  ", subsequent_indent="  ")


def limits_values(judged: Judgement) -> dict[str, Any]:
    """Give the rooms as plain values, SI in the quantity named."""
    choice = judged.doff.choice
    return {
        "frame": choice.frame.name,
        "yarn": choice.yarn.name,
        "origin": "computed",
        "interval_spans": judged.band,
        "limits": [
            {
                "key": room.key,
                "name": room.name,
                "quantity": room.quantity,
                "room": room.room,
                "room_low": room.low,
                "room_high": room.high,
                "value": room.value,
                "limit": room.limit,
                "share_used": room.used,
                "time_s": None if room.place is None else room.place.time,
                "place": "" if room.place is None else room.place.words,
                "not_met": room.not_met,
                "limit_origin": room.origin,
                "source": room.source,
                "owner": room.owner,
            }
            for room in judged.rooms
        ],
        "notes": list(judged.notes),
    }
