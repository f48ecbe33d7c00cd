"""Which input matters most, as a figure: for each result the shares of its variance as bars."""

from __future__ import annotations

import numpy as np

from ringwright.report import svg
from ringwright.report.chart import middle
from ringwright.report.number import digits
from ringwright.report.svg import Face, Pen
from ringwright.uncertainty.ranking import Indices
from ringwright.uncertainty.spread import RESULTS, SpreadStudy

__all__ = ["SEEN", "ranking_chart", "short_name"]

SEEN = 0.01
"""Share of the variance below which an input is not named."""


def ranking_chart(study: SpreadStudy) -> str:
    """Draw, for each result, the total shares of the inputs as bars."""
    rows = [(result, found) for result, found in zip(RESULTS, study.ranking, strict=True) if found is not None]
    left, width, step = 250.0, 640.0, 17.0
    parts = [
        svg.text(
            (0, 13), "Which input matters most: share of the variance of each result, %", Face(size=14, weight=600)
        )
    ]
    y = 34.0
    for result, found in rows:
        parts.append(svg.text((0, y + 4), result.name, svg.NAME))
        y += step
        for i in np.argsort(-found.total)[:4]:
            if found.total[i] > SEEN:
                parts += _bar(short_name(study.ranked[int(i)]), found, int(i), (left, width, y))
                y += step
        y += 8
    if not rows:
        parts.append(
            svg.text(
                (width / 2, y + 10), "no ranking: too few of the doffs drawn have a steady balloon", middle(svg.NAME)
            )
        )
        y += 30
    return svg.figure((width, y), "Shares of the variance by input.", parts)


def short_name(name: str) -> str:
    """Shorten the names of inputs that were fitted together, so that they fit beside a bar."""
    return name if ", " not in name else "the fitted ones together"


def _bar(name: str, found: Indices, i: int, place: tuple[float, float, float]) -> list[str]:
    """Draw one bar: what the input makes alone is full, what it makes with others is pale."""
    left, width, y = place
    unit = width - left - 50
    alone, whole = (max(0.0, float(v[i])) for v in (found.first, found.total))
    alone, whole = min(alone, 1.0), min(max(whole, alone), 1.0)
    return [
        svg.text((left - 8, y + 4), name, Face(size=11.7, narrow=True, anchor="end")),
        svg.rectangle((left, y - 5), (unit * whole, 10), Pen(colour=svg.WOAD, width=0.8, fill=svg.WOADWASH)),
        svg.rectangle((left, y - 5), (unit * alone, 10), Pen(colour=svg.WOAD, width=0.8, fill=svg.WOAD)),
        svg.text((left + unit * whole + 6, y + 4), digits(100 * whole, 1), svg.TICK),
    ]
