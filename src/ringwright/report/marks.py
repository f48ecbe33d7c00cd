"""The four drawn marks that say where a number came from."""

from __future__ import annotations

from ringwright.report.number import Origin
from ringwright.report.svg import Pen, figure, polyline, rectangle

__all__ = ["mark", "mark_figure"]

_PEN = Pen(width=1.5)
SIDE = 14.0


def mark(origin: Origin) -> str:
    """Draw a mark in a square of 14 units: callipers, two strokes, a wave, or an open square."""
    match origin:
        case Origin.MEASURED:
            jaws = (polyline(((x, 2.5), (x, 11.5)), _PEN) for x in (1.2, 12.8))
            return polyline(((1.2, 7.0), (12.8, 7.0)), _PEN) + "".join(jaws)
        case Origin.COMPUTED:
            return "".join(polyline(((2.0, y), (12.0, y)), _PEN) for y in (4.8, 9.2))
        case Origin.ASSUMED:
            return f'<path d="M1.2 8.2C3.4 3.2 5.4 4 7 7S10.6 10.8 12.8 5.8" {_PEN.attributes()}/>'
        case Origin.COMMON_PRACTICE:
            return rectangle((2.5, 2.5), (9.0, 9.0), _PEN)


def mark_figure(origin: Origin) -> str:
    """Draw a mark as a figure of its own."""
    return figure((SIDE, SIDE), origin.value, [mark(origin)])
