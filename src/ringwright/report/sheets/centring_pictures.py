"""Figures of centring: the offset vectors along both sides of a frame, and the rings of each side as a cloud."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ringwright.centring.correcting import tolerance_of
from ringwright.centring.judging import Judged
from ringwright.centring.offsets import Offsets
from ringwright.centring.side import Ints
from ringwright.report import svg
from ringwright.report.chart import middle, right, spread
from ringwright.report.svg import Face, Pen, Point
from ringwright.units import show

__all__ = ["cloud_figure", "map_figure"]

WIDTH = 760.0
LEFT, RIGHT = 76.0, WIDTH - 44.0
STRIP = 118.0
REACH = 42.0
HEAD = 34.0
STICK = Pen(colour=svg.LINE, width=0.9)
NAMED = Pen(width=1.7)
COMMON = Pen(colour=svg.WOAD, width=2.2, dash="7 4")
SMALL = Face(size=11.7, narrow=True)


def map_figure(judged: Judged, part: str) -> str:
    """Draw one part's offsets along the frame: a stick from the spindle's axis to the part's centre, for each side."""
    offsets, sides = judged.round.offsets[part], judged.sides
    reach = _reach(offsets, tolerance_of(judged.frame, part))
    named = {one.spindle for one in judged.corrections if any(_of(move.what) == part for move in one.moves)}
    height = HEAD + STRIP * sides.sides + 26
    parts = [svg.text((0, 13), f"{part.capitalize()} against the spindle along the frame", Face(size=14.0, weight=600))]
    for side in range(1, sides.sides + 1):
        parts += _strip(judged, offsets, side, named, REACH / reach)
    common = any(one.rail.part == part for one in judged.shifts)
    parts += _scale(height, REACH / reach, tolerance_of(judged.frame, part), common=common)
    said = (
        f"Offsets of the {part} at {offsets.read} spindles; {len(named)} single spindles are named, heavy with a dot. "
        "Up is away from the person, down to the front; to the right is towards higher numbers."
    )
    return svg.figure((WIDTH, height), said, parts)


def _of(what: str) -> str:
    return "ring" if what == "spindle" else what


def _reach(offsets: Offsets, tolerance: float) -> float:
    """Give the length [m] that the map must hold; the few longest sticks may pass it."""
    amount = offsets.amount[np.isfinite(offsets.amount)]
    return max(float(np.quantile(amount, 0.998)), tolerance)


def _strip(judged: Judged, offsets: Offsets, side: int, named: set[int], scale: float) -> list[str]:
    numbers = judged.sides.numbers(side)
    base = HEAD + STRIP * (side - 0.5)
    band = tolerance_of(judged.frame, offsets.part) * scale
    step = (RIGHT - LEFT) / max(len(numbers) - 1, 1)
    parts = [
        svg.rectangle((LEFT, base - band), (RIGHT - LEFT, 2 * band), Pen(colour="none", fill=svg.WASH)),
        svg.line((LEFT, base), (RIGHT, base), svg.THIN),
        svg.text((0, base + 4), f"side {side}", Face(size=12.5, weight=600, narrow=True)),
    ]
    heavy, marks = [], []
    for k, spindle in enumerate(numbers.tolist()):
        along, out = float(offsets.along[spindle - 1]), float(offsets.out[spindle - 1])
        if not np.isfinite(along):
            continue
        foot = (LEFT + k * step, base)
        top = (foot[0] + along * scale, base + max(-STRIP / 2 + 4, min(STRIP / 2 - 14, out * scale)))
        if spindle in named:
            heavy += [svg.line(foot, top, NAMED), svg.dot(top, 2.6)]
            marks.append((foot[0], str(spindle)))
        else:
            parts.append(svg.line(foot, top, STICK))
    parts += heavy + _common(judged, offsets.part, side, (base, step, scale))
    return parts + _numbers(marks, base + STRIP / 2 - 2) + _ends(numbers, base)


def _common(judged: Judged, part: str, side: int, place: tuple[float, float, float]) -> list[str]:
    """Draw what the side has in common, where its rail is to be shifted."""
    base, step, scale = place
    for one in judged.shifts:
        if (one.rail.part, one.rail.side) == (part, side):
            line = one.rail.line
            last = LEFT + step * (len(line) - 1)
            ends: list[Point] = [(LEFT, base + line[0, 1] * scale), (last, base + line[-1, 1] * scale)]
            return [svg.polyline(ends, COMMON)]
    return []


def _numbers(marks: Sequence[tuple[float, str]], y: float) -> list[str]:
    """Write the numbers of named spindles, moved apart, and no more than have room."""
    most = int((RIGHT - LEFT) / 26)
    if not marks or len(marks) > most:
        return []
    places = spread([x for x, _ in marks], 25.0)
    return [svg.text((min(max(x, LEFT), RIGHT), y), word, middle(SMALL)) for x, (_, word) in
            zip(places, sorted(marks), strict=True)]  # fmt: skip


def _ends(numbers: Ints, base: float) -> list[str]:
    return [
        svg.text((LEFT - 8, base + 4), str(int(numbers[0])), right(svg.TICK)),
        svg.text((RIGHT + 8, base + 4), str(int(numbers[-1])), svg.TICK),
    ]


def _scale(height: float, scale: float, tolerance: float, *, common: bool) -> list[str]:
    """Say how long the sticks are, and what the grey band and the dashed line are."""
    length = next(mm for mm in (5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01) if mm * 1e-3 * scale <= REACH * 1.2)
    y, run = height - 8, length * 1e-3 * scale
    band = f"grey band: tolerance, {show(tolerance, 'length', 'mm', 2)} either way"
    dashed = "; dashed: the side's common offset" if common else ""
    words = f"{show(length * 1e-3, 'length', 'mm', 2)}; {band}; up is away, down is to the front{dashed}"
    return [svg.line((LEFT, y - 4), (LEFT + run, y - 4), Pen(width=2.0)), svg.text((LEFT + run + 8, y), words, SMALL)]


def cloud_figure(judged: Judged, part: str) -> str:
    """Draw the part's centres seen from above, all spindles of a side about one axis; the tolerance is a circle."""
    size, gap, sides = 236.0, 40.0, judged.sides
    offsets = judged.round.offsets[part]
    reach = 1.2 * _reach(offsets, tolerance_of(judged.frame, part))
    named = {one.spindle for one in judged.corrections if any(_of(move.what) == part for move in one.moves)}
    parts = [svg.text((0, 13), f"{part.capitalize()} centres seen from above, the spindle's axis in the middle",
                      Face(size=14.0, weight=600))]  # fmt: skip
    for side in range(1, sides.sides + 1):
        parts += _cloud(judged, offsets, side, named, ((side - 1) * (size + gap) + 34, 46.0, size, reach))
    said = f"{part.capitalize()} centres of each side about the spindle's axis; the circle is the tolerance."
    return svg.figure((34 + sides.sides * (size + gap), size + 84), said, parts)


def _cloud(
    judged: Judged, offsets: Offsets, side: int, named: set[int], place: tuple[float, float, float, float]
) -> list[str]:
    left, top, size, reach = place
    centre, scale = (left + size / 2, top + size / 2), size / 2 / reach
    parts = [
        svg.rectangle((left, top), (size, size), svg.GRID),
        svg.line((centre[0], top), (centre[0], top + size), svg.CENTRE),
        svg.line((left, centre[1]), (left + size, centre[1]), svg.CENTRE),
        svg.text((left, top - 8), f"side {side}", Face(size=12.5, weight=600)),
        svg.text((left + size, top - 8), "away", right(SMALL)),
        svg.text((left + size, top + size + 14), "to the front; higher numbers to the right", right(SMALL)),
    ]
    for spindle in judged.sides.numbers(side).tolist():
        along, out = float(offsets.along[spindle - 1]), float(offsets.out[spindle - 1])
        if np.isfinite(along) and max(abs(along), abs(out)) <= reach:
            at = (centre[0] + along * scale, centre[1] + out * scale)
            hollow = svg.circle(at, 3.2, Pen(width=1.4))
            parts.append(hollow if spindle in named else svg.dot(at, 1.3, svg.WOAD))
    return [*parts, svg.circle(centre, tolerance_of(judged.frame, offsets.part) * scale, Pen(width=1.6))]
