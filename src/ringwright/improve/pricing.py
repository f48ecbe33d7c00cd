"""What every candidate costs at once: a kilogram's cost in closed form over the strokes of the coarse doff.

A candidate's speeds go up to its limits and are pressed down so that no stroke's counting tension passes one value;
that value is sought. Of all courses that break as many ends in as much time, this one is nearly the flattest, since
breaks grow with a high power of the tension.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from ringwright.economy.cost import KWH, Ground, round_at, spinning_share
from ringwright.economy.energy import frame_power, outline_power
from ringwright.improve.drive import SpeedCourse
from ringwright.improve.front import mean_speed
from ringwright.improve.tried import Bench, Tried
from ringwright.physics.real import Array
from ringwright.setting.problem import doff_problem

__all__ = ["Pricing", "pricing_for"]

CAPS = 36
SLOWEST = 0.3
"""Lowest counting tension that is priced, as a share of the highest at the limits; the speed goes with its root."""
SPEEDS, RATES = 24, 48
BISECTIONS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Pricing:
    """What candidates of one bench are priced by; tables stand for what depends on one number alone.

    ``air`` (strokes, speeds) is the power of cop and frame at the ``speeds``; ``minded`` and ``running`` are spindles
    of a piecer and the share of ends up at the ``rates`` of breaks per second. ``present_tension`` [N] and
    ``present_speed`` [m/s] of the yarn belong to the ground's setting, on the same coarse doff.
    """

    ground: Ground
    weights: Array
    angle: float
    """That the spindle turns in the doff [rad]."""
    length: float
    """Yarn of the doff [m]."""
    content: float
    """[kg]"""
    shape: float
    """m of the yarn's strength."""
    speeds: Array
    air: Array
    rates: Array
    minded: Array
    running: Array
    present_tension: float
    present_speed: float

    def cost(self, tried: Tried, speeds: Array) -> Array:
        """Give the cost of 1 kg (c,) at the speeds of the strokes (c, strokes) [rad/s]; nan without a balloon."""
        money, ground = self.ground.money, self.ground
        time_shares = self.weights / speeds
        time = self.angle * time_shares.sum(axis=1)
        power = (time_shares * (tried.yarn_power * speeds**3 + self._air(speeds))).sum(axis=1) / time_shares.sum(axis=1)
        tension = self.counting_tension(tried, speeds)
        rate = ground.rate_of(self.length / time / self.present_speed, tension / self.present_tension)
        running = np.exp(np.interp(np.log(rate), np.log(self.rates), np.log(self.running)))
        minded = np.exp(np.interp(np.log(rate), np.log(self.rates), np.log(self.minded)))
        gross = self.content / time
        spinning = spinning_share(time, money) / spinning_share(ground.doff_time, money)
        on = np.minimum(1.0, ground.efficiency * spinning / ground.running)
        made = gross * on * running
        energy = power / ground.power.efficiency * on / made / KWH
        return np.asarray(
            energy * money.energy_price_per_kwh * (1 + money.air_conditioning_share)
            + (money.piecer_cost_per_hour / minded + money.spindle_cost_per_hour) / 3600 / made
            + (1 / running - 1) * (money.roving_cost_per_kg - money.waste_value_per_kg),
            dtype=np.float64,
        )

    def counting_tension(self, tried: Tried, speeds: Array) -> Array:
        """Give the tension of whole doffs that counts for breaks [N], (c,), at the speeds of the strokes."""
        strokes = tried.counting_tension * speeds**2
        top = strokes.max(axis=1, keepdims=True)
        return np.asarray(
            top[:, 0] * ((strokes / top) ** self.shape @ self.weights) ** (1 / self.shape), dtype=np.float64
        )

    def _air(self, speeds: Array) -> Array:
        """Look the power of cop and frame up at speeds (c, strokes), straight in the logarithms."""
        logs = np.log(self.speeds)
        at = [np.interp(np.log(speeds[:, s]), logs, np.log(self.air[s])) for s in range(speeds.shape[1])]
        return np.asarray(np.exp(np.stack(at, axis=1)), dtype=np.float64)

    def standing_on(self, tried: Tried, speeds: Array) -> Pricing:
        """Give the pricing with the counting tension of the first candidate at speeds (strokes,) as the present one."""
        first = replace(tried, counting_tension=tried.counting_tension[:1], yarn_power=tried.yarn_power[:1])
        return replace(self, present_tension=float(self.counting_tension(first, speeds[None, :])[0]))

    def least(self, tried: Tried, relaxed: Mapping[str, float] | None = None) -> Array:
        """Give the least cost of 1 kg of each candidate under its limits, (c,); inf where one of shape is passed."""
        envelope = tried.envelope(relaxed)
        tops = (tried.counting_tension * envelope**2).max(axis=1)
        best = np.full(len(envelope), np.inf)
        with np.errstate(invalid="ignore", divide="ignore"):
            for cap in np.geomspace(SLOWEST, 1.0, CAPS):
                cost = self.cost(tried, pressed(tried, envelope, cap * tops))
                best = np.fmin(best, cost)
        return np.where(tried.keeps, best, np.inf)

    def least_at(self, tried: Tried, speed: float) -> Array:
        """Give the least cost of 1 kg at a mean speed [rad/s], (c,); inf for a candidate that cannot run it."""
        envelope = tried.envelope()
        with np.errstate(invalid="ignore", divide="ignore"):
            reached = mean_speed(envelope, self.weights) >= speed * (1 - 1e-12)
            high = (tried.counting_tension * envelope**2).max(axis=1)
            low = np.zeros_like(high)
            for _ in range(BISECTIONS):
                middle = (low + high) / 2
                enough = mean_speed(pressed(tried, envelope, middle), self.weights) >= speed * (1 - 1e-12)
                low, high = np.where(enough, low, middle), np.where(enough, middle, high)
            cost = self.cost(tried, pressed(tried, envelope, high))
        return np.where(reached & tried.keeps, cost, np.inf)


def pressed(tried: Tried, envelope: Array, tensions: Array) -> Array:
    """Press envelopes (c, strokes) down so that no stroke's counting tension passes ``tensions`` (c,) [N]."""
    return np.minimum(envelope, np.sqrt(tensions[:, None] / tried.counting_tension))


def pricing_for(bench: Bench, ground: Ground, present: SpeedCourse, tried: Tried) -> Pricing:
    """Give the pricing of a bench; the first candidate tried is the present parts, which run the present course."""
    problem, row = doff_problem(bench.choice), bench.row
    here = bench.places.spindle_speed[::row]
    speeds = np.geomspace(0.15 * here.max(), 2.5 * here.max(), SPEEDS)
    feet = bench.places.foot_height[::row]
    air = np.stack(
        [
            outline_power(bench.choice, ground.power, np.full(len(feet), speed), feet)
            + sum(frame_power(ground.power, np.full(len(feet), speed)).values())
            for speed in speeds
        ],
        axis=1,
    )
    rates = ground.break_rate * np.geomspace(1e-3, 1e3, RATES)
    rounds = [round_at(ground.money, float(rate)) for rate in rates]
    turns = float(problem.twist * problem.yarn_length)
    pricing = Pricing(
        ground=ground,
        weights=bench.weights,
        angle=2 * np.pi * turns,
        length=problem.yarn_length,
        content=problem.content,
        shape=ground.stress.shape,
        speeds=speeds,
        air=air,
        rates=rates,
        minded=np.array([minded for _, minded in rounds]),
        running=np.array([tour.running for tour, _ in rounds]),
        present_tension=1.0,
        present_speed=problem.yarn_length / present.doff_time(turns),
    )
    centres = np.cumsum(bench.weights) - bench.weights / 2
    return pricing.standing_on(tried, present.at(centres))
