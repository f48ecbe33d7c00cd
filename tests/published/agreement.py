"""How a computed value is held against a printed one, and where the printed ones are kept."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from math import pi
from pathlib import Path
from typing import Any

from ringwright.units.factors import ENGLISH_COUNT, INCH, POUND

AUTHORITIES = Path(__file__).parents[2] / "authorities"

# Units of the trade in SI, by hand, from the cited yard, pound and inch
TEX = 1e-6
DENIER = 1e-3 / 9000
RPM = 2 * pi / 60
METRE_PER_MINUTE = 1 / 60
PER_INCH = 1 / INCH
HOUR = 3600.0
POUND_MASS = float(POUND)


def from_ne(count: float) -> float:
    """Linear density [kg/m] of an English cotton count."""
    return ENGLISH_COUNT / count


@dataclass(frozen=True, kw_only=True)
class Printed:
    """One value as a source prints it, with what the source gave for it."""

    where: str
    unit: str
    given: dict[str, Any] = field(default_factory=dict)
    printed: str = ""
    printed_range: tuple[str, ...] = ()
    lowest: str = ""
    highest: str = ""
    slip: str = ""


@cache
def authority(source: str) -> dict[str, Printed]:
    """All values printed by one source, by name."""
    values: dict[str, Printed] = {}
    for path in sorted((AUTHORITIES / source).glob("*.toml")):
        entries = tomllib.loads(path.read_text(encoding="utf-8"))
        assert entries.pop("source") == source, path
        values |= {name: Printed(**entry) for name, entry in entries.items()}
    return values


def printed(source: str, name: str) -> Printed:
    """One printed value; KeyError if the source's file does not hold it."""
    return authority(source)[name]


def agrees(value: float, text: str, *, last_digits: float = 0.5) -> bool:
    """Whether the value lies within half of the last printed digit; ``last_digits`` widens it, for a stated reason."""
    last = Decimal(text).as_tuple().exponent
    return abs(Decimal(float(value)) - Decimal(text)) <= Decimal(str(last_digits)).scaleb(int(last))


def between(value: float, entry: Printed) -> bool:
    """Whether the value lies in the range that the source accepts."""
    return float(entry.lowest) <= value <= float(entry.highest)
