"""The setting card on a terminal: plain text of 80 to 100 columns, with no colour and no control codes."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from ringwright.report.card import Card, Row, Statement
from ringwright.report.limits_chart import Room, nearest_first, room_span, room_words
from ringwright.report.number import NARROW_SPACE, Number, interval, signed, written
from ringwright.report.svg import printable
from ringwright.report.terminal_chart import terminal_tension

__all__ = ["terminal_card"]

NARROWEST, WIDEST = 80, 100


def terminal_card(card: Card, *, width: int = 80) -> str:
    """Write the card as lines of at most ``width`` columns; widths outside 80 to 100 are brought to the nearer end."""
    columns = min(max(width, NARROWEST), WIDEST)
    blocks = [
        _head(card, columns),
        [_line(b.name, written(b.number), b.number.origin.value, b.note) for b in card.big],
        _section("Settings", [_row(row) for row in card.settings]),
        _section("Change wheels and the error they leave", _wheels(card)),
        _section("Room to each limit, nearest first, worst moment of the doff", _rooms(card.rooms, columns)),
        _section("Tension in the yarn through the doff, cN", terminal_tension(card.tension, columns)),
        _section("Read with the tension meter, at the lappet", [_reading(r.place, r.expected) for r in card.readings]),
        _section("Before the first doff", [f"[ ] {check}" for check in card.checks]),
        [f"Mind: {caution}" for caution in card.cautions],
        [f"{card.stop.act} {card.stop.rest}"],
        [f"Brackets and open strips (-) span {card.interval_spans}. {card.made_by}."],
        _section("Sources", [source.words for source in card.sources]),
    ]
    lines = [line for block in blocks if block for line in ("", *block)]
    return "\n".join(_fitted(lines[1:], columns)) + "\n"


def _section(title: str, lines: Iterable[str]) -> list[str]:
    inside = [f"  {line}" for line in lines]
    return [title, *inside] if inside else []


def _head(card: Card, columns: int) -> list[str]:
    left, right = f"{card.frame}, {card.yarn}", f"Setting card, setting {card.setting}"
    gap = " " * max(2, columns - len(left) - len(right))
    return [left + gap + right, f"{card.mill}, {card.subtitle}", "=" * columns]


def _line(name: str, value: str, origin: str, note: str = "", *, name_width: int = 18) -> str:
    return f"{name:<{name_width}}{value:>12}  {origin:<16}{note}".rstrip()


def _row(row: Row) -> str:
    if isinstance(row.value, Statement):
        return _line(row.name, row.value.words, row.value.origin.value, name_width=28)
    return _reading(row.name, row.value)


def _reading(name: str, number: Number) -> str:
    span = interval(number)
    return _line(name, written(number), number.origin.value, f"({span})" if span else "", name_width=28)


def _wheels(card: Card) -> list[str]:
    return [
        f"{w.name:<18}{written(w.teeth):>10} {written(w.gives):>14}  {w.gives.origin.value:<10}"
        f"leaves {w.leaves_in} {signed(w.leaves)}"
        for w in card.wheels
    ]


def _rooms(rooms: Iterable[Room], columns: int) -> list[str]:
    bar = columns - 62
    lines = []
    for room in nearest_first(list(rooms)):
        if room.room is None:
            lines.append(f"{room.name:<24}{room.not_met}")
            continue
        told = f"{room_words(room)} {room_span(room)}".rstrip()
        lines.append(f"{room.name:<24}{_bar(room, bar)}// {told}")
        lines.append(f"{'':<24}{', '.join(word for word in (room.moment, room.room.origin.value) if word)}")
    return lines


def _bar(room: Room, length: int) -> str:
    """Draw the share used as #, the interval's ends as a strip of -, and the rest of the way as dots."""

    def place(share: float) -> int:
        return round(min(max(share, 0.0), 1.0) * length)

    cells = ["." for _ in range(length)]
    used = place(room.used)
    if room.used_low is not None and room.used_high is not None:
        for k in range(place(room.used_low), place(room.used_high)):
            cells[k] = "-"
    for k in range(min(used, place(room.used_low) if room.used_low is not None else used)):
        cells[k] = "#"
    if used:
        cells[used - 1] = "|"
    return "".join(cells)


def _fitted(lines: Iterable[str], columns: int) -> list[str]:
    fitted: list[str] = []
    for line in lines:
        text = printable(line.replace(NARROW_SPACE, " ")).rstrip()
        indent = " " * (len(text) - len(text.lstrip()) + 4)
        if len(text) <= columns:
            fitted.append(text)
        else:
            fitted += textwrap.wrap(text, columns, subsequent_indent=indent, drop_whitespace=True)
    return fitted
