"""The economic speed: the one at which one more turn costs what it earns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize_scalar

from ringwright.economy.cost import Cost, Ground, cost_per_kg
from ringwright.setting.doff import Doff

__all__ = ["EconomicSpeed", "economic_speed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class EconomicSpeed:
    """Cost over main speed, and the speed that pays best within the spindle's range."""

    speeds: tuple[float, ...]
    """Main speeds [rad/s] of the curve, rising."""
    costs: tuple[Cost, ...]
    best_speed: float
    best: Cost
    as_set_speed: float
    as_set: Cost
    at_end: str
    """"" where the best lies inside the range, else which end it lies at."""
    price: float | None
    """What the mill earns for spinning 1 kg; None where the least cost of a kilogram is looked for."""

    def gain_per_spindle_hour(self, cost: Cost) -> float:
        """Give what a spindle earns in an hour; with no price, its cost in an hour, negative."""
        return ((self.price or 0.0) - cost.total) * cost.production * 3600


def economic_speed(
    doff: Doff, ground: Ground, span: tuple[float, float] = (0.7, 1.3), points: int = 61
) -> EconomicSpeed:
    """Return the cost over speeds from ``span[0]`` to ``span[1]`` times those of the doff, and the one that pays best.

    With a price for spinning, the most that a spindle earns in an hour; else the least cost of a kilogram, where one
    more turn costs, for each kilogram that it adds, what a kilogram costs already. The highest speed of the spindle
    ends the range. Only money speaks here: the mill's limits are judged elsewhere.
    """
    setting, frame = doff.choice.setting, doff.choice.frame
    quickest = max(setting.start_speed, setting.base_speed, setting.main_speed, setting.tip_speed)
    top = min(span[1], frame.spindle.highest_speed / quickest)
    ratios = np.linspace(span[0], top, points)
    price = ground.money.spinning_price_per_kg

    def loss(ratio: float) -> float:
        cost = cost_per_kg(doff, ground, float(ratio))
        return cost.total if price is None else -(price - cost.total) * cost.production * 1e6

    costs = tuple(cost_per_kg(doff, ground, float(ratio)) for ratio in ratios)
    losses = [c.total if price is None else -(price - c.total) * c.production * 1e6 for c in costs]
    k = int(np.argmin(losses))
    at_end = "slow end" if k == 0 else "fast end" if k == points - 1 else ""
    best = float(ratios[k])
    if not at_end:
        around = (float(ratios[k - 1]), float(ratios[k + 1]))
        best = float(minimize_scalar(loss, bounds=around, method="bounded", options={"xatol": 1e-5}).x)
    main = setting.main_speed
    return EconomicSpeed(
        speeds=tuple(float(main * r) for r in ratios), costs=costs, best_speed=main * best,
        best=cost_per_kg(doff, ground, best), as_set_speed=main, as_set=cost_per_kg(doff, ground),
        at_end=at_end, price=price,
    )  # fmt: skip
