"""The spindle as a page: oil, spring, neck, run-out and speed to try."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from ringwright.mill import Mill, setting_for
from ringwright.report.sheets.sheet import Sheet
from ringwright.units import show
from ringwright.verbs.whirling import AskedSpindle, spindle_sheet
from ringwright.workbench.parts.part import Part, PartField

__all__ = ["PART"]


def _of_rotor(key: str, quantity: str, unit: str) -> Callable[[Mill, str, str], str]:
    """Start with a value of the mill's own spindle."""
    return lambda mill, frame, _yarn: show(getattr(mill.frames[frame].rotor, key), quantity, unit)


def _speed(mill: Mill, frame: str, yarn: str) -> str:
    return show(setting_for(mill, frame, yarn).main_speed, "rotation", "rpm")


FIELDS: Final = (
    PartField(key="oil", label="Oil at 40 degrees", hint='a viscosity or a grade, as "22 mm2/s" or "VG 22"',
              start=_of_rotor("oil_viscosity", "kinematic viscosity", "mm2/s")),
    PartField(key="oil_temperature", label="Oil temperature", hint="in degrees Celsius",
              start=_of_rotor("oil_celsius", "ratio", "1")),
    PartField(key="foot_spring", label="Spring of the foot step", hint='as "60 N/mm"',
              start=_of_rotor("foot_stiffness", "stiffness", "N/mm")),
    PartField(key="neck", label="Neck bearing", hint='its stiffness with the bolster, as "500 N/mm"',
              start=_of_rotor("neck_stiffness", "stiffness", "N/mm")),
    PartField(key="gap", label="Gap of the oil film", hint="with its unit",
              start=_of_rotor("film_gap", "length", "mm")),
    PartField(key="runout", label="Run-out of the tube's tip", hint="as a dial gauge reads it",
              start=_of_rotor("tube_runout_tip", "length", "mm")),
    PartField(key="speed", label="Main speed", hint="the course keeps its shape", start=_speed),
)  # fmt: skip


def _sheet(mill: Mill, frame: str, yarn: str, typed: Mapping[str, str]) -> Sheet:
    """Ask for the sheet; a field that still holds its start tries nothing."""
    moved = {
        field.key: typed[field.key]
        for field in FIELDS
        if field.key in typed and typed[field.key].strip() not in {"", field.start(mill, frame, yarn)}
    }
    return spindle_sheet(mill, frame, yarn, AskedSpindle(**moved))


PART = Part(
    key="spindle", name="Spindle", fields=FIELDS, sheet=_sheet,
    question="How far from its critical speeds does the spindle run, and what do oil and spring do to its shake?",
)  # fmt: skip
