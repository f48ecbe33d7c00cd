"""Room to each limit: named bars that approach one wall; A solid, B dashed, the gap told in the limit's own unit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from ringwright.report import svg
from ringwright.report.svg import Pen
from ringwright.web.theme import themed
from ringwright.workbench.whole import Room, Rooms

__all__ = ["Wall", "walls"]

LONG, HIGH, THICK = 400.0, 26.0, 14.0
A = Pen(colour=svg.WOAD, width=5.0)
B = Pen(colour=svg.MADDER, width=3.0, dash="9 6")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """One limit as a page shows it; ``figure`` is empty where the limit is not met."""

    name: str
    words: str
    interval: str
    place: str
    b_words: str
    whose: str
    """Who says where the limit lies."""
    figure: Markup
    remark: str


def walls(a: Rooms, b: Rooms | None) -> list[Wall]:
    """Show each limit of A, nearest first, with B's beside it, in the units chosen."""
    others = {room.key: room for room in b.rooms} if b else {}
    shown = []
    for room in a.rooms:
        other = others.get(room.key)
        shown.append(
            Wall(
                name=room.name,
                words=room.words,
                interval=room.interval_words,
                place=room.place.words if room.place else "",
                b_words=other.words if other else "",
                whose=_whose(room),
                figure=_bar(room.used, room.used_interval, other.used if other else None),
                remark=room.remark,
            )
        )
    return shown


def _whose(room: Room) -> str:
    """Say where a limit comes from and who answers for it, as the command does."""
    source = room.source if room.source.startswith(room.origin) else f"{room.origin}, {room.source}"
    return f"Limit: {source}. Owner: {room.owner}."


def _bar(used: float | None, span: tuple[float, float] | None, other: float | None) -> Markup:
    if used is None and other is None:
        return Markup()
    wall = LONG - THICK

    def x(share: float) -> float:
        return min(max(share, 0.0), 1.0) * wall + (THICK if share > 1 else 0.0)

    parts: list[str] = [svg.line((0.5, 2), (0.5, HIGH - 2), svg.THIN)]
    if span is not None:
        low, high = sorted(x(end) for end in span)
        parts.append(svg.filled(_box(low, high, 2.0, 16.0), svg.WOADWASH))
    if used is not None:
        parts.append(svg.line((0, 9), (x(used), 9), A))
        parts.append(svg.line((x(used), 1), (x(used), 17), Pen(width=2.4)))
        if used < 1:
            parts.append(svg.line((x(used), 9), (wall, 9), svg.DIMENSION))
    if other is not None:
        parts.append(svg.line((0, 21), (x(other), 21), B))
        parts.append(svg.line((x(other), 17), (x(other), 25), Pen(colour=svg.MADDER, width=2.4)))
    parts.append(svg.line((wall, 0), (wall, HIGH), svg.WALL))
    parts.append(svg.hatch((wall, 0), (THICK, HIGH), svg.WALL_HATCH, spacing=5.0))
    return themed(
        f'<svg class="bar" viewBox="0 0 {LONG:g} {HIGH:g}" preserveAspectRatio="none" aria-hidden="true">'
        f"{''.join(parts)}</svg>"
    )


def _box(left: float, right: float, top: float, bottom: float) -> Sequence[tuple[float, float]]:
    return ((left, top), (right, top), (right, bottom), (left, bottom))
