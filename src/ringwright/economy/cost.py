"""The cost of a kilogram of yarn: energy, piecing, the spindle's hour, and the roving that goes to waste."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeVar

from ringwright.economy.breaks import Stress, doff_stress, strength_of
from ringwright.economy.energy import drawn_power, require_steady
from ringwright.economy.piecing import Patrol, largest_round, patrol
from ringwright.mill import Mill, Money
from ringwright.mill.power import Power
from ringwright.physics.real import Array
from ringwright.setting.doff import Doff

__all__ = ["KWH", "Cost", "Ground", "cost_per_kg", "ground", "round_at", "spinning_share"]

Numbers = TypeVar("Numbers", float, Array)
RateFrom = Literal["the mill's general figure", "given", "counted"]
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
    rate_from: RateFrom
    """Whose break rate it is."""
    slope: float
    """Power of the tension with which breaks grow: the m of strength tests, or that of the mill's counts."""
    tension_share: float
    """Share of the breaks, in the setting as it is, that grow so."""

    def rate_of(self, length: Numbers, tension: Numbers) -> Numbers:
        """Give breaks per spindle and second where yarn speed and counting tension are so many times those as set."""
        share = self.tension_share
        grown: Numbers = tension**self.slope
        return length * (share * grown + (1 - share)) * self.break_rate


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


def ground(
    mill: Mill,
    as_set: Doff,
    breaks_per_1000_spindle_hours: float | None = None,
    *,
    slope: float | None = None,
    counted: bool = False,
) -> Ground:
    """Return the ground for trials of a doff's setting; the break rate is the mill's general one unless given.

    ``slope`` is that of the mill's counts on ln tension: all breaks then grow so, as the counts hold them all.
    """
    require_steady(as_set, "the cost")
    yarn, money = as_set.choice.yarn, mill.money
    given = breaks_per_1000_spindle_hours
    rate = (money.breaks_per_1000_spindle_hours if given is None else given) / THOUSAND_HOURS
    shape = strength_of(yarn.strength, yarn.strength_cv).shape
    return Ground(
        money=money,
        power=mill.power,
        stress=doff_stress(as_set, shape),
        break_rate=rate,
        efficiency=as_set.choice.setting.efficiency,
        doff_time=as_set.problem.doff_time,
        running=round_at(money, rate)[0].running,
        rate_from="the mill's general figure" if given is None else "counted" if counted else "given",
        slope=shape if slope is None else slope,
        tension_share=money.tension_breaks_share if slope is None else 1.0,
    )


def cost_per_kg(doff: Doff, ground: Ground, ratio: float = 1.0) -> Cost:
    """Return the cost of the yarn of a doff, or of the same doff run at ``ratio`` times its speeds.

    Breaks stand to those of the ground's setting as yarn speed, times the tension that counts to the power of the
    ground's slope for the share of breaks that follow tension (the yarn's strength is taken to be that of the ground's
    yarn). Efficiency is the setting's, corrected for the time at doffs and for ends down. Raises Refusal for a doff
    with places without a steady balloon.
    """
    require_steady(doff, "the cost")
    money, breaks = ground.money, _break_rate(doff, ground, ratio)
    tour, minded = round_at(money, breaks)
    time = doff.problem.doff_time / ratio
    spinning = spinning_share(time, money) / spinning_share(ground.doff_time, money)
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


def spinning_share(doff_time: Numbers, money: Money) -> Numbers:
    """Return the share of the time that a frame spins, of doff times [s], between the stops for doffing."""
    return doff_time / (doff_time + money.doff_stop)


def _break_rate(doff: Doff, ground: Ground, ratio: float) -> float:
    new, old = doff_stress(doff, ground.stress.shape), ground.stress
    length = ratio * new.yarn_speed / old.yarn_speed
    # Tensions grow with the square of speed.
    return ground.rate_of(length, new.even_tension * ratio**2 / old.even_tension)


def round_at(money: Money, break_rate: float) -> tuple[Patrol, float]:
    """Return the piecer's round at breaks per spindle and second, and the spindles minded.

    With them stands the part of a spindle that the limits would still allow; it keeps the cost smooth over speed,
    where whole spindles would make it a stair.
    """
    walk, piece = money.walking_time, money.piecing_time
    if money.spindles_per_piecer is not None:
        return patrol(money.spindles_per_piecer, break_rate, walk, piece), float(money.spindles_per_piecer)
    spindles = largest_round(break_rate, walk, piece, money.piecing_share, money.longest_round)
    here, more = (patrol(n, break_rate, walk, piece) for n in (spindles, spindles + 1))
    by_share = (money.piecing_share - here.piecing_share) / (more.piecing_share - here.piecing_share)
    by_time = (money.longest_round - here.round_time) / (more.round_time - here.round_time)
    return here, spindles + min(max(min(by_share, by_time), 0.0), 1.0)
