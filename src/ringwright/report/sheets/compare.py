"""Two settings side by side on one sheet: what differs first, and a plain reason for each difference."""

from __future__ import annotations

from ringwright.economy.compare import Row as Result
from ringwright.economy.compare import SideBySide
from ringwright.report.doff_figures import tension_figure
from ringwright.report.sheets.compare_reasons import reason
from ringwright.report.sheets.sheet import Picture, Sheet, Table
from ringwright.report.tension_chart import tension_chart
from ringwright.report.terminal_chart import terminal_tension
from ringwright.setting.choice import Choice
from ringwright.units import show

__all__ = ["compare_sheet"]

COLUMNS = 86
ALIKE = 0.002
"""Relative difference below which two results are called alike."""
MM, TEX, MG, RPM = ("length", "mm"), ("count", "tex"), ("mass", "mg"), ("rotation", "rpm")
NAMED = 3
"""Results named in the answer."""


def compare_sheet(found: SideBySide) -> Sheet:
    """Tell what differs between A and B, first in the settings, then in what they do, with reasons, and the picture."""
    a, b = found.a.choice, found.b.choice
    alike = [row.name for row in found.rows if row.relative < ALIKE]
    notes = ["All results are computed. Breaks are a ratio of the model; cost rests on [mill.money] and that ratio."]
    if alike:
        notes.insert(0, f"Alike within {100 * ALIKE:g} %: {', '.join(alike)}.")
    if found.left_out:
        notes.insert(0, f"Breaks and cost are not compared: {found.left_out}.")
    figure = tension_figure(found.a, found.b, "B")
    picture = Picture(
        title="Tension in the yarn through the doff, A and B, cN", svg=tension_chart(figure), headed=True,
        words="A as a band with its upper edge, B's highest winding tension dashed, against the minutes of the doff.",
        letters=tuple(terminal_tension(figure, COLUMNS)),
    )  # fmt: skip
    return Sheet(
        title=f"A: {_named(a)}    B: {_named(b)}",
        answer=_answer(found),
        tables=(_settings(a, b), *_results(found)),
        pictures=(picture,),
        warnings=tuple(f"{name}: {note}" for name, doff in (("A", found.a), ("B", found.b)) for note in doff.notes),
        notes=tuple(notes),
    )


def _answer(found: SideBySide) -> str:
    apart = [row for row in found.rows if row.relative >= ALIKE]
    kinds = ", ".join(dict.fromkeys(change.kind for change in found.changes))
    if not apart:
        return f"B differs from A in {kinds}, and does the same within {100 * ALIKE:g} %."
    told = "; ".join(
        f"{row.name} {_value(row, row.a)} against {_value(row, row.b)}" for row in apart[:NAMED]
    )
    return f"B differs from A in {kinds}. Largest differences, A against B: {told}."


def _settings(a: Choice, b: Choice) -> Table:
    return Table(
        title="What is different",
        columns=("Setting", "A", "B"),
        rows=tuple(_differences(a, b)),
        origin="as the mill has it, or as tried here",
        numbers=(1, 2),
    )


def _results(found: SideBySide) -> tuple[Table, ...]:
    apart = [row for row in found.rows if row.relative >= ALIKE]
    if not apart:
        return ()
    table = Table(
        title="What it does, largest difference first",
        columns=("Result", "A", "B", "B less A"),
        rows=tuple(
            (row.name, _value(row, row.a), _value(row, row.b), _signed(row, row.b - row.a))
            for row in apart
        ),
        origin="computed",
        numbers=(1, 2, 3),
        under=tuple(reason(row, found, _signed) for row in apart),
    )
    return (table,)


def _named(choice: Choice) -> str:
    return f"{choice.frame.name}, {choice.yarn.name}"


def _differences(a: Choice, b: Choice) -> list[tuple[str, str, str]]:
    """List the facts in which the two differ, each with both values."""

    def pair(name: str, one: float, other: float, measure: tuple[str, str]) -> tuple[str, str, str]:
        return (name, show(one, *measure), show(other, *measure))

    yarns = (f"{one.yarn.name}, {show(one.yarn.count, *TEX)}" for one in (a, b))
    pairs = [
        ("frame", a.frame.name, b.frame.name),
        ("yarn", *yarns),
        pair("ring", a.frame.ring.diameter, b.frame.ring.diameter, MM),
        pair("lift", a.frame.build.lift, b.frame.build.lift, MM),
        pair("cop", a.frame.build.cop_diameter, b.frame.build.cop_diameter, MM),
        pair("guide above the rail", a.frame.guide.height, b.frame.guide.height, MM),
        ("guide", _guide(a), _guide(b)),
        ("control ring", _control_ring(a), _control_ring(b)),
        ("ring friction", f"{a.frame.ring.friction:.3g}", f"{b.frame.ring.friction:.3g}"),
        ("yarn friction", f"{a.yarn.traveller_friction:.3g}", f"{b.yarn.traveller_friction:.3g}"),
        ("drag", f"{a.yarn.drag_coefficient:.3g}", f"{b.yarn.drag_coefficient:.3g}"),
        pair("efficiency", a.setting.efficiency, b.setting.efficiency, ("share", "%")),
        pair("traveller", a.traveller.mass, b.traveller.mass, MG),
        pair("main speed", a.setting.main_speed, b.setting.main_speed, RPM),
    ]
    return [(name, one, other) for name, one, other in pairs if one != other]


def _guide(choice: Choice) -> str:
    return "fixed" if choice.setting.guide_fixed else f"rises {show(choice.frame.guide.lift, *MM)}"


def _control_ring(choice: Choice) -> str:
    ring = choice.frame.control_ring
    if ring is None:
        return "none"
    return f"{show(ring.diameter, *MM)}, {show(ring.height, *MM)} up"


def _value(row: Result, value: float) -> str:
    return show(value, row.quantity, row.unit, row.digits)


def _signed(row: Result, value: float) -> str:
    text = _value(row, value)
    return f"+{text}" if value > 0 and any(figure in text for figure in "123456789") else text
