"""The cost of a kilogram of yarn: energy, piecing, the spindle's hour, and the roving that goes to waste."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from ringwright.economy.breaks import Stress, doff_stress, strength_of
from ringwright.economy.energy import drawn_power, require_steady
from ringwright.economy.piecing import Patrol, largest_round, patrol
from ringwright.mill import Mill, Money
from ringwright.mill.power import Power
from ringwright.setting.doff import Doff

__all__ = ["Cost", "Ground", "cost_per_kg", "ground"]

HOUR, THOUSAND_HOURS, KWH = 3600.0, 3.6e6, 3.6e6


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What the cost of any trial is reckoned from: prices, and the setting whose break rate is known or assumed."""

    money: Money
    power: Power
    stress: Stress
    """Of the setting as it is."""
    break_rate: float
    """Breaks per spindle and second of the setting as it is."""
    efficiency: float
    """Of the setting as it is."""
    doff_time: float
    running: float
    """Share of the time that an end is up, in the setting as it is."""
    rate_given: bool
    """True if the break rate was given for this setting, False if it is the mill's general figure."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Cost of 1 kg of yarn by part, in the mill's currency, with what it rests on."""

    energy: float
    piecing: float
    spindle: float
    waste: float
    production: float
    """Yarn per spindle, standing times and broken ends taken off [kg/s]."""
    power: float
    """Drawn by one spindle while it spins [W]."""
    energy_per_mass: float
    """[J/kg], of the frame alone."""
    break_rate: float
    """Breaks per spindle and second."""
    round: Patrol

    @property
    def total(self) -> float:
        """All parts."""
        return self.energy + self.piecing + self.spindle + self.waste

    @property
    def breaks_per_1000_spindle_hours(self) -> float:
        """Breaks per 1000 spindle hours."""
        return self.break_rate * THOUSAND_HOURS


def ground(mill: Mill, as_set: Doff, breaks_per_1000_spindle_hours: float | None = None) -> Ground:
    """Return the ground for trials of a doff's setting; the break rate is the mill's general one unless given."""
    require_steady(as_set, "the cost")
    yarn, money = as_set.choice.yarn, mill.money
    given = breaks_per_1000_spindle_hours
    rate = (money.breaks_per_1000_spindle_hours if given is None else given) / THOUSAND_HOURS
    return Ground(
        money=money,
        power=mill.power,
        stress=doff_stress(as_set, strength_of(yarn.strength, yarn.strength_cv).shape),
        break_rate=rate,
        efficiency=as_set.choice.setting.efficiency,
        doff_time=as_set.problem.doff_time,
        running=_round(money, rate)[0].running,
        rate_given=given is not None,
    )


def cost_per_kg(doff: Doff, ground: Ground, ratio: float = 1.0) -> Cost:
    """Return the cost of the yarn of a doff, or of the same doff run at ``ratio`` times its speeds.

    Breaks stand to those of the ground's setting as the model says (``rate_ratio`` with the mill's share of breaks
    that follow tension; the yarn's strength is taken to be that of the ground's yarn). Efficiency is the setting's,
    corrected for the time at doffs and for ends down. Raises Refusal for a doff with places without a steady balloon.
    """
    require_steady(doff, "the cost")
    money, breaks = ground.money, _break_rate(doff, ground, ratio)
    tour, minded = _round(money, breaks)
    time = doff.problem.doff_time / ratio
    spinning = _spinning_share(time, money) / _spinning_share(ground.doff_time, money)
    gross = doff.problem.content / time
    on = min(1.0, ground.efficiency * spinning / ground.running)  # share of the time that the frame turns
    production = gross * on * tour.running
    drawn = drawn_power(doff, ground.power, ratio)
    lost = gross * on * (1 - tour.running)  # spun into the suction while ends are down
    return Cost(
        energy=drawn * on / production / KWH * money.energy_price_per_kwh * (1 + money.air_conditioning_share),
        piecing=money.piecer_cost_per_hour / HOUR / minded / production,
        spindle=money.spindle_cost_per_hour / HOUR / production,
        waste=lost / production * (money.roving_cost_per_kg - money.waste_value_per_kg),
        production=production,
        power=drawn,
        energy_per_mass=drawn * on / production,
        break_rate=breaks,
        round=tour,
    )


def _break_rate(doff: Doff, ground: Ground, ratio: float) -> float:
    new, old, share = doff_stress(doff, ground.stress.shape), ground.stress, ground.money.tension_breaks_share
    grows = 2 * ground.stress.shape  # tensions grow with the square of speed
    length = ratio * new.yarn_speed / old.yarn_speed
    tension = exp(new.log_moment - old.log_moment) * ratio**grows
    return float(ground.break_rate * length * (1 - share + share * tension))


def _spinning_share(doff_time: float, money: Money) -> float:
    return doff_time / (doff_time + money.doff_stop)


def _round(money: Money, break_rate: float) -> tuple[Patrol, float]:
    """Return the piecer's round, and the spindles minded, with the part of a spindle that the limits would still allow.

    The part keeps the cost smooth over speed, where whole spindles would make it a stair.
    """
    walk, piece = money.walking_time, money.piecing_time
    if money.spindles_per_piecer is not None:
        return patrol(money.spindles_per_piecer, break_rate, walk, piece), float(money.spindles_per_piecer)
    spindles = largest_round(break_rate, walk, piece, money.piecing_share, money.longest_round)
    here, more = (patrol(n, break_rate, walk, piece) for n in (spindles, spindles + 1))
    by_share = (money.piecing_share - here.piecing_share) / (more.piecing_share - here.piecing_share)
    by_time = (money.longest_round - here.round_time) / (more.round_time - here.round_time)
    return here, spindles + min(max(min(by_share, by_time), 0.0), 1.0)
