"""A full and a nearly empty roving bobbin in the creel, to scale, with the roving over the guide rod to the rollers."""

from __future__ import annotations

import math

from ringwright.mill.creel import Creel
from ringwright.report import svg
from ringwright.report.svg import Face, Pen

__all__ = ["creel_view"]

SIZE = (340.0, 300.0)
PER_METRE = 420.0
"""User units per metre: a bobbin of 150 mm is drawn 63 across."""
SAG_MOST = 60.0
WORDS = Face(size=13.5, colour=svg.INK2, anchor="middle")


def creel_view(creel: Creel, tensions: tuple[float, float], slack: float, named: tuple[str, str]) -> str:
    """Draw both bobbins; the roving is heavier where it pulls harder [N], and hangs in a loop as long as its slack [m].

    ``named`` stands below the full bobbin and the empty one.
    """
    height = creel.traverse * PER_METRE
    empty, full = (diameter * PER_METRE for diameter in (creel.empty_diameter, creel.full_diameter))
    parts = [svg.line((10, 22), (SIZE[0] - 10, 22), Pen(width=2.4))]
    both = ((82.0, full, tensions[0], named[0]), (252.0, empty * 1.15, tensions[1], named[1]))
    for centre, width, tension, name in both:
        parts += _bobbin(centre, width, empty, height)
        parts += _roving(centre + width / 2, height, tension, slack)
        parts.append(svg.text((centre + 10, SIZE[1] - 8), name, WORDS))
    return svg.figure(SIZE, "", parts)


def _bobbin(centre: float, width: float, tube: float, height: float) -> list[str]:
    """Draw a bobbin on its hanger, with a few of its coils."""
    top = 46.0
    body = Pen(width=1.15, fill=svg.WASH)
    cone = min(14.0, (width - tube) / 2)
    coils = [top + cone + 6 + 14 * k for k in range(int((height - 2 * cone - 6) / 14) + 1)]
    left, right = centre - width / 2 + 2, centre + width / 2 - 2
    outline = (
        (centre - tube / 2, top), (centre - width / 2, top + cone), (centre - width / 2, top + height - cone),
        (centre - tube / 2, top + height), (centre + tube / 2, top + height), (centre + width / 2, top + height - cone),
        (centre + width / 2, top + cone), (centre + tube / 2, top),
    )  # fmt: skip
    return [
        svg.line((centre, 22), (centre, top), Pen(width=3.0)),
        svg.rectangle((centre - 9, 26), (18.0, 12.0), svg.EDGE),
        svg.rectangle((centre - tube / 2, top - 6), (tube, height + 12), svg.EDGE),
        svg.area(outline, body),
        *(svg.line((left, y + 2), (right, y - 2), svg.THIN) for y in coils),
    ]


def _roving(rim: float, height: float, tension: float, slack: float) -> list[str]:
    """Draw the roving from the rim over the rod to the rollers."""
    pen = Pen(colour=svg.WOAD, width=min(max(0.9, 0.55 + 100 * tension / 8), 8.0), cap="round")
    start, rod, nip = (rim, 46 + height * 0.55), (rim + 34, 222.0), (rim + 22, 262.0)
    deep = min(SAG_MOST, 900 * slack)
    points = [_between(start, rod, deep, k / 16) for k in range(17)]
    rollers = [svg.circle((nip[0] - 9, nip[1] + 4), 9, svg.EDGE), svg.circle((nip[0] + 9, nip[1] + 4), 9, svg.EDGE)]
    return [svg.polyline([*points, (nip[0], nip[1])], pen), svg.circle(rod, 4, Pen(width=1.15, fill=svg.INK)), *rollers]


def _between(start: svg.Point, end: svg.Point, deep: float, share: float) -> svg.Point:
    """Give a point of the hanging roving: straight where nothing is slack."""
    x, y = (a + (b - a) * share for a, b in zip(start, end, strict=True))
    return x, y + deep * math.sin(math.pi * share)
