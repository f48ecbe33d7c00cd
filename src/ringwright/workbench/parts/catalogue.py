"""The parts that have a page, in the order in which the yarn meets them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ringwright.mill import Mill
from ringwright.refusal import Fault, Refusal, nearest
from ringwright.report.sheets.sheet import Sheet
from ringwright.workbench.parts import centring, creel, drive, separators, spindle
from ringwright.workbench.parts.part import Part

__all__ = ["PARTS", "part_at", "sheet_of"]

_IN_ORDER: tuple[Part, ...] = (creel.PART, separators.PART, spindle.PART, centring.PART, drive.PART)

PARTS: Mapping[str, Part] = MappingProxyType({one.key: one for one in _IN_ORDER})


def part_at(key: str) -> Part:
    """Find a part by its key; Refusal with the nearest key if there is none."""
    if key in PARTS:
        return PARTS[key]
    wants = f"one of {', '.join(PARTS)}"
    raise Refusal(Fault(where="the part", got=f'"{key}"', wants=wants, mend=nearest(key, list(PARTS))))


def sheet_of(key: str, mill: Mill, frame: str, yarn: str, typed: Mapping[str, str]) -> Sheet:
    """Give the sheet of a part for what was typed; raises Refusal as the part does."""
    return part_at(key).sheet(mill, frame, yarn, typed)
