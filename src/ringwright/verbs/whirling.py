"""The verbs about the spindle as a rotor that the doors may ask for."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ringwright.mill import Mill
    from ringwright.refusal import Fault
    from ringwright.report.sheets.sheet import Sheet
    from ringwright.setting.choice import Trial
    from ringwright.spindle import TriedSpindle

# Each verb imports what it needs as it is called.
# ruff: noqa: PLC0415

__all__ = ["AskedSpindle", "spindle", "spindle_sheet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedSpindle:
    """What is tried on the spindle, as typed; empty words leave what the mill has.

    ``oil`` is a viscosity at 40 degrees ("22 mm2/s") or a grade ("VG 22"), ``oil_temperature`` in degrees Celsius
    ("55"), ``foot_spring`` and ``neck`` stiffnesses ("40 N/mm"), ``gap`` and ``runout`` lengths, ``speed`` the main
    speed.
    """

    oil: str = ""
    oil_temperature: str = ""
    foot_spring: str = ""
    neck: str = ""
    gap: str = ""
    runout: str = ""
    speed: str = ""


def spindle(where: str, names: tuple[str, str], asked: AskedSpindle) -> Sheet:
    """Tell the spindle of a frame and yarn (their names) of a mill; refuses as ``spindle_sheet``."""
    from ringwright.verbs.app import open_mill

    return spindle_sheet(open_mill(where), *names, asked)


def spindle_sheet(mill: Mill, frame: str, yarn: str, asked: AskedSpindle) -> Sheet:
    """Make the spindle's sheet; Refusal for unknown names and, all together, for what was typed."""
    from ringwright.refusal import Refusal
    from ringwright.report.sheets.spindle import spindle_sheet as sheet_of
    from ringwright.setting.choice import choose
    from ringwright.spindle import study_spindle
    from ringwright.spindle.tried import rotor_as_tried
    from ringwright.spindle.variants import variants

    choice = choose(mill, frame, yarn)
    tried, trial, faults = _read(asked)
    for held in (lambda: choose(mill, frame, yarn, trial), lambda: rotor_as_tried(choice.frame.rotor, tried)):
        try:
            held()
        except Refusal as refusal:
            faults += refusal.faults
    if faults:
        raise Refusal(faults)
    choice = choose(mill, frame, yarn, trial)
    return sheet_of(study_spindle(choice, tried), tried, variants(choice, tried))


def _read(asked: AskedSpindle) -> tuple[TriedSpindle, Trial, list[Fault]]:
    """Read what was typed, as far as it can be read, with the faults of the rest."""
    from ringwright.refusal import Refusal
    from ringwright.setting.choice import Trial
    from ringwright.spindle import TriedSpindle
    from ringwright.spindle.tried import NAMES
    from ringwright.units import parse

    faults: list[Fault] = []

    def read(word: str, quantity: str, where: str) -> float | None:
        try:
            return parse(word, quantity, where) if word.strip() else None
        except Refusal as refusal:
            faults.extend(refusal.faults)
            return None

    grade = re.fullmatch(r"(?:ISO\s*)?VG\s*(\d+(?:\.\d+)?)", asked.oil.strip(), re.IGNORECASE)
    warm = re.sub(r"\s*(°\s*C|degrees?( C(elsius)?)?|C)$", "", asked.oil_temperature.strip())
    typed = {
        "oil_viscosity": (f"{grade[1]} mm2/s" if grade else asked.oil, "kinematic viscosity"),
        "oil_celsius": (warm, "ratio"),
        "foot_stiffness": (asked.foot_spring, "stiffness"),
        "neck_stiffness": (asked.neck, "stiffness"),
        "film_gap": (asked.gap, "length"),
        "tube_runout_tip": (asked.runout, "length"),
    }
    tried = TriedSpindle(**{key: read(*given, NAMES[key]) for key, given in typed.items()})
    return tried, Trial(main_speed=read(asked.speed, "rotation", "main speed")), faults
