"""What oil and spring do to the spindle with a full cop at its main speed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ringwright.mill.rotor import Rotor
from ringwright.physics.rotor import Support, System
from ringwright.physics.whirl import critical_speeds, support_forces, unbalance_response, whirl
from ringwright.setting.choice import Choice
from ringwright.setting.problem import cop_shape
from ringwright.spindle.building import SpindleRotor, build
from ringwright.spindle.oil import oil_of
from ringwright.spindle.study import passing, sweep_of, together
from ringwright.spindle.tried import TriedSpindle, rotor_as_tried

__all__ = ["Variant", "variants"]

OIL_LEFT = 0.1
"""Share of the film that is left where the oil is nearly gone: our picture of a dry foot."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """A spindle with a full cop and one thing changed, SI; ``decrement`` of the slowest forward whirl, nan if none."""

    name: str
    viscosity: float
    damping: float
    critical: float
    decrement: float
    passing_sweep: float
    main_sweep: float
    foot_force: float


def variants(choice: Choice, tried: TriedSpindle) -> tuple[Variant, ...]:
    """Give the spindle as tried, then with warmer, cooler, thicker and little oil, and with another spring."""
    rotor = rotor_as_tried(choice.frame.rotor, tried)
    thick = min(4 * rotor.oil_viscosity, 500e-6)
    listed = [
        ("as it is", {}, 1.0),
        ("oil 20 degrees cooler", {"oil_celsius": rotor.oil_celsius - 20}, 1.0),
        ("oil 20 degrees warmer", {"oil_celsius": rotor.oil_celsius + 20}, 1.0),
        (f"oil of {1e6 * thick:g} mm2/s", {"oil_viscosity": thick}, 1.0),
        ("oil nearly gone, a tenth of the film", {}, OIL_LEFT),
        ("spring half as stiff", {"foot_stiffness": rotor.foot_stiffness / 2}, 1.0),
        ("spring twice as stiff", {"foot_stiffness": rotor.foot_stiffness * 2}, 1.0),
    ]
    return tuple(_variant(choice, name, rotor.model_copy(update=change), left) for name, change, left in listed)


def _variant(choice: Choice, name: str, rotor: Rotor, left: float) -> Variant:
    oil = oil_of(rotor, choice.frame.rotor)
    full = np.array([cop_shape(choice.frame).last_foot])
    spindle = build(choice.frame, rotor, full, left * oil.damping)
    of, main = spindle.system, choice.setting.main_speed
    one = replace(
        spindle,
        system=System(mass=of.mass[0], polar=of.polar[0], damping=of.damping, stiffness=of.stiffness),
        unbalance=spindle.unbalance[:, 0],
    )
    critical = float(critical_speeds(one.system, 1)[0])
    found = whirl(one.system, main, 4)
    forward = np.flatnonzero((found.frequency > 0) & (found.frequency < 3 * critical))
    return Variant(
        name=name, viscosity=oil.kinematic, damping=left * oil.damping, critical=critical,
        decrement=float(found.decrement[forward[0]]) if len(forward) else float("nan"),
        passing_sweep=passing(one, critical).sweep,
        main_sweep=float(sweep_of(one, np.array([main]))[0][0]),
        foot_force=_force(one, one.foot, main),
    )  # fmt: skip


def _force(spindle: SpindleRotor, support: Support, spin: float) -> float:
    moved = unbalance_response(spindle.system, spindle.unbalance, np.array([spin]))
    return float(together(support_forces(support, moved, np.array([spin])))[0])
