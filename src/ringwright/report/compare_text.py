"""Two settings side by side as text: what differs first, and a plain reason for each difference."""

from __future__ import annotations

from textwrap import wrap

from ringwright.economy.compare import Kind, Row, SideBySide
from ringwright.report.doff_figures import tension_figure
from ringwright.report.tension_chart import tension_chart
from ringwright.report.terminal_chart import terminal_tension
from ringwright.setting.choice import Choice
from ringwright.units import NARROW_SPACE, show

__all__ = ["compare_chart", "compare_text"]

WIDTH = 88
ALIKE = 0.002
"""Relative difference below which two results are called alike."""
SLIGHT = 0.1
"""Share of the largest change's part below which a change is not named as a reason."""

# Why a change moves a result: by the result's kind, then by the change.
TENSION: dict[Kind, str] = {
    "frame": "ring, cop and rails set the balloon's height and the angle at which the yarn winds",
    "yarn": "a heavier or finer yarn makes another balloon, and rubs otherwise",
    "yarn friction and drag": "friction on the traveller sets the balloon's pull, the air's drag its bow",
    "guide": "the guide's travel sets the balloon's height",
    "control ring": "a control ring holds the balloon in two short parts, which need less tension",
    "ring friction": "the yarn must pull the traveller against its friction on the ring",
    "traveller": "the yarn must pull the traveller, whose friction follows its mass",
    "speed": "all tensions grow with the square of speed",
}
WHY: dict[str, dict[Kind, str]] = {
    "breaks": TENSION | {"speed": "tension grows with the square of speed, and breaks with a high power of tension"},
    "cost": TENSION | {"speed": "a quicker spindle costs less for each kilogram, its energy and its breaks more",
                       "traveller": "its pull breaks ends and draws power",
                       "frame": "energy, breaks and doffs are other ones",
                       "efficiency": "standing times are dear spindle hours"},
    "tension": TENSION,
    "speed of": {"frame": "a ring's rim runs faster the wider it is", "speed": "the traveller keeps with the spindle"},
    "heat": TENSION | {"traveller": "its force on the ring follows its mass",
                       "speed": "force grows with the square of speed, and rubbing with speed: the cube in all"},
    "room": {"frame": "gauge, ring and rails set how far the balloon may and does swing",
             "yarn": "a balloon of another yarn is drawn in otherwise",
             "guide": "the higher the balloon, the wider it swings",
             "yarn friction and drag": "drag bows the balloon, the traveller's pull draws it in",
             "control ring": "without a control ring the balloon swings wider, with it less",
             "ring friction": "it gives the tension that draws the balloon in",
             "traveller": "its pull gives the tension that draws the balloon in",
             "speed": "the shape does not change with speed; only the traveller's lag does, a little"},
    "yarn of": {"efficiency": "the setting reckons with other standing times",
                "yarn": "coarser or softer-twisted yarn is made faster", "speed": "yarn is made as the spindle turns",
                "frame": "the doff's slow start and end weigh otherwise on another cop"},
    "time": {"frame": "the larger the cop, the longer it takes", "yarn": "the finer the yarn, the longer it takes",
             "speed": "yarn is made as the spindle turns"},
    "cop": {"frame": "lift, diameter and tube set what the cop holds", "yarn": "the cop holds the same mass"},
    "power": TENSION | {"frame": "ring and cop set torque and air drag", "traveller": "its friction follows its mass",
                        "speed": "friction and air take the cube of speed, the rest less"},
    "energy": TENSION | {"frame": "ring and cop set torque and air drag", "traveller": "its friction follows its mass",
                         "speed": "power grows faster with speed than the yarn made"},
}  # fmt: skip


def compare_text(found: SideBySide) -> str:
    """Tell what differs between A and B, first in the settings, then in what they do, with reasons, and the picture."""
    a, b = found.a.choice, found.b.choice
    lines = [f"A: {_named(a)}    B: {_named(b)}", "=" * WIDTH, "What is different"]
    lines += [f"  {line}" for line in _differences(a, b)]
    lines += ["", f"{'What it does, largest difference first':<40}{'A':>14}{'B':>14}{'B less A':>14}"]
    apart = [row for row in found.rows if row.relative >= ALIKE]
    for row in apart:
        lines.append(
            f"  {row.name:<38}{_value(row, row.a):>14}{_value(row, row.b):>14}{_signed(row, row.b - row.a):>14}"
        )
        lines += wrap(_reason(row, found), WIDTH, initial_indent="      ", subsequent_indent="      ")
    alike = [row.name for row in found.rows if row.relative < ALIKE]
    if alike:
        lines += ["", *wrap(f"Alike within {100 * ALIKE:g} %: {', '.join(alike)}.", WIDTH)]
    if found.left_out:
        lines += ["", f"Breaks and cost are not compared: {found.left_out}."]
    for name, doff in (("A", found.a), ("B", found.b)):
        lines += [f"Mind, {name}: {note}" for note in doff.notes]
    lines += ["", "Tension in the yarn through the doff, cN"]
    lines += [f"  {line}" for line in terminal_tension(tension_figure(found.a, found.b, "B"), WIDTH - 2)]
    lines += [
        "",
        "All results are computed. Breaks are a ratio of the model; cost rests on [mill.money] and that ratio.",
    ]
    return "\n".join(lines).replace(NARROW_SPACE, " ")


def compare_chart(found: SideBySide) -> str:
    """Draw the tension through both doffs."""
    return tension_chart(tension_figure(found.a, found.b, "B"))


def _named(choice: Choice) -> str:
    return f"{choice.frame.name}, {choice.yarn.name}"


def _differences(a: Choice, b: Choice) -> list[str]:
    """List the facts in which the two differ, each with both values."""
    pairs = [
        ("frame", a.frame.name, b.frame.name),
        (
            "yarn",
            f"{a.yarn.name}, {_q(a.yarn.count, 'count', 'tex')}",
            f"{b.yarn.name}, {_q(b.yarn.count, 'count', 'tex')}",
        ),
        ("ring", _q(a.frame.ring.diameter, "length", "mm"), _q(b.frame.ring.diameter, "length", "mm")),
        ("lift", _q(a.frame.build.lift, "length", "mm"), _q(b.frame.build.lift, "length", "mm")),
        ("cop", _q(a.frame.build.cop_diameter, "length", "mm"), _q(b.frame.build.cop_diameter, "length", "mm")),
        ("guide above the rail", _q(a.frame.guide.height, "length", "mm"), _q(b.frame.guide.height, "length", "mm")),
        ("guide", _guide(a), _guide(b)),
        ("control ring", _control_ring(a), _control_ring(b)),
        ("ring friction", f"{a.frame.ring.friction:.3g}", f"{b.frame.ring.friction:.3g}"),
        ("yarn friction", f"{a.yarn.traveller_friction:.3g}", f"{b.yarn.traveller_friction:.3g}"),
        ("drag", f"{a.yarn.drag_coefficient:.3g}", f"{b.yarn.drag_coefficient:.3g}"),
        ("efficiency", _q(a.setting.efficiency, "share", "%"), _q(b.setting.efficiency, "share", "%")),
        ("traveller", _q(a.traveller.mass, "mass", "mg"), _q(b.traveller.mass, "mass", "mg")),
        ("main speed", _q(a.setting.main_speed, "rotation", "rpm"), _q(b.setting.main_speed, "rotation", "rpm")),
    ]
    return [f"{name:<22}{one:>22}{other:>22}" for name, one, other in pairs if one != other]


def _q(value: float, quantity: str, unit: str) -> str:
    return show(value, quantity, unit)


def _guide(choice: Choice) -> str:
    return "fixed" if choice.setting.guide_fixed else f"rises {show(choice.frame.guide.lift, 'length', 'mm')}"


def _control_ring(choice: Choice) -> str:
    ring = choice.frame.control_ring
    if ring is None:
        return "none"
    return f"{show(ring.diameter, 'length', 'mm')}, {show(ring.height, 'length', 'mm')} up"


def _value(row: Row, value: float) -> str:
    return show(value, row.quantity, row.unit, row.digits)


def _signed(row: Row, value: float) -> str:
    text = _value(row, value)
    return f"+{text}" if value > 0 and any(figure in text for figure in "123456789") else text


def _reason(row: Row, found: SideBySide) -> str:
    """Name the changes that make a difference, the largest first, each with its part and why."""
    parts = sorted(zip(found.changes, row.steps, strict=True), key=lambda part: -abs(part[1]))
    largest = abs(parts[0][1])
    why = next((reasons for key, reasons in WHY.items() if key in row.name), TENSION)
    told = []
    for change, step in parts:
        if abs(step) < SLIGHT * largest or not largest:
            continue
        size = f" {_signed(row, step)}" if len(found.changes) > 1 else ""
        reason = why.get(change.kind, "")
        told.append(f"{change.kind}{size}{f': {reason}' if reason else ''}")
    return f"{'; '.join(told)}."
