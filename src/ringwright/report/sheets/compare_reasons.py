"""Why B does something else than A: for each result, which change does how much of it, and by what way."""

from __future__ import annotations

from collections.abc import Callable

from ringwright.economy.compare import Kind, Row, SideBySide

__all__ = ["WHY", "reason"]

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


def reason(row: Row, found: SideBySide, signed: Callable[[Row, float], str]) -> str:
    """Name the changes that make a difference, the largest first, each with its part and why."""
    parts = sorted(zip(found.changes, row.steps, strict=True), key=lambda part: -abs(part[1]))
    largest = abs(parts[0][1])
    why = next((reasons for key, reasons in WHY.items() if key in row.name), TENSION)
    told = []
    for change, step in parts:
        if abs(step) < SLIGHT * largest or not largest:
            continue
        size = f" {signed(row, step)}" if len(found.changes) > 1 else ""
        words = why.get(change.kind, "")
        told.append(f"{change.kind}{size}{f': {words}' if words else ''}")
    return f"{'; '.join(told)}."
