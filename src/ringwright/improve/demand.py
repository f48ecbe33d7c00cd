"""What the spindle's speed is asked to keep: each limit with the value held below it, told per power of the speed.

Without feed and gravity the balloon's shape does not depend on the speed, so a doff that has been solved once is solved
at every speed: tensions and forces go with the square of the speed, rubbing powers with its cube, and the traveller's
speed with the speed itself, place by place (docs/explanation/balloon.md). The angles and radii stay as they are.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ringwright.judgement.room import Authority, Kind
from ringwright.judgement.stated import (
    CONTROL_RING_HEAT,
    HEAT,
    SPEED,
    SPINDLE,
    SPINDLE_RULE,
    STRENGTH,
    WINDING,
    authority_of,
)
from ringwright.mill import Frame, Limit, Yarn, origin_of
from ringwright.physics.real import Array
from ringwright.physics.traveller_speed import rubbing_speed
from ringwright.setting.doff import Doff

__all__ = ["Demand", "Spun", "demands", "spun_doff"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spun:
    """Solved places at the speeds of their doff, SI, arrays of one shape; nan where there is no steady balloon."""

    spindle_speed: Array
    traveller_speed: Array
    triangle_tension: Array
    """Largest tension at the spinning triangle over a turn of the balloon [N]."""
    winding_tension: Array
    traveller_heat: Array
    """[W]"""
    control_ring_force: Array
    """[N]; 0 where the balloon passes free."""
    control_ring_diameter: Array | float
    """[m]; 0 where none is fitted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """One limit at every place: value = per_speed x (spindle speed)^power, to stay at or below ``limit``.

    ``per_speed`` has the shape of the places, SI with the speed in rad/s. ``limit`` is None where nobody has stated
    one: the value is then told and holds nothing back.
    """

    kind: Kind
    power: int
    per_speed: Array
    limit: float | None
    authority: Authority | None = None

    @property
    def speed(self) -> Array:
        """Highest spindle speed [rad/s] that keeps the limit at each place; inf where there is none to keep."""
        if self.limit is None:
            return np.full(self.per_speed.shape, np.inf)
        with np.errstate(divide="ignore"):
            return np.asarray((self.limit / self.per_speed) ** (1 / self.power), dtype=np.float64)


def spun_doff(doff: Doff) -> Spun:
    """Take from a solved doff what its limits are held against."""
    forces, places, ring = doff.forces, doff.places, doff.choice.frame.control_ring
    return Spun(
        spindle_speed=places.spindle_speed,
        traveller_speed=places.traveller_speed,
        triangle_tension=forces.triangle_most,
        winding_tension=forces.winding_tension,
        traveller_heat=forces.traveller_heat,
        control_ring_force=forces.control_ring_force,
        control_ring_diameter=0.0 if ring is None else ring.diameter,
    )


def demands(spun: Spun, frame: Frame, yarn: Yarn, limits: Mapping[str, Limit]) -> tuple[Demand, ...]:
    """Give every limit of a frame with a yarn that the speed can keep or break, at the places solved.

    The tension that counts is the largest at the spinning triangle, as in the judgement; the winding tension is held
    only where the mill states a share for it.
    """
    rubbing = rubbing_speed(spun.traveller_speed, frame.ring.diameter)

    def demand(kind: Kind, value: Array, power: int, unit: float = 1.0) -> Demand:
        stated = limits.get(kind.key)
        return Demand(
            kind=kind,
            power=power,
            per_speed=value / spun.spindle_speed**power,
            limit=None if stated is None else stated.value * unit,
            authority=None if stated is None else authority_of(stated),
        )

    found = [
        demand(STRENGTH, spun.triangle_tension, 2, yarn.strength),
        demand(SPEED, rubbing, 1),
        demand(HEAT, spun.traveller_heat, 3),
        _spindle(frame, spun),
    ]
    if WINDING.key in limits:
        found.append(demand(WINDING, spun.winding_tension, 2, yarn.strength))
    if SPINDLE_RULE.key in limits:
        found.append(demand(SPINDLE_RULE, spun.spindle_speed, 1))
    thermoplastic = any(fibre.thermoplastic for fibre in yarn.fibres)
    if frame.control_ring is not None and (thermoplastic or CONTROL_RING_HEAT.key in limits):
        found.append(demand(CONTROL_RING_HEAT, _control_ring_heat(frame, spun), 3))
    return tuple(found)


def _spindle(frame: Frame, spun: Spun) -> Demand:
    origin, note = origin_of(frame, "spindle.highest_speed")
    source = note or "the highest speed that the spindle is built for"
    return Demand(
        kind=SPINDLE,
        power=1,
        per_speed=np.ones(spun.spindle_speed.shape),
        limit=frame.spindle.highest_speed,
        authority=Authority(source=source, owner=f"spindles of {frame.name}", origin=origin),
    )


def _control_ring_heat(frame: Frame, spun: Spun) -> Array:
    """Rubbing power of the yarn on the control ring [W]: friction x force x speed round it, 0 where it is free."""
    friction = 0.0 if frame.control_ring is None else frame.control_ring.friction
    return np.asarray(
        friction * spun.control_ring_force * spun.traveller_speed * spun.control_ring_diameter / 2, dtype=np.float64
    )
