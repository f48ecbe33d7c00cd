"""The spindle through the doff: critical speeds against the course, sweep of the tube's tip, loads, oil and spring."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ringwright.mill.rotor import Rotor
from ringwright.physics.real import Array
from ringwright.physics.rotor import System, shape_at
from ringwright.physics.whirl import Whirl, critical_speeds, support_forces, unbalance_response, whirl
from ringwright.setting.choice import Choice
from ringwright.setting.places import Sampling, lay_out
from ringwright.setting.problem import doff_problem
from ringwright.spindle.building import SpindleRotor, build
from ringwright.spindle.oil import Oil, oil_of
from ringwright.spindle.tried import AS_BUILT, TriedSpindle, rotor_as_tried

__all__ = ["Course", "Passing", "SpindleStudy", "passing", "run_up", "study_spindle", "sweep_of", "together"]

Complex = npt.NDArray[np.complex128]

PLACES = 24
"""Strokes of the doff that are looked at."""
CRITICALS = 3
STEPS = 160
RUN_UP_STEPS = 241
NEAR = (0.35, 1.9)
"""Where about a critical speed its peak is sought, as shares of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """The doff in short (p,): time [s], yarn on the tube [kg], spindle speed [rad/s], foot of the stroke [m]."""

    time: Array
    content: Array
    speed: Array
    foot_height: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Passing:
    """The largest answer near the first critical speed: at which spin [rad/s], sweep of the tip [m], foot [m]."""

    spin: float
    sweep: float
    foot: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SpindleStudy:
    """One spindle through one doff; places (p,) from empty tube to full cop, all SI."""

    choice: Choice
    rotor: Rotor
    oil: Oil
    course: Course
    spindle: SpindleRotor
    criticals: Array
    """Forward critical speeds (p, 3) [rad/s], lowest first."""
    sweeps: Array
    """Of the tube's tip from side to side, run-out and whirl together, by cause (4, p) [m]."""
    neck_force: Array
    """Turning force on the neck bearing (p,) [N], causes together; the belt's pull is steady and stands beside it."""
    foot_force: Array
    foot_travel: Array
    """Of the foot step off its middle (p,) [m], causes together."""
    whirls: tuple[Whirl, Whirl]
    """Natural whirls with the empty tube at the start speed, and with the full cop at the main speed."""
    passings: tuple[Passing, Passing]
    """Passing the first critical speed with the empty tube, and with the full cop."""

    @property
    def sweep(self) -> Array:
        """Sweep of the tube's tip (p,) [m] where the causes point as chance has it: root of the sum of squares."""
        return together(self.sweeps)

    @property
    def worst_sweep(self) -> Array:
        """Sweep of the tube's tip (p,) [m] where all causes add up."""
        return np.asarray(self.sweeps.sum(axis=0))

    @property
    def margin(self) -> Array:
        """Distance of the nearest critical speed from the spindle's speed, as a share of that speed (p,)."""
        return np.asarray(np.nanmin(np.abs(self.criticals / self.course.speed[:, None] - 1), axis=1))


def study_spindle(choice: Choice, tried: TriedSpindle = AS_BUILT) -> SpindleStudy:
    """Follow the spindle of a choice through the doff; refuses as ``rotor_as_tried``, ``build`` and ``lay_out`` do."""
    of_mill = choice.frame.rotor
    rotor = rotor_as_tried(of_mill, tried)
    oil = oil_of(rotor, of_mill)
    course, spindle = _course(choice, rotor, oil.damping)
    moved = _moved(spindle, course.speed)
    neck, foot = (together(support_forces(one, moved, course.speed)) for one in (spindle.neck, spindle.foot))
    ends = _alone(spindle, 0), _alone(spindle, -1)
    criticals = critical_speeds(spindle.system, CRITICALS)
    main = choice.setting.main_speed
    return SpindleStudy(
        choice=choice, rotor=rotor, oil=oil, course=course, spindle=spindle, criticals=criticals,
        sweeps=_tip_sweep(spindle, moved), neck_force=neck, foot_force=foot,
        foot_travel=together(np.abs(moved[..., 0])),
        whirls=(whirl(ends[0].system, float(course.speed[0]), 4), whirl(ends[1].system, main, 4)),
        passings=(passing(ends[0], float(criticals[0, 0])), passing(ends[1], float(criticals[-1, 0]))),
    )  # fmt: skip


def _course(choice: Choice, rotor: Rotor, damping: float) -> tuple[Course, SpindleRotor]:
    sampling = Sampling(strokes=PLACES, places=2)
    places = lay_out(doff_problem(choice), sampling)
    each = slice(None, None, sampling.places)
    feet = places.foot_height[each]
    spindle = build(choice.frame, rotor, feet, damping)
    return (
        Course(time=places.time[each], content=spindle.cop_mass, speed=places.spindle_speed[each], foot_height=feet),
        spindle,
    )  # fmt: skip


def _alone(spindle: SpindleRotor, place: int) -> SpindleRotor:
    """Give the spindle at one place of the doff."""
    of = spindle.system
    one = System(mass=of.mass[place], polar=of.polar[place], damping=of.damping, stiffness=of.stiffness)
    return replace(spindle, system=one, unbalance=spindle.unbalance[:, place])


def _moved(spindle: SpindleRotor, speeds: Array) -> Complex:
    """Give the unknowns by cause (4, p, N) with each place at its own speed."""
    of, spin = spindle.system, speeds[:, None, None]
    matrix = of.stiffness + 1j * spin * of.damping - spin**2 * (of.mass - of.polar)
    pull = speeds[:, None] ** 2 * spindle.unbalance
    found = np.linalg.solve(matrix, np.moveaxis(pull, 0, -1))
    return np.asarray(np.moveaxis(found, -1, 0), dtype=np.complex128)


def _tip_sweep(spindle: SpindleRotor, moved: Complex) -> Array:
    tip = shape_at(spindle.shaft, moved, spindle.tube_tip) + spindle.tip_offset[:, None]
    return np.asarray(2 * np.abs(tip), dtype=np.float64)


def together(of_causes: Array) -> Array:
    """Add sizes by cause (4, ...) as chance turns them: the root of the sum of squares."""
    return np.asarray(np.sqrt(np.sum(np.square(of_causes), axis=0)))


def sweep_of(spindle: SpindleRotor, spins: Array) -> tuple[Array, Array]:
    """Give the sweep of the tube's tip and the travel of the foot (s,) [m] of one place at spins (s,) [rad/s]."""
    moved = unbalance_response(spindle.system, spindle.unbalance, spins)
    return together(_tip_sweep(spindle, moved)), together(np.abs(moved[..., 0]))


def passing(spindle: SpindleRotor, critical: float) -> Passing:
    """Find the largest sweep near a critical speed [rad/s], as if the speed stood still there."""
    spins = np.linspace(NEAR[0] * critical, NEAR[1] * critical, STEPS)
    sweep, foot = sweep_of(spindle, spins)
    k = int(np.argmax(sweep))
    return Passing(spin=float(spins[k]), sweep=float(sweep[k]), foot=float(foot[k]))


def run_up(study: SpindleStudy, place: int, most: float) -> tuple[Array, Array]:
    """Give spins (s,) [rad/s] from near rest to ``most`` and the tip's sweep there (s,) [m], at one place."""
    spins = np.linspace(0.01 * most, most, RUN_UP_STEPS)
    return spins, sweep_of(_alone(study.spindle, place), spins)[0]
