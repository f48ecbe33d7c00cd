"""The card's numbers as written words, once for the HTML, the PDF and the terminal."""

from __future__ import annotations

from typing import Any

from ringwright.report.card import Card, Row, Statement, Wheel
from ringwright.report.limits_chart import limits_chart
from ringwright.report.marks import mark_figure
from ringwright.report.number import UNITS, Number, Origin, figures, interval, signed, written
from ringwright.report.position_drawing import position_drawing
from ringwright.report.svg import printable
from ringwright.report.tension_chart import tension_chart

__all__ = ["card_view", "said"]

COLUMN_LEFT, COLUMN_RIGHT = 363.0, 332.0  # user units of 1/96 inch: 96 mm and 88 mm
DRAWING_HEIGHT, TENSION_HEIGHT = 424.0, 184.0


def card_view(card: Card) -> dict[str, Any]:
    """Write the card as plain text and SVG, ready to be set; nothing in it needs rounding or escaping of marks."""
    numbers = {source.key: str(k) for k, source in enumerate(card.sources, start=1)}
    words = {
        "title": f"Setting card {card.frame}, {card.yarn}",
        "head": {k: getattr(card, k) for k in ("mill", "frame", "yarn", "setting", "subtitle", "made_by")},
        "big": [{"name": b.name, "note": b.note, **_number(b.number, numbers)} for b in card.big],
        "rows": [_row(row, numbers) for row in card.settings],
        "wheels": [_wheel(wheel, numbers) for wheel in card.wheels],
        "readings": [{"place": r.place, **_number(r.expected, numbers)} for r in card.readings],
        "interval_spans": card.interval_spans,
        "checks": list(card.checks),
        "cautions": list(card.cautions),
        "stop": {"act": card.stop.act, "rest": card.stop.rest},
        "block": [list(pair) for pair in card.block],
        "sources": [{"number": numbers[s.key], "words": s.words} for s in card.sources],
        "origins": [origin.value for origin in Origin],
        "said": said(card),
    }
    marks = {origin.value: mark_figure(origin) for origin in Origin}
    return {**_printable(words), "marks": marks, "figures": _figures(card)}


def _printable(value: Any) -> Any:  # noqa: ANN401 - nested lists and tables of words
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, dict):
        return {key: _printable(part) for key, part in value.items()}
    return [_printable(part) for part in value]


def _figures(card: Card) -> dict[str, str]:
    return {
        "position": position_drawing(card.position, width=COLUMN_LEFT, height=DRAWING_HEIGHT),
        "tension": tension_chart(card.tension, width=COLUMN_LEFT, height=TENSION_HEIGHT, with_heading=False),
        "rooms": limits_chart(card.rooms, width=COLUMN_RIGHT),
    }


def said(card: Card) -> dict[str, str]:
    """Write the sentence that stands for each figure where it cannot be seen."""
    return {
        "position": f"One spinning position to scale. {card.position.moment}",
        "tension": "Tension in the yarn and spindle speed against the minutes of the doff.",
        "rooms": "Room to each limit, nearest first.",
    }


def _number(number: Number, numbers: dict[str, str]) -> dict[str, str]:
    return {
        "value": figures(number),
        "unit": UNITS[number.unit][2],
        "span": interval(number),
        "origin": number.origin.value,
        "source": numbers.get(number.source, ""),
    }


def _row(row: Row, numbers: dict[str, str]) -> dict[str, str]:
    if isinstance(row.value, Statement):
        told = {"value": row.value.words, "unit": "", "span": "", "origin": row.value.origin.value}
        return {"name": row.name, **told, "source": numbers.get(row.value.source, "")}
    return {"name": row.name, **_number(row.value, numbers)}


def _wheel(wheel: Wheel, numbers: dict[str, str]) -> dict[str, str]:
    return {
        "name": wheel.name,
        "teeth": written(wheel.teeth),
        "gives": written(wheel.gives),
        "leaves": f"{wheel.leaves_in} {signed(wheel.leaves)}",
        "origin": wheel.gives.origin.value,
        "source": numbers.get(wheel.gives.source, ""),
    }
