"""What a change of setting is worth to a whole frame in a year: yarn and money."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.improve.run import Run
from ringwright.mill import Money

__all__ = ["Worth", "worth"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """More yarn [kg] and money that a frame gives in a year of spinning; negative where it gives less.

    ``by_price`` says how the money is reckoned: with a price for spinning, as what the frame earns more with the yarn
    that it then makes; without, as what the yarn that it makes now costs less.
    """

    yarn: float
    money: float
    by_price: bool


def worth(before: Run, after: Run, spindles: int, money: Money) -> Worth:
    """Give what a frame of so many spindles gains in a year; raises ValueError for a run without a price.

    Times at doffs and ends down are taken off the yarn. Prices and hours are those of the mill's file.
    """
    old, new = before.cost, after.cost
    if old is None or new is None:
        raise ValueError("only runs with a cost can be weighed in money")
    seconds = spindles * money.spinning_time_per_year
    price = money.spinning_price_per_kg
    if price is None:
        gain = (old.total - new.total) * old.production
    else:
        gain = (price - new.total) * new.production - (price - old.total) * old.production
    return Worth(yarn=(new.production - old.production) * seconds, money=gain * seconds, by_price=price is not None)
