"""From the frame to a rotor: shaft, wharve, tube and cop as the physics needs them, at each place of the doff.

Heights count from the middle of the neck bearing. The sleeve bends with the blade; tube and cop are carried and do not
stiffen it. The wharve sits at the neck, the foot step at the lower end.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.mill.frame import Frame
from ringwright.mill.rotor import Rotor
from ringwright.physics.cop import profile, tube_diameter
from ringwright.physics.metals import (
    ALUMINIUM_DENSITY,
    ALUMINIUM_RIGIDITY,
    ALUMINIUM_YOUNG,
    SHEAR_FACTOR,
    STEEL_DENSITY,
    STEEL_RIGIDITY,
    STEEL_YOUNG,
)
from ringwright.physics.real import Array
from ringwright.physics.rotor import Lump, Shaft, Spread, Support, System, gauss_heights, spread_force, system
from ringwright.refusal import Fault, Refusal
from ringwright.setting.problem import cop_shape
from ringwright.units import show

__all__ = ["CAUSES", "NECK", "SpindleRotor", "blade_at", "build", "rail_zero", "require_buildable", "sleeve_at"]

CAUSES = ("the tube's run-out", "the blade's run-out", "the spindle's own unbalance", "the cop off the tube's axis")
"""What makes a spindle shake, in the order of the unbalance; which way each points is not known."""
BELOW, BETWEEN, ALONG = 6, 3, 14
"""Elements from foot to neck, from neck to tube, and along the tube."""
NECK = BELOW
TAIL = 8
"""Slices of tube and cop above the blade's tip."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpindleRotor:
    """A spindle at some places of the doff (p,): matrices, unbalance by cause (4, p, N) [kg m], supports, reading."""

    shaft: Shaft
    system: System
    unbalance: Array
    neck: Support
    foot: Support
    tube_tip: float
    """Height of the tube's tip [m]."""
    tip_offset: Array
    """By which each cause moves the tube's axis off the spindle's at the tip (4,) [m], without any whirl."""
    cop_mass: Array
    """Yarn on the tube (p,) [kg]."""
    turning_mass: Array
    """All that turns (p,) [kg]."""


def rail_zero(frame: Frame) -> float:
    """Give the height [m] of the ring rail's lowest place above the neck bearing."""
    return frame.rotor.neck_depth + frame.tube.bare_bottom


def blade_at(rotor: Rotor, tip: float, height: Array) -> Array:
    """Give the diameter [m] of the steel shaft at heights [m]; ``tip`` is the height of the blade's end."""
    return np.interp(
        height,
        [-rotor.bearing_distance, 0.0, rotor.neck_depth, tip],
        [rotor.foot_diameter, rotor.neck_diameter, rotor.blade_diameter, rotor.tip_diameter],
    )


def sleeve_at(rotor: Rotor, tip: float, height: Array) -> Array:
    """Give the outside diameter [m] of the sleeve at heights [m], or the blade's where there is none."""
    ends = [rotor.sleeve_foot_diameter, rotor.sleeve_tip_diameter]
    fitted = np.where(height >= rotor.neck_depth, np.interp(height, [rotor.neck_depth, tip], ends), 0.0)
    return np.maximum(fitted, blade_at(rotor, tip, height))


def require_buildable(frame: Frame) -> None:
    """Refuse a rotor that does not fit its frame's tube, with every fault."""
    rotor, tube, faults = frame.rotor, frame.tube, []
    if rotor.tip_below >= tube.length:
        wants = f"less than the tube's length of {show(tube.length, 'length', 'mm')}"
        faults.append(Fault(where=f"frame.{frame.name}.rotor.tip_below", got=show(rotor.tip_below, "length", "mm"),
                            wants=wants))  # fmt: skip
    for part, end, bore in (("foot", rotor.sleeve_foot_diameter, tube.bottom_diameter),
                            ("tip", rotor.sleeve_tip_diameter, tube.top_diameter)):  # fmt: skip
        if end >= bore:
            wants = f"less than the tube's diameter there of {show(bore, 'length', 'mm')}"
            faults.append(Fault(where=f"frame.{frame.name}.rotor.sleeve_{part}_diameter", got=show(end, "length", "mm"),
                                wants=wants, mend="Look at the tube's diameters too."))  # fmt: skip
    if faults:
        raise Refusal(faults)


def build(frame: Frame, rotor: Rotor, feet: Array, damping: float) -> SpindleRotor:
    """Build the spindle with the cop as it is when the stroke's foot stands at ``feet`` (p,) [m].

    ``damping`` of the foot step [N s/m]. Refuses what ``require_buildable`` refuses.
    """
    require_buildable(frame.model_copy(update={"rotor": rotor}))
    tube_tip = rotor.neck_depth + frame.tube.length
    tip = tube_tip - rotor.tip_below
    shaft = _shaft(rotor, tip)
    heights = gauss_heights(shaft.heights)
    steel, sleeve = blade_at(rotor, tip, heights), sleeve_at(rotor, tip, heights)
    own = STEEL_DENSITY * _area(steel) + ALUMINIUM_DENSITY * (_area(sleeve) - _area(steel))
    own_turn = STEEL_DENSITY * _second(steel) + ALUMINIUM_DENSITY * (_second(sleeve) - _second(steel))
    carried, carried_turn, yarn = _package(frame, rotor, feet, heights)
    turn = own_turn + carried_turn
    neck = Support(node=NECK, stiffness=rotor.neck_stiffness, damping=rotor.neck_damping)
    foot = Support(node=0, stiffness=rotor.foot_stiffness, damping=damping)
    lumps = [_wharve(frame, rotor)]
    tail = _tail(frame, rotor, feet, tip)
    lumps += [] if tail is None else [tail.lump]
    spread = Spread(mass=own + carried, diametral=turn, polar=2 * turn)
    lean = _tube_offset(frame, rotor, heights)
    offsets = (carried * lean, own * _blade_offset(rotor, tip, heights) + 0 * yarn, 0 * yarn, yarn * rotor.cop_offset)
    pull = np.stack([spread_force(shaft, one) for one in offsets])
    pull[2, :, _half_way(frame, rotor, shaft)] = rotor.spindle_unbalance
    weights = _weights(shaft)
    cop, all_own = np.sum(yarn * weights, axis=(-2, -1)), np.sum((own + carried) * weights, axis=(-2, -1))
    if tail is not None:
        pull[..., -2] += tail.pull
        pull[..., -1] += tail.turned
        cop, all_own = cop + tail.yarn, all_own + tail.lump.mass
    return SpindleRotor(
        shaft=shaft, system=system(shaft, spread, lumps, (neck, foot)), unbalance=pull, neck=neck, foot=foot,
        tube_tip=tube_tip, tip_offset=np.array([rotor.tube_runout_tip / 2, 0, 0, 0]), cop_mass=cop,
        turning_mass=all_own + rotor.wharve_mass,
    )  # fmt: skip


def _area(diameter: Array) -> Array:
    return np.asarray(np.pi / 4 * diameter**2)


def _second(diameter: Array) -> Array:
    return np.asarray(np.pi / 64 * diameter**4)


def _weights(shaft: Shaft) -> Array:
    return np.asarray(np.polynomial.legendre.leggauss(4)[1] / 2 * np.diff(shaft.heights)[:, None])


def _shaft(rotor: Rotor, tip: float) -> Shaft:
    parts = (
        np.linspace(-rotor.bearing_distance, 0.0, BELOW + 1),
        np.linspace(0.0, rotor.neck_depth, BETWEEN + 1)[1:],
        np.linspace(rotor.neck_depth, tip, ALONG + 1)[1:],
    )
    heights = np.concatenate(parts)
    middle = (heights[1:] + heights[:-1]) / 2
    steel, sleeve = blade_at(rotor, tip, middle), sleeve_at(rotor, tip, middle)
    shear = STEEL_RIGIDITY * _area(steel) + ALUMINIUM_RIGIDITY * (_area(sleeve) - _area(steel))
    return Shaft(
        heights=heights,
        bending=STEEL_YOUNG * _second(steel) + ALUMINIUM_YOUNG * (_second(sleeve) - _second(steel)),
        shear=SHEAR_FACTOR * shear,
    )


def _package(frame: Frame, rotor: Rotor, feet: Array, heights: Array) -> tuple[Array, Array, Array]:
    """Give mass per length (p, ...) of tube and cop [kg/m], its section's inertia [kg m], and the yarn's part.

    The tube is taken as a thin wall at its outside diameter, the yarn as a ring of even density.
    """
    shape, above = cop_shape(frame), heights - rail_zero(frame.model_copy(update={"rotor": rotor}))
    on_tube = (heights >= rotor.neck_depth) & (heights <= rotor.neck_depth + frame.tube.length)
    tube = tube_diameter(shape, above)
    outside = np.maximum(profile(shape, feet.reshape(-1, *([1] * heights.ndim)), above), tube)
    density = frame.build.package_density
    yarn = np.where(on_tube, density * (_area(outside) - _area(tube)), 0.0)
    yarn_turn = np.where(on_tube, density * (_second(outside) - _second(tube)), 0.0)
    wall = np.where(on_tube, rotor.tube_mass / frame.tube.length, 0.0)
    return wall + yarn, wall * tube**2 / 8 + yarn_turn, yarn


def _wharve(frame: Frame, rotor: Rotor) -> Lump:
    """Give the wharve as a hollow cylinder from the shaft's diameter to its own."""
    outside, inside = frame.spindle.wharve_diameter, rotor.neck_diameter
    polar = rotor.wharve_mass * (outside**2 + inside**2) / 8
    return Lump(
        node=NECK,
        mass=rotor.wharve_mass,
        diametral=polar / 2 + rotor.wharve_mass * rotor.wharve_length**2 / 12,
        polar=polar,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tail:
    lump: Lump
    pull: Array
    turned: Array
    yarn: Array


def _tail(frame: Frame, rotor: Rotor, feet: Array, tip: float) -> _Tail | None:
    """Gather the tube, and any yarn, above the blade's tip into a body that the tip carries stiffly."""
    if rotor.tip_below <= 0:
        return None
    step = rotor.tip_below / TAIL
    heights = np.asarray(tip + step * (np.arange(TAIL) + 0.5), dtype=np.float64)
    mass, turn, yarn = (one * step for one in _package(frame, rotor, feet, heights))
    total = mass.sum(-1)
    above = (mass * (heights - tip)).sum(-1) / total
    none = np.zeros_like(mass)
    offset = np.stack([mass * _tube_offset(frame, rotor, heights), none, none, yarn * rotor.cop_offset])
    spread = (mass * (heights - tip - above[:, None]) ** 2).sum(-1) + turn.sum(-1)
    lump = Lump(node=BELOW + BETWEEN + ALONG, mass=total, diametral=spread, polar=2 * turn.sum(-1), above=above)
    return _Tail(
        lump=lump, pull=offset.sum(-1), turned=(offset * (heights - tip)).sum(-1), yarn=yarn.sum(-1)
    )  # fmt: skip


def _blade_offset(rotor: Rotor, tip: float, heights: Array) -> Array:
    """Give the offset [m] of a blade that leans evenly from the neck to its tip; a dial gauge reads twice of it."""
    return np.asarray(rotor.blade_runout / 2 * np.clip(heights / tip, 0.0, 1.0))


def _tube_offset(frame: Frame, rotor: Rotor, heights: Array) -> Array:
    """Give the offset [m] of the tube's axis, a straight line; the cop, wound in even layers, follows it."""
    ends = [rotor.tube_runout_foot / 2, rotor.tube_runout_tip / 2]
    return np.interp(heights, [rotor.neck_depth, rotor.neck_depth + frame.tube.length], ends)


def _half_way(frame: Frame, rotor: Rotor, shaft: Shaft) -> int:
    """Give the unknown that is the displacement of the node nearest half-way up the tube."""
    height = rotor.neck_depth + frame.tube.length / 2
    return 2 * int(np.argmin(np.abs(shaft.heights - height)))
