"""The spindle in one line, for the setting card."""

from __future__ import annotations

from ringwright.mill import Mill
from ringwright.refusal import Refusal
from ringwright.setting.choice import choose
from ringwright.spindle.judged import nearest_critical
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
    apart = show(nearest_critical(study).margin, "share", "%", 0)
    sweep = show(float(study.sweep.max()), "length", "mm", 2)
    short = "" if nearest_critical(study).margin >= study.rotor.least_margin else ", too near"
    return f"Spindle tip sweeps up to {sweep}, critical speed {apart} off{short}"
