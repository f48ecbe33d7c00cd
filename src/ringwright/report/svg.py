"""Small parts from which every figure is drawn, as SVG text: pens, faces, lines, bands, hatching, dimensions.

One user unit is 1/96 inch. Every part is a pure function from numbers to text, so the same figure is always the same
bytes. All words are escaped. Hatching is drawn as lines, never as pattern fills, which print badly.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal
from xml.sax.saxutils import escape, quoteattr

__all__ = [
    "Face", "Pen", "Point", "area", "arrow_head", "band", "circle", "dimension", "dot", "figure", "group", "hatch",
    "leader", "line", "path_runs", "polyline", "rectangle", "text",
]  # fmt: skip

Point = tuple[float, float]

PAPER: Final = "#FFFFFF"
WASH: Final = "#E8EDEA"
INK: Final = "#15211F"
INK2: Final = "#42514E"
LINE: Final = "#7C8A86"
HAIR: Final = "#CDD5D1"
WOAD: Final = "#17509A"
WOADWASH: Final = "#DBE7F5"
MADDER: Final = "#AE4416"

PLAIN: Final = "Sofia Sans, Segoe UI, system-ui, sans-serif"
NARROW: Final = "Sofia Slim, Sofia Sans, Arial Narrow, system-ui, sans-serif"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """How a line is drawn: colour, width in user units, dash pattern, line ends, and fill of a closed shape."""

    colour: str = INK
    width: float = 1.15
    dash: str = ""
    cap: Literal["butt", "round"] = "butt"
    fill: str = "none"

    def attributes(self) -> str:
        """Write the pen as SVG attributes."""
        dash = f' stroke-dasharray="{self.dash}"' if self.dash else ""
        ends = ' stroke-linecap="round"' if self.cap == "round" else ""
        return (
            f'fill="{self.fill}" stroke="{self.colour}" stroke-width="{short(self.width)}" '
            f'stroke-linejoin="round"{ends}{dash}'
        )


EDGE: Final = Pen(fill=PAPER)
THIN: Final = Pen(colour=INK2, width=0.8)
CENTRE: Final = Pen(colour=INK2, width=0.8, dash="11 3 2 3")
GRID: Final = Pen(colour=HAIR, width=1.0)
LEADER: Final = Pen(colour=LINE, width=0.9)
DIMENSION: Final = Pen(width=1.0)
SECTION: Final = Pen(width=0.8)
WALL: Final = Pen(width=1.6)
WALL_HATCH: Final = Pen(width=1.1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """How words are set: size in user units, weight 400, 600 or 700, width, colour, anchor and turn in degrees."""

    size: float = 12.0
    weight: int = 400
    narrow: bool = False
    colour: str = INK
    anchor: Literal["start", "middle", "end"] = "start"
    turn: float = 0.0


NAME: Final = Face(size=12.5, weight=600)
NOTE: Final = Face(size=11.7, narrow=True, colour=INK2)
TICK: Final = Face(size=11.7, colour=INK2)


def short(value: float) -> str:
    """Write a coordinate with at most two decimals; raises ValueError for one that is not finite."""
    if not math.isfinite(value):
        raise ValueError("a figure was given a coordinate that is not finite")
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def _path(points: Iterable[Point]) -> str:
    return "M" + "L".join(f"{short(x)} {short(y)}" for x, y in points)


def line(start: Point, end: Point, pen: Pen) -> str:
    """Draw one straight line."""
    return polyline((start, end), pen)


def polyline(points: Iterable[Point], pen: Pen) -> str:
    """Draw an open run of straight pieces."""
    return f'<path d="{_path(points)}" {pen.attributes()}/>'


def area(points: Iterable[Point], pen: Pen) -> str:
    """Draw a closed shape."""
    return f'<path d="{_path(points)}Z" {pen.attributes()}/>'


def filled(points: Iterable[Point], colour: str) -> str:
    """Fill a closed shape without an edge."""
    return f'<path d="{_path(points)}Z" fill="{colour}"/>'


def rectangle(corner: Point, size: tuple[float, float], pen: Pen) -> str:
    """Draw an upright rectangle from its upper left corner, width and height."""
    (x, y), (width, height) = corner, size
    return area(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), pen)


def circle(centre: Point, radius: float, pen: Pen) -> str:
    """Draw a circle."""
    return f'<circle cx="{short(centre[0])}" cy="{short(centre[1])}" r="{short(radius)}" {pen.attributes()}/>'


def dot(centre: Point, radius: float = 2.2, colour: str = INK) -> str:
    """Draw a filled dot."""
    return f'<circle cx="{short(centre[0])}" cy="{short(centre[1])}" r="{short(radius)}" fill="{colour}"/>'


def text(at: Point, words: str, face: Face) -> str:
    """Set words with their baseline at a point; the words are escaped."""
    x, y = short(at[0]), short(at[1])
    anchor = f' text-anchor="{face.anchor}"' if face.anchor != "start" else ""
    turn = f' transform="rotate({short(face.turn)} {x} {y})"' if face.turn else ""
    family = NARROW if face.narrow else PLAIN
    return (
        f'<text x="{x}" y="{y}" font-family="{family}" font-size="{short(face.size)}" font-weight="{face.weight}" '
        f'fill="{face.colour}"{anchor}{turn}>{escape(printable(words))}</text>'
    )


def printable(words: str) -> str:
    """Drop what has no shape: control and format characters, lone surrogates, places without a letter."""
    return "".join(c for c in words if unicodedata.category(c)[0] != "C")


def hatch(corner: Point, size: tuple[float, float], pen: Pen, *, spacing: float = 4.2, rising: bool = True) -> str:
    """Fill an upright rectangle with slanted lines at 45 degrees, as section hatching on drawings."""
    (x, y), (width, height) = corner, size
    pieces = []
    offset = spacing / 2
    while offset < width + height:
        # The line u + v = offset, where v is measured downwards from the top and u from the left.
        start_u, end_u = max(0.0, offset - height), min(width, offset)
        ends = [(start_u, offset - start_u), (end_u, offset - end_u)]
        if not rising:
            ends = [(width - u, v) for u, v in ends]
        pieces.append(_path((x + u, y + v) for u, v in ends))
        offset += spacing * math.sqrt(2.0)
    return f'<path d="{"".join(pieces)}" {pen.attributes()}/>' if pieces else ""


def path_runs(points: Sequence[Point]) -> list[list[Point]]:
    """Split a run of points where a coordinate is not finite; runs of one point are dropped."""
    runs: list[list[Point]] = [[]]
    for point in points:
        if all(math.isfinite(c) for c in point):
            runs[-1].append(point)
        elif runs[-1]:
            runs.append([])
    return [run for run in runs if len(run) > 1]


def band(lower: Sequence[Point], upper: Sequence[Point], colour: str) -> str:
    """Fill between two runs of points with the same abscissae, leaving out places that are not finite."""
    pairs = [(a[0], a[1], b[1]) for a, b in zip(lower, upper, strict=True)]
    runs: list[list[tuple[float, float, float]]] = [[]]
    for pair in pairs:
        if all(math.isfinite(c) for c in pair):
            runs[-1].append(pair)
        elif runs[-1]:
            runs.append([])
    shapes = (
        [(x, low) for x, low, _ in run] + [(x, high) for x, _, high in reversed(run)] for run in runs if len(run) > 1
    )
    return "".join(filled(shape, colour) for shape in shapes)


def arrow_head(tip: Point, angle: float, colour: str = INK) -> str:
    """Draw a filled head, 7 long and 5 wide, that points along an angle in radians (0 = right, down is positive)."""
    (x, y), (c, s) = tip, (math.cos(angle), math.sin(angle))
    corners = [(x - 7 * c + side * 2.5 * s, y - 7 * s - side * 2.5 * c) for side in (1, -1)]
    return filled([tip, *corners], colour)


def dimension(start: Point, end: Point) -> str:
    """Draw a dimension line with a head at each end; under 20 units the heads turn outward."""
    length = math.dist(start, end)
    angle = math.atan2(end[1] - start[1], end[0] - start[0])
    if length >= 20:
        return line(start, end, DIMENSION) + arrow_head(end, angle) + arrow_head(start, angle + math.pi)
    c, s = math.cos(angle), math.sin(angle)
    tails = [(start[0] - 12 * c, start[1] - 12 * s), (end[0] + 12 * c, end[1] + 12 * s)]
    return polyline(tails, DIMENSION) + arrow_head(start, angle) + arrow_head(end, angle + math.pi)


def leader(points: Sequence[Point]) -> str:
    """Draw a leader that ends in a dot on the part it names."""
    return polyline(points, LEADER) + dot(points[-1])


def group(parts: Iterable[str], *, shift: Point = (0.0, 0.0)) -> str:
    """Gather parts, moved by a shift."""
    return f'<g transform="translate({short(shift[0])} {short(shift[1])})">{"".join(parts)}</g>'


def figure(size: tuple[float, float], title: str, parts: Iterable[str]) -> str:
    """Close a figure: its size in user units, the sentence that a screen reader says, and its parts."""
    width, height = short(size[0]), short(size[1])
    said = quoteattr(printable(title))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}" '
        f'role="img" aria-label={said}>{"".join(parts)}</svg>\n'
    )
