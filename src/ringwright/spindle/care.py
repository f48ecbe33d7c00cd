"""Care of spindles: when their oil is due, and what can hurt while it is done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ringwright.judgement.cautions import Caution
from ringwright.sources import Cited

__all__ = ["CARE", "OILING", "Care"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Care:
    """One piece of care: what is done, and the running hours between which it comes due (s)."""

    what: str
    earliest: Cited
    latest: Cited


def _hours(number: float) -> Cited:
    return Cited(3600 * number, "s", source="spindle-care", where="running hours, common practice")


CARE: Final = (
    Care(what="First change of the oil of new spindles", earliest=_hours(500), latest=_hours(1000)),
    Care(what="Top up the oil", earliest=_hours(4000), latest=_hours(6000)),
    Care(what="Change the oil", earliest=_hours(10000), latest=_hours(15000)),
    Care(what="Centre spindles and rings again (half a year to a year)", earliest=_hours(4000), latest=_hours(8000)),
)
OILING: Final = Caution(
    work="oiling or drawing spindles",
    act="Stop and lock out, and let the spindles come to rest, before oiling, touching or drawing them",
    harm="A turning spindle winds in fingers and sleeves; spilt oil makes floors slippery, and oil can harm the skin.",
)
