"""The spindle in one line, for the setting card."""

from __future__ import annotations

from ringwright.mill import Mill
from ringwright.refusal import Refusal
from ringwright.setting.choice import choose
from ringwright.spindle.judged import TEN_RPM, nearest_critical
from ringwright.spindle.study import study_spindle
from ringwright.units import show

__all__ = ["card_line"]


def card_line(mill: Mill, frame: str, yarn: str) -> str:
    """Say in one line how far the course stays from the spindle's critical speeds, and how the tip runs.

    A spindle that cannot be built from what the mill states gives a line that says so.
    """
    try:
        study = study_spindle(choose(mill, frame, yarn))
    except Refusal as refusal:
        return f"Spindle: not computed; {refusal.faults[0]}"
    near = nearest_critical(study)
    critical = show(round(near.critical / TEN_RPM) * TEN_RPM, "rotation", "rpm", 0)
    apart, sweep = show(near.margin, "share", "%", 0), show(float(study.sweep.max()), "length", "mm", 2)
    wanted, most = show(study.rotor.least_margin, "share", "%", 0), show(study.rotor.sweep_most, "length", "mm", 2)
    return (
        f"Spindle: nearest critical speed {critical}, {apart} off the course ({wanted} wanted); tube tip sweeps up to "
        f"{sweep} (look at it from {most}); neck, spring and oil as the mill states them."
    )
