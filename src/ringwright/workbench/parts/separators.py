"""The separators as a page: which plates are missing or bent, how often ends break, and how often one strikes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from ringwright.mill import Mill
from ringwright.report.sheets.sheet import Sheet
from ringwright.units import show, show_number
from ringwright.verbs.separating import AskedSeparators, separators_sheet
from ringwright.workbench.parts.part import Part, PartField

__all__ = ["PART"]


def _middle(mill: Mill, frame: str, _: str) -> str:
    of = mill.frames[frame]
    return str(of.spindles // of.sides // 2) if of.separators.fitted else ""


FIELDS: Final = (
    PartField(key="missing", label="Missing plates", start=_middle,
              hint="the number of the spindle before each, with commas between"),
    PartField(key="bent", label="Bent plates", hint="the same", start=lambda *_: ""),
    PartField(key="rate", label="Own breaks per 1000 spindle hours", hint="without those that a neighbour caused",
              start=lambda mill, _frame, _yarn: show_number(mill.money.breaks_per_1000_spindle_hours)),
    PartField(key="strike", label="Share that strikes", hint="over the plate asked for; assumed until records tell it",
              start=lambda mill, frame, _: show(mill.frames[frame].strikes.missing_share, "share", "%")),
)  # fmt: skip


def _sheet(mill: Mill, frame: str, yarn: str, typed: Mapping[str, str]) -> Sheet:
    """Ask for the sheet; a rate or share that still holds its start tries nothing."""
    moved = {
        field.key: typed[field.key]
        for field in FIELDS
        if field.key in typed and typed[field.key].strip() not in {"", field.start(mill, frame, yarn)}
    }
    asked = AskedSeparators(
        missing=typed.get("missing", ""), bent=typed.get("bent", ""), rate=moved.get("rate", ""),
        strike=moved.get("strike", ""),
    )  # fmt: skip
    return separators_sheet(mill, frame, yarn, asked)


PART = Part(
    key="separators", name="Separators", fields=FIELDS, sheet=_sheet,
    question="How much room do the plates leave, what does a missing one cost, and when would the records name it?",
)  # fmt: skip
