"""Tension through the doff on a page: the report's chart in the page's colours, with a line at the moment drawn."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from markupsafe import Markup

from ringwright.report import svg
from ringwright.report.svg import Pen
from ringwright.report.tension_chart import LEFT, RIGHT, TensionFigure, tension_chart
from ringwright.web.theme import themed
from ringwright.workbench.whole import Course

__all__ = ["WIDTHS", "doff_chart"]

WIDTHS = (260, 900)
ENLARGED = 1.12
"""The report's letters are for paper; on a screen they are drawn larger by this."""
HEIGHT = 300.0


def doff_chart(a: Course, b: Course | None, time: float, width: float, height: float = HEIGHT) -> Markup:
    """Draw the chart for a page, so many pixels wide, with the cursor at a time (s)."""
    figure = TensionFigure(
        a=replace(a.tension, name="A"),
        b=None if b is None else replace(b.tension, name="B"),
        limit=a.limit,
        limit_name="limit" if a.limit is not None else "",
        speed=a.speed,
    )
    wide, high = width / ENLARGED, height / ENLARGED
    drawn = tension_chart(figure, width=wide, height=high, with_heading=False)
    end = max([*a.tension.time, *(b.tension.time if b else ())])
    x = LEFT + (wide - LEFT - RIGHT) * min(time / end, 1.0)
    cursor = svg.line((x, 4), (x, high - 22), Pen(colour=svg.INK, width=1.6))
    drawn = drawn.replace("</svg>", f'<g class="cursor">{cursor}</g></svg>')
    size = f'width="{svg.short(wide)}" height="{svg.short(high)}" viewBox'
    return themed(drawn.replace(size, f'width="{svg.short(width)}" height="{svg.short(height)}" viewBox', 1))


def known_width(given: str, sizes: Collection[int] = WIDTHS) -> float:
    """Read the width a page asks for, kept within what makes sense."""
    low, high = min(sizes), max(sizes)
    return float(min(max(int(given), low), high)) if given.isascii() and given.isdigit() and len(given) < 5 else 440.0
