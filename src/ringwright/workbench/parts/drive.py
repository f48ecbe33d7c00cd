"""The drive as a page: another wharve, another frame to compare with, and a round of speeds typed or the demo's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from ringwright.mill import Mill
from ringwright.refusal import Fault, Refusal
from ringwright.report.sheets.sheet import Sheet
from ringwright.units import show
from ringwright.verbs.driving import AskedDrive, drive_sheet
from ringwright.workbench.parts.part import Part, PartField

__all__ = ["PART"]

NONE, DEMO, TYPED = "no readings", "the demonstration's round", "as written below"


def _wharve(mill: Mill, frame: str, _: str) -> str:
    return show(mill.frames[frame].spindle.wharve_diameter, "length", "mm")


def _nothing(*_: object) -> str:
    return ""


FIELDS: Final = (
    PartField(key="wharve", label="Wharve", hint="a diameter with its unit; the spindle speed is held", start=_wharve),
    PartField(key="against", label="Compare with frame", hint="another frame that spins this yarn, or nothing",
              start=_nothing),
    PartField(key="which", label="Readings of speed", hint="spindle speeds by stroboscope, held to the model",
              start=lambda *_: NONE, choices=(NONE, DEMO, TYPED)),
    PartField(key="readings", label="Round of speeds", hint='a heading "spindle,speed (rpm)", then a row for each',
              start=_nothing, long=True),
)  # fmt: skip


def _sheet(mill: Mill, frame: str, yarn: str, typed: Mapping[str, str]) -> Sheet:
    """Ask for the sheet; a field that still holds its start tries nothing."""
    wharve, which = typed.get("wharve", "").strip(), typed.get("which", NONE)
    asked = AskedDrive(
        wharve="" if wharve == _wharve(mill, frame, yarn) else wharve,
        against=typed.get("against", "").strip(),
        readings="demo" if which == DEMO else "",
        typed=typed.get("readings", "") if which == TYPED else "",
    )
    try:
        return drive_sheet(mill, frame, yarn, asked)
    except Refusal as refusal:
        raise Refusal([_labelled(one) for one in refusal.faults]) from None


def _labelled(fault: Fault) -> Fault:
    """Name the field in place of the option of the command."""
    names = {"--against": "Compare with frame", "the wharve": "Wharve", "--readings demo": "Readings of speed"}
    return replace(fault, where=names.get(fault.where, fault.where))


PART: Final = Part(
    key="drive", name="Wharve and drive", question="How alike do the spindles run, and what does the drive cost?",
    fields=FIELDS, sheet=_sheet,
)  # fmt: skip
