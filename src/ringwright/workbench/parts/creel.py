"""The creel as a page: brake, twist of the roving, and a week with its hands and carts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from ringwright.mill import Mill, setting_for
from ringwright.report.sheets.sheet import Sheet
from ringwright.units import show
from ringwright.verbs.creeling import RENEWALS, AskedCreel, creel_sheet
from ringwright.workbench.parts.part import Part, PartField

__all__ = ["PART"]

NO, YES = "no week", "run a week"


def _brake(mill: Mill, frame: str, _: str) -> str:
    return show(mill.frames[frame].creel.brake_torque, "torque")


def _twist(mill: Mill, frame: str, yarn: str) -> str:
    roving = mill.rovings[setting_for(mill, frame, yarn).roving]
    return show(roving.twist_multiplier, "twist multiplier", "TM")


def _number(key: str) -> PartField:
    label = {"creelers": "Creelers", "carts": "Carts"}[key]
    return PartField(
        key=key, label=label, hint="for all frames together; used in the week",
        start=lambda mill, _frame, _yarn: str(int(getattr(mill.creeling, key))),
    )  # fmt: skip


FIELDS: Final = (
    PartField(key="brake", label="Brake on the hanging bobbin", hint='a torque, as "2 mN m"', start=_brake),
    PartField(key="roving_twist", label="Twist of the roving", hint='as "1.1 TM"', start=_twist),
    PartField(key="week", label="A week of the mill", hint="doffs, renewals, hands and carts of all frames",
              start=lambda *_: NO, choices=(NO, YES)),
    _number("creelers"),
    _number("carts"),
    PartField(key="renewal", label="Renewals", hint="group by group with the doffs, or a whole creel at once",
              start=lambda *_: RENEWALS[0], choices=RENEWALS),
)  # fmt: skip


def _sheet(mill: Mill, frame: str, yarn: str, typed: Mapping[str, str]) -> Sheet:
    """Ask for the sheet; a field that still holds its start tries nothing."""
    moved = {
        field.key: typed[field.key]
        for field in FIELDS
        if field.key in typed and typed[field.key].strip() not in {"", field.start(mill, frame, yarn)}
    }
    asked = AskedCreel(
        brake=moved.get("brake", ""), roving_twist=moved.get("roving_twist", ""), week=moved.get("week") == YES,
        creelers=moved.get("creelers", ""), carts=moved.get("carts", ""), renewal=moved.get("renewal", RENEWALS[0]),
    )  # fmt: skip
    return creel_sheet(mill, frame, yarn, asked)


PART = Part(
    key="creel", name="Creel", fields=FIELDS, sheet=_sheet,
    question="Which brake neither lets a bobbin run on nor draws the roving, and when are which bobbins renewed?",
)  # fmt: skip
