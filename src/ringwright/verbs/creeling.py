"""The verbs about the creel that the doors may ask for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ringwright.creel.unwound import TriedCreel
    from ringwright.creel.week import TriedWeek
    from ringwright.mill import Mill
    from ringwright.report.sheets.sheet import Sheet

# Each verb imports what it needs as it is called.
# ruff: noqa: PLC0415

__all__ = ["RENEWALS", "AskedCreel", "creel", "creel_sheet"]

RENEWALS = ("staggered", "at once")


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedCreel:
    """What is asked of the creel, as typed: brake ("2 mN m"), roving's twist ("1.1 TM"), hands and carts.

    Empty words leave what the mill has. ``renewal`` is "staggered" or "at once".
    """

    brake: str = ""
    roving_twist: str = ""
    week: bool = False
    creelers: str = ""
    carts: str = ""
    renewal: str = "staggered"
    seed: int = 1


def creel(where: str, names: tuple[str, str], asked: AskedCreel) -> Sheet:
    """Tell the creel of a frame and yarn (their names) of a mill; refuses as ``creel_sheet``."""
    from ringwright.verbs.app import open_mill

    return creel_sheet(open_mill(where), *names, asked)


def creel_sheet(mill: Mill, frame: str, yarn: str, asked: AskedCreel) -> Sheet:
    """Make the creel's sheet; Refusal for unknown names and, all together, for what was typed."""
    from ringwright.creel.renewal import renewal_plan
    from ringwright.creel.unwound import unwound
    from ringwright.creel.week import week
    from ringwright.report.sheets.creel import creel_sheet as sheet_of

    tried, run = _read(asked)
    found = unwound(mill, frame, yarn, tried)
    plan = renewal_plan(found.supply, mill.creeling, mill.shift_length)
    return sheet_of(found, plan, week(mill, frame, yarn, run) if asked.week else None, tried)


def _read(asked: AskedCreel) -> tuple[TriedCreel, TriedWeek]:
    """Read what was typed; Refusal with every fault."""
    from ringwright.creel.unwound import TriedCreel
    from ringwright.creel.week import TriedWeek
    from ringwright.refusal import Fault, Refusal
    from ringwright.units import parse

    faults: list[Fault] = []

    def quantity(word: str, kind: str, where: str) -> float | None:
        try:
            return parse(word, kind, where) if word.strip() else None
        except Refusal as refusal:
            faults.extend(refusal.faults)
            return None

    def whole(word: str, where: str) -> int | None:
        if not word.strip():
            return None
        if not word.strip().isdecimal():
            faults.append(Fault(where=where, got=f'"{word}"', wants="a whole number, 1 or more"))
            return None
        return int(word)

    brake = quantity(asked.brake, "torque", "the brake")
    twist = quantity(asked.roving_twist, "twist multiplier", "the roving's twist")
    creelers, carts = whole(asked.creelers, "the number of creelers"), whole(asked.carts, "the number of carts")
    if asked.renewal not in RENEWALS:
        wants = f"one of {', '.join(RENEWALS)}"
        faults.append(Fault(where="the renewals", got=f'"{asked.renewal}"', wants=wants))
    if faults:
        raise Refusal(faults)
    renewal = "at once" if asked.renewal == "at once" else "staggered"
    return (
        TriedCreel(brake_torque=brake, roving_twist=twist),
        TriedWeek(creelers=creelers, carts=carts, renewal=renewal, seed=asked.seed),  # type: ignore[arg-type]
    )
