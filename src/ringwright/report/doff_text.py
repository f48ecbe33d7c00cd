"""A solved doff as a summary for a person at a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ringwright.report.doff_figures import tension_figure
from ringwright.report.terminal_chart import terminal_tension
from ringwright.setting.doff import Comparison, Doff
from ringwright.units import NARROW_SPACE, show

__all__ = ["Range", "doff_changes", "doff_ranges", "doff_text"]

NARROWEST, WIDEST = 80, 100

SAME = 1e-7
"""Share of a value within which two places count as equal."""


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    values: NDArray[np.float64]
    quantity: str
    unit: str
    digits: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """Least and most of a quantity through a doff, written with its unit, and the minutes; empty without a balloon."""

    name: str
    least: str
    at_least: float
    most: str
    at_most: float


def doff_text(shown: Comparison, limit: float | None, width: int = NARROWEST) -> str:
    """Summarise a doff: totals, what it does to the yarn, the chart, and what guide travel and control ring change.

    ``width`` is in columns; widths outside 80 to 100 are brought to the nearer end.
    """
    doff, columns = shown.as_chosen, min(max(width, NARROWEST), WIDEST)
    blocks = [
        [f"{doff.choice.frame.name}, {doff.choice.yarn.name}: the doff from empty tube to full cop", "=" * columns],
        _totals(doff, columns),
        _ranges(doff),
        _section("Tension in the yarn through the doff, cN", _chart(doff, limit, columns - 2)),
        _section("What the parts do", doff_changes(shown)),
        _section("Mind", doff.notes),
        [f"{len(doff.places)} places solved from empty tube to full cop. All results are computed."],
    ]
    lines = [line for block in blocks if block for line in ("", *block)]
    return "\n".join(fitted for line in lines[1:] for fitted in _fitted(line, columns))


def _chart(doff: Doff, limit: float | None, columns: int) -> list[str]:
    return terminal_tension(tension_figure(doff, limit=limit), columns)


def _section(title: str, lines: Iterable[str]) -> list[str]:
    inside = [f"  {line}" for line in lines]
    return [title, *inside] if inside else []


def _fitted(line: str, columns: int) -> list[str]:
    """Wrap a line that is too long; a number is never parted from its unit."""
    indent = " " * (len(line) - len(line.lstrip()) + 2)
    short = len(line.rstrip()) <= columns
    parts = [line.rstrip()] if short else textwrap.wrap(line, columns, subsequent_indent=indent)
    return [part.replace(NARROW_SPACE, " ") for part in parts]


def _totals(doff: Doff, columns: int) -> list[str]:
    p, c = doff.problem, doff.choice
    cells = [
        ("Traveller", show(c.traveller.mass, "mass", "mg")),
        ("Content", show(p.content, "mass", "g", 1)),
        ("Doff time", show(p.doff_time, "time", "min", 0)),
        ("Strokes", f"{p.strokes:.0f}"),
        ("Yarn", show(p.yarn_length, "length", "m", 0)),
        ("Mean speed", show(doff.mean_spindle_speed, "rotation", "rpm", 0)),
    ]
    width = columns // 3
    return ["".join(f"{f'{name} {value}':<{width}}" for name, value in cells[at : at + 3]).rstrip() for at in (0, 3)]


def doff_ranges(doff: Doff) -> list[Range]:
    """Give the range of each quantity through a doff."""
    p, f = doff.places, doff.forces
    rows = [
        _Row("Tension at the spinning triangle", f.triangle_tension, "force", "cN", 1),
        _Row("Tension at the guide", f.guide_tension, "force", "cN", 1),
        _Row("Tension above the traveller", f.ring_tension, "force", "cN", 1),
        _Row("Winding tension", f.winding_tension, "force", "cN", 1),
        _Row("Height of the balloon", p.balloon_height, "length", "mm", 0),
        _Row("Winding diameter", p.winding_diameter, "length", "mm", 1),
        _Row("Largest radius of the balloon", f.largest_radius, "length", "mm", 1),
        _Row("Room to the separator", f.separator_room, "length", "mm", 1),
        _Row("Traveller behind the spindle", p.traveller_lag, "rotation", "rpm", 0),
        _Row("Twist missing on the cop", p.missing_twist, "twist", "t/m", 1),
        _Row("Traveller presses on the ring", f.ring_force, "force", "cN", 0),
        _Row("Heat at the traveller", f.traveller_heat, "power", "W", 1),
    ]
    if doff.choice.frame.control_ring is not None:
        rows.append(_Row("Yarn presses on the control ring", f.control_ring_force, "force", "cN", 1))
    return [_range(doff, row) for row in rows]


def _ranges(doff: Doff) -> list[str]:
    lines = [f"{'Through the doff':<36}{'least':>12}{'at min':>8}{'most':>12}{'at min':>8}"]
    for one in doff_ranges(doff):
        told = f"{one.least:>12}{one.at_least:>8.0f}{one.most:>12}{one.at_most:>8.0f}"
        lines.append(f"  {one.name:<34}{told if one.least else 'not known: no steady balloon'}")
    return lines


def _range(doff: Doff, row: _Row) -> Range:
    if np.isnan(row.values).all():
        return Range(name=row.name, least="", at_least=np.nan, most="", at_most=np.nan)
    low, high = _first(row.values, np.nanmin(row.values)), _first(row.values, np.nanmax(row.values))
    told = [
        (show(float(row.values[i]), row.quantity, row.unit, row.digits), doff.places.time[i] / 60) for i in (low, high)
    ]
    (least, at_least), (most, at_most) = told
    return Range(name=row.name, least=least, at_least=float(at_least), most=most, at_most=float(at_most))


def _first(values: NDArray[np.float64], extreme: float) -> int:
    """Find the first place of an extreme: over a stretch of equals, rounding must not choose."""
    return int(np.flatnonzero(np.abs(values - extreme) <= SAME * abs(extreme))[0])


def doff_changes(shown: Comparison) -> list[str]:
    """Say what the guide's travel and the control ring are for, in this doff's own numbers."""
    doff, lines = shown.as_chosen, []
    if not doff.choice.setting.guide_fixed:
        fixed = shown.guide_fixed
        lines.append(
            f"The guide's travel holds the balloon at {_span(doff.places.balloon_height, 'length', 'mm')} and the "
            f"guide tension at {_span(doff.forces.guide_tension, 'force', 'cN')}; with the guide fixed they would be "
            f"{_span(fixed.places.balloon_height, 'length', 'mm')} and "
            f"{_span(fixed.forces.guide_tension, 'force', 'cN')}{_lost(fixed)}."
        )
    bare = shown.without_control_ring
    if bare is not None:
        lines.append(
            f"The control ring holds the balloon within {_most(doff.forces.largest_radius, 'length', 'mm')} of the "
            f"spindle's axis and the winding tension under {_most(doff.forces.winding_tension, 'force', 'cN')}; "
            f"without it they would reach {_most(bare.forces.largest_radius, 'length', 'mm')} and "
            f"{_most(bare.forces.winding_tension, 'force', 'cN')}{_lost(bare)}{_past_plate(bare)}."
        )
    return lines


def _lost(doff: Doff) -> str:
    without = int(np.isnan(doff.forces.guide_tension).sum())
    return f"; at {without} of {len(doff.places)} places there would be no steady balloon" if without else ""


def _past_plate(doff: Doff) -> str:
    rubs = np.any(doff.forces.separator_room < 0)
    return "; it would beat on the separator, or on its neighbour where there is none" if rubs else ""


def _span(values: NDArray[np.float64], quantity: str, unit: str) -> str:
    if np.isnan(values).all():
        return "not known"
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    least, most = (show(v, quantity, unit, 0) for v in (low, high))
    return most if least == most else f"{least.removesuffix(unit).strip()} to {most}"


def _most(values: NDArray[np.float64], quantity: str, unit: str) -> str:
    return "not known" if np.isnan(values).all() else show(float(np.nanmax(values)), quantity, unit, 1)
