"""A cost over speed together with all that it rests on."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.economy.breaks import doff_stress, strength_of
from ringwright.economy.cost import ground
from ringwright.economy.counting import Counted
from ringwright.economy.speed import EconomicSpeed, economic_speed
from ringwright.mill import Mill
from ringwright.setting.doff import Doff

__all__ = ["Costing", "costing"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Costing:
    """The cost over speed of a doff, with its mill, and what the break rate rests on.

    ``between`` holds the same at the low and the high end of the counted rate's 95 % interval. ``extrapolated`` names
    which of "as set" and "pays best" stand at tensions that were not counted.
    """

    mill: Mill
    doff: Doff
    found: EconomicSpeed
    rate_given: bool = False
    counted: Counted | None = None
    between: tuple[EconomicSpeed, EconomicSpeed] | None = None
    extrapolated: tuple[str, ...] = ()


def costing(mill: Mill, as_set: Doff, doff: Doff, rate: float | None = None, counted: Counted | None = None) -> Costing:
    """Reckon a doff's cost from the setting as it is, with its break rate [per 1000 spindle hours] or its counts.

    Raises Refusal for doffs with places without a steady balloon.
    """
    if counted is None:
        found = economic_speed(doff, ground(mill, as_set, rate))
        return Costing(mill=mill, doff=doff, found=found, rate_given=rate is not None)
    found, low, high = (
        economic_speed(doff, ground(mill, as_set, one, slope=counted.slope, counted=True))
        for one in (counted.rate, counted.low, counted.high)
    )
    yarn = doff.choice.yarn
    here = doff_stress(doff, strength_of(yarn.strength, yarn.strength_cv).shape).even_tension
    ratio = found.best_speed / found.as_set_speed
    at = {"as set": here, "pays best": here * ratio**2}
    return Costing(
        mill=mill, doff=doff, found=found, counted=counted, between=(low, high),
        extrapolated=tuple(name for name, tension in at.items() if counted.extrapolates(tension)),
    )  # fmt: skip
