"""Two settings side by side: the moved one and the one it is held against, with what lessons ask of both."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ringwright.lessons.ground import Change, Ground, doff_of, drawn_at, ends_of
from ringwright.lessons.lesson import Chart, Picture, Row
from ringwright.lessons.line_chart import Curve, Wall, line_chart
from ringwright.lessons.side_view import View, as_other, balloon_height, machine_with_yarn, reach
from ringwright.lessons.words import axis, axis_value, number_or, told
from ringwright.report import svg
from ringwright.report.position_inputs import PositionFigure
from ringwright.report.position_parts import Sheet
from ringwright.setting.doff import Doff

__all__ = [
    "Adds", "Numbers", "Pair", "doff_chart", "force_row", "least", "most", "notes_of", "row", "side_pictures",
    "view_of",
]  # fmt: skip

Numbers = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """What is held against what, each with its name in few words."""

    ground: Ground
    other: Change
    moved: Change
    other_name: str
    moved_name: str

    @property
    def changes(self) -> tuple[Change, Change]:
        """The other setting, and the moved one."""
        return self.other, self.moved

    @property
    def names(self) -> tuple[str, str]:
        """The names, in the same order."""
        return self.other_name, self.moved_name

    @property
    def doffs(self) -> tuple[Doff, Doff]:
        """The doffs, in the same order."""
        return doff_of(self.ground, self.other), doff_of(self.ground, self.moved)


def most(values: Numbers) -> float:
    """Give the highest of some values; nan where there is none."""
    return float(np.nanmax(values)) if np.isfinite(values).any() else float("nan")


def least(values: Numbers) -> float:
    """Give the lowest of some values; nan where there is none."""
    return float(np.nanmin(values)) if np.isfinite(values).any() else float("nan")


def row(name: str, unit: str, values: tuple[float, float], step: float | None = None, *, otherwise: str = "") -> Row:
    """Give a row of computed numbers: the other setting's, and the moved one's."""
    words = {"otherwise": otherwise} if otherwise else {}
    return Row(
        name=name, other=number_or(values[0], unit, step, **words), moved=number_or(values[1], unit, step, **words)
    )


def force_row(pair: Pair, name: str, field: str, unit: str = "cN", *, lowest: bool = False) -> Row:
    """Give the highest (or lowest) of one of the forces of a doff."""
    pick = least if lowest else most
    one, other = (pick(getattr(doff.forces, field)) for doff in pair.doffs)
    return row(name, unit, (one, other), 0.1 if unit == "mm" else None)


def notes_of(pair: Pair) -> tuple[str, ...]:
    """Give what must be known of both doffs: places without a steady balloon, and where it rubs."""
    pairs = zip(pair.names, pair.doffs, strict=True)
    return tuple(f"{name[:1].upper()}{name[1:]}: {_lower(note)}" for name, doff in pairs for note in doff.notes)


def _lower(note: str) -> str:
    return note[:1].lower() + note[1:]


def view_of(pair: Pair, index: int) -> View:
    """Give a view that holds the position at one place of the other setting's doff."""
    frame = pair.ground.choice.frame
    top = float(pair.doffs[0].places.guide_height[index])
    return View(bottom=-frame.tube.bare_bottom - 0.004, top=top + 0.010)


Adds = Callable[[Sheet, PositionFigure], list[str]]


def side_pictures(
    pair: Pair, index: int, titles: tuple[str, str], below: tuple[str, str], *, view: View, add: Adds | None = None
) -> tuple[Picture, Picture]:
    """Draw both settings at one place of their doffs, to one scale; ``add`` draws more on each sheet."""
    both = [drawn_at(pair.ground, change, index) for change in pair.changes]
    view = replace(view, half=max(reach(shown) for shown in both))
    pictures = []
    for k, shown in enumerate(both):
        height = told(shown.guide_height - shown.ring_height, "mm")
        drawn = "".join(machine_with_yarn(view.sheet, shown))
        parts = [drawn, *balloon_height(view.sheet, shown, f"balloon {height}")]
        parts += add(view.sheet, shown) if add else []
        if shown.balloon is None:
            parts.append(svg.text((10, 20), "no steady balloon", svg.Face(size=14.0, weight=640)))
        figure = "".join(parts)
        pictures.append(
            Picture(
                title=titles[k],
                figure=svg.figure((view.width, view.height), "", [figure if k else as_other(figure)]),
                said=f"Side view to scale, {titles[k]}: balloon {height} tall, {below[k]}",
                below=below[k],
                other=k == 0,
            )
        )
    return pictures[0], pictures[1]


def doff_chart(
    pair: Pair, title: str, unit: str, values: tuple[Sequence[float], Sequence[float]], index: int,
    *, wall: Wall | None = None,
) -> Chart:  # fmt: skip
    """Chart a quantity at foot and top of each stroke, or at the feet alone, over the minutes of both doffs."""
    curves = []
    for k, (doff, shown) in enumerate(zip(pair.doffs, values, strict=True)):
        ends = ends_of(doff)
        at = ends if len(shown) == len(ends) else ends[:: len(ends) // len(shown)]
        minutes = [float(t) / 60 for t in doff.places.time[at]]
        ys = [axis_value(v, unit) if np.isfinite(v) else float("nan") for v in shown]
        nearest = int(np.argmin(np.abs(at - index)))
        mark = (minutes[nearest], ys[nearest])
        curves.append(Curve(name=pair.names[k], xs=minutes, ys=ys, other=k == 0, mark=mark))
    title = f"{title}, {axis(unit)}"
    said = f"{title}: the numbers stand in the table"
    return Chart(title=title, figure=line_chart(curves, "minutes", wall=wall, said=said), said=said)
