"""The wharve from above with the belt that turns it, to scale; and a belt laid out straight with its load."""

from __future__ import annotations

import math

from ringwright.report import svg
from ringwright.report.svg import Face, Pen

__all__ = ["belt_laid_out", "wharve_view"]

SIZE = (300.0, 250.0)
PER_METRE = 5600.0
"""User units per metre: a wharve of 20 mm is drawn 112 across."""
ARROW_PER_SPEED = 6.0
WORDS = Face(size=13.5, colour=svg.INK2, anchor="middle")


def wharve_view(diameter: float, blade: float, belt_speed: float, pull: float, *, tape: bool) -> str:
    """Draw a wharve [m] with its blade, the belt's speed [m/s] as an arrow and its pull [N] as its weight."""
    centre, radius = (SIZE[0] / 2, 118.0), diameter / 2 * PER_METRE
    heavy = min(max(1.6 + 2.4 * pull, 2.0), 9.0) if math.isfinite(pull) else 2.0
    belt = Pen(colour=svg.WOAD, width=heavy)
    level = centre[1] + radius + heavy / 2
    parts = [svg.circle(centre, radius + 7, svg.THIN), svg.circle(centre, radius, Pen(width=1.8, fill=svg.WASH))]
    parts.append(svg.circle(centre, blade / 2 * PER_METRE, svg.EDGE))
    if tape:
        parts += _tape(centre, radius + heavy / 2, belt)
    else:
        parts.append(svg.line((8, level), (SIZE[0] - 8, level), belt))
    start = centre[0] - ARROW_PER_SPEED * belt_speed / 2
    end = centre[0] + ARROW_PER_SPEED * belt_speed / 2
    parts += [svg.line((start, level + 22), (end, level + 22), svg.DIMENSION), svg.arrow_head((end, level + 22), 0.0)]
    run = [math.radians(-150 + 12 * k) for k in range(8)]
    arc = [(centre[0] + (radius + 16) * math.cos(a), centre[1] + (radius + 16) * math.sin(a)) for a in run]
    turning = [svg.polyline(list(reversed(arc)), svg.DIMENSION), svg.arrow_head(arc[0], run[0] - math.pi / 2)]
    return svg.figure(SIZE, "", [*parts, *turning])


def _tape(centre: svg.Point, radius: float, pen: Pen) -> list[str]:
    """Draw a tape that embraces half the wharve."""
    x, y = centre
    arc = [(x + radius * math.cos(math.radians(a)), y + radius * math.sin(math.radians(a))) for a in range(90, -91, -6)]
    return [svg.polyline([(8, y + radius), *arc, (8, y - radius)], pen)]


def belt_laid_out(spindles: int, most_spindles: int, pull: float, most_pull: float, name: str) -> str:
    """Draw one belt laid out straight over the wharves it turns, heavier where it pulls harder.

    Lengths are to one scale for all belts of a frame; ``pull`` [N] is what its wharves add up to.
    """
    width, height, left = 640.0, 92.0, 10.0
    long = (width - 2 * left) * spindles / most_spindles
    level, thick = 46.0, 22.0 * pull / most_pull if most_pull > 0 and math.isfinite(pull) else 1.0
    wedge = [(left, level), (left + long, level - thick / 2), (left + long, level + thick / 2)]
    parts = [
        svg.filled(wedge, svg.WOAD),
        svg.line((left, level), (left + long, level), Pen(colour=svg.WOAD, width=1.6)),
    ]
    for k in range(spindles // 12 + 1):
        x = left + long * min(12 * k / spindles, 1.0)
        parts.append(svg.line((x, level - 20), (x, level - 14), svg.THIN))
    parts.append(svg.text((left, 14), name, Face(size=14.0, weight=640)))
    parts.append(svg.text((left, level + 28), "slack side", Face(size=13.0, colour=svg.INK2)))
    end = min(max(left + long, left + 150.0), width - left)
    parts.append(svg.text((end, level + 28), "drum", Face(size=13.0, colour=svg.INK2, anchor="end")))
    return svg.figure((width, height), "", parts)
