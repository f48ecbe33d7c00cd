"""The figure of a trial: the rate of each frame in each shift, the old setting hollow, the new one filled."""

from __future__ import annotations

from collections.abc import Sequence

from ringwright.report import svg
from ringwright.report.chart import Plot, grid, heading, middle, ticks
from ringwright.report.svg import Face, Pen
from ringwright.study.trial_verdict import ShiftRow

__all__ = ["trial_figure"]

WIDTH, HEIGHT = 720.0, 290.0
_HOLLOW = Pen(colour=svg.INK, width=1.8, fill=svg.PAPER)
_FILLED = Pen(colour=svg.WOAD, width=1.8, fill=svg.WOAD)
_JOINED = Pen(colour=svg.LINE, width=0.9)
_WORDS = Face(size=11.7, colour=svg.INK)
_MOST_NAMES = 6
_LONGEST = 24


def trial_figure(rows: Sequence[ShiftRow], old: str) -> str:
    """Draw the breaks per 1000 spindle-hours of each frame and shift, in the order of the table.

    The old setting is a hollow square, the new one a filled circle, so that grey tells them apart; what ran in one
    shift is joined.
    """
    shifts = list(dict.fromkeys(row.shift for row in rows))
    rates = [row.breaks / row.exposure if row.exposure > 0 else 0.0 for row in rows]
    high = max([*rates, 1e-9]) * 1.08
    plot = Plot(left=44, right=WIDTH - 16, top=52, bottom=HEIGHT - 44, x_span=(-0.5, len(shifts) - 0.5),
                y_span=(0.0, high))  # fmt: skip
    new = next((row.setting for row in rows if row.setting != old), "")
    parts = [*heading("Each shift", "breaks per 1000 spindle-hours"), *_legend(old, new), *grid(plot, ticks(high))]
    for place, shift in enumerate(shifts):
        here = [(row, rate) for row, rate in zip(rows, rates, strict=True) if row.shift == shift]
        x, ends = plot.x(place), [plot.y(rate) for _, rate in here]
        parts += [svg.line((x, min(ends)), (x, max(ends)), _JOINED)] if len(ends) > 1 else []
        parts += [_mark(x, plot.y(rate), old=row.setting == old) for row, rate in here]
    said = f"Breaks per 1000 spindle-hours of each frame and shift, {new} against {old}"
    return svg.figure((WIDTH, HEIGHT), said, [*parts, *_names(plot, shifts)])


def _mark(x: float, y: float, *, old: bool) -> str:
    return svg.rectangle((x - 4, y - 4), (8, 8), _HOLLOW) if old else svg.circle((x, y), 4.4, _FILLED)


def _legend(old: str, new: str) -> list[str]:
    """Name the two marks above the plot."""
    right = 58 + 7.0 * len(_cut(old)) + 30
    return [_mark(50, 32, old=True), svg.text((60, 36), _cut(old), _WORDS),
            _mark(right, 32, old=False), svg.text((right + 10, 36), _cut(new), _WORDS)]  # fmt: skip


def _names(plot: Plot, shifts: Sequence[str]) -> list[str]:
    """Write the names of the shifts below, of many only some."""
    parts, step = [], -(-len(shifts) // _MOST_NAMES)
    for place in range(0, len(shifts), step):
        x = plot.x(place)
        parts.append(svg.line((x, plot.bottom), (x, plot.bottom + 4), svg.THIN))
        parts.append(svg.text((x, plot.bottom + 16), _cut(shifts[place], 16), middle(svg.NOTE)))
    many = f"; {len(range(0, len(shifts), step))} of {len(shifts)} are named" if step > 1 else ""
    words = f"shift, in the order of the table{many}"
    return [*parts, svg.text(((plot.left + plot.right) / 2, plot.bottom + 34), words, middle(svg.NOTE))]


def _cut(words: str, most: int = _LONGEST) -> str:
    return words if len(words) <= most else f"{words[: most - 1]}…"
