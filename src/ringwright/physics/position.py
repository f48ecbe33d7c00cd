"""One spinning position, or many at once: from SI inputs to tensions, shape and limits."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.cases import Array, Cases, Index
from ringwright.physics.family import Point
from ringwright.physics.limits import Limits, trace_limits
from ringwright.physics.outcome import Outcome
from ringwright.physics.shape import shape
from ringwright.physics.shoot import ANGLE, BEND, Shot, flight
from ringwright.physics.sweep import follow
from ringwright.physics.taut import Found, find

__all__ = [
    "LimitMasses",
    "Positions",
    "Solutions",
    "Threads",
    "blocks",
    "limit_masses",
    "results",
    "scaled",
    "solve",
    "solve_doubtful",
    "threads",
    "units_of",
]

CHUNK = 16384
SMALLEST = 4000
"""Positions that are worth a thread of their own."""
PROCESSORS = os.cpu_count() or 1
WOUND, STEEP, WIDEST = 1.5, 0.9, 1.0
"""Lag, guide angle (rad) and largest radius over ring diameter above which a sweep solves again from scratch."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Positions:
    """Inputs of n positions in SI units, each field (n,).

    ``traveller_speed`` is in rad/s; ``control_ring_diameter`` 0 means none is fitted; ``control_ring_depth`` counts
    down from the guide; ``fixed_tension_ratio`` 0 means by the wrap; ``gauge`` nan means not given.
    """

    yarn_linear_density: Array
    ring_diameter: Array
    balloon_height: Array
    traveller_speed: Array
    traveller_mass: Array
    winding_diameter: Array
    ring_traveller_friction: Array
    yarn_traveller_friction: Array
    fixed_tension_ratio: Array
    drag_coefficient: Array
    air_density: Array
    yarn_density: Array
    feed_speed: Array
    gravity: Array
    control_ring_diameter: Array
    control_ring_depth: Array
    control_ring_friction: Array
    gauge: Array

    def __len__(self) -> int:
        """Count the positions."""
        return int(self.ring_diameter.shape[0])

    def take(self, index: Index | slice) -> Positions:
        """Pick some of the positions."""
        return Positions(**{field.name: getattr(self, field.name)[index] for field in fields(self)})


@dataclass(frozen=True, slots=True, kw_only=True)
class Solutions:
    """Results of n positions in SI units and radians, each (n,); nan where the outcome is not STEADY."""

    guide_tension: Array
    ring_tension: Array
    winding_tension: Array
    winding_ratio: Array
    traveller_wrap: Array
    balloon_length: Array
    largest_radius: Array
    largest_radius_depth: Array
    lag: Array
    ring_force: Array
    ring_force_radial: Array
    ring_force_axial: Array
    guide_angle: Array
    control_ring_force: Array
    control_ring_bend: Array
    neck_radius: Array
    """Least radius at an inner minimum of the balloon, nan where there is none."""
    neck_depth: Array
    outcome: NDArray[np.int_]
    """Values of ``Outcome``."""
    stopped_at_mass: Array
    """Traveller mass at the fold or lift-off that a refused position lies beyond, else nan."""
    residual: Array
    """Largest residual of the solved equations, dimensionless."""
    drift: Array
    """Relative drift of T + r^2/2 + G z over the balloon: the integration error seen."""

    def take(self, index: Index) -> Solutions:
        """Pick some of the solutions, or put them in another order."""
        return Solutions(**{field.name: getattr(self, field.name)[index] for field in fields(self)})


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitMasses:
    """Traveller masses (kg) at each limit of n positions, nan where the branch ends before it meets the limit."""

    fold: Array
    neck: Array
    lift_off: Array
    touch: Array
    lightest: Array
    """Traveller mass at the end of the branch, or the lightest one followed to."""
    followed: NDArray[np.bool_]
    """Whether the branch was followed to its end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Threads:
    """Points along the yarn of n balloons in SI units, each (k, n), from the guide to the traveller; nan if refused."""

    depth: Array
    radius: Array
    azimuth: Array
    tension: Array


def units_of(p: Positions) -> tuple[Array, Array]:
    """Give the ring radius a and the force m w^2 a^2."""
    a = 0.5 * p.ring_diameter
    return a, p.yarn_linear_density * (p.traveller_speed * a) ** 2


def scaled(p: Positions) -> Cases:
    """Give the positions in dimensionless form."""
    a, _ = units_of(p)
    m, w = p.yarn_linear_density, p.traveller_speed
    yarn_diameter = np.sqrt(4.0 * m / (np.pi * p.yarn_density))
    return Cases(
        height=p.balloon_height / a,
        drag=0.5 * p.air_density * p.drag_coefficient * yarn_diameter * a / m,
        feed=p.feed_speed / (w * a),
        gravity=p.gravity / (w * w * a),
        cop=p.winding_diameter / p.ring_diameter,
        ring_friction=p.ring_traveller_friction,
        yarn_friction=p.yarn_traveller_friction,
        fixed_ratio=p.fixed_tension_ratio,
        mass=p.traveller_mass / (m * a),
        control_radius=0.5 * p.control_ring_diameter / a,
        control_depth=p.control_ring_depth / a,
        control_friction=p.control_ring_friction,
        wall=0.5 * p.gauge / a,
    )


def blocks(p: Positions, shares: int = 1) -> list[Index]:
    """Part the positions into blocks with and without a control ring, where they are many into ``shares`` or more."""
    block = min(CHUNK, max(SMALLEST, -(-len(p) // shares)))
    groups = []
    for ringed in (False, True):
        index = np.flatnonzero((p.control_ring_diameter > 0.0) == ringed)
        groups += [index[at : at + block] for at in range(0, index.size, block)]
    return groups


def _all(groups: list[Index], work: Callable[[Index], None]) -> None:
    """Do the work of each block, on all processors where there are several: NumPy and the kernel let go of Python."""
    if len(groups) < 2 or PROCESSORS < 2 or sum(group.size for group in groups) < SMALLEST:
        for group in groups:
            work(group)
        return
    with ThreadPoolExecutor(min(len(groups), PROCESSORS)) as pool:
        for done in pool.map(work, groups):
            assert done is None  # noqa: S101 - a fault in a thread is raised here


def solve(positions: Positions, *, sweep: bool = False) -> Solutions:
    """Solve every position on the taut branch, or say by its outcome which limit stopped it.

    With ``sweep`` the positions are an ordered sweep, each much like the one before: the answers are the same, sooner.

    Takes inputs that make sense (positive sizes, winding diameter below the ring's); the doors check them.  Source of
    the model: docs/explanation/balloon.md.
    """
    columns = {field.name: np.full(len(positions), np.nan) for field in fields(Solutions)}
    columns["outcome"] = np.full(len(positions), Outcome.NOT_CONVERGED, dtype=np.int_)
    # A sweep is quickest in one piece; a batch from scratch is shared between the processors.
    groups = blocks(positions) if sweep else blocks(positions, PROCESSORS)
    _all(groups, lambda group: _fill(columns, positions, group, follow if sweep else find))
    if sweep:
        solve_doubtful(columns, positions)
    return Solutions(**columns)


def solve_doubtful(columns: dict[str, Array], positions: Positions) -> None:
    """Solve again from scratch what was solved from a neighbour and may lie past a fold; changes the columns.

    Where a fold is born between two neighbours, the solution may slide past it; such balloons are necked or wide.
    """
    ringed = positions.control_ring_diameter > 0.0
    wide = columns["largest_radius"] > np.where(ringed, WIDEST, 1.5 * WIDEST) * positions.ring_diameter
    doubtful = wide | (columns["neck_radius"] > 0.0) | (columns["lag"] > WOUND) | (columns["guide_angle"] > STEEP)
    index = np.flatnonzero(doubtful)
    for block in blocks(positions.take(index)):
        _fill(columns, positions, index[block], find)


def _fill(columns: dict[str, Array], positions: Positions, group: Index, by: Callable[[Cases], Found]) -> None:
    part = positions.take(group)
    cases = scaled(part)
    found = results(part, cases, by(cases))
    for name, column in columns.items():
        column[group] = found.get(name, np.nan)


def results(p: Positions, cases: Cases, found: Found) -> dict[str, NDArray[np.float64] | NDArray[np.int_]]:
    """Give the columns of ``Solutions`` for what was found, nan where it is not steady."""
    a, force = units_of(p)
    point = found.point
    steady = np.flatnonzero(found.outcome == Outcome.STEADY)
    columns: dict[str, NDArray[np.float64] | NDArray[np.int_]] = {
        "outcome": found.outcome,
        "stopped_at_mass": found.end_mass * p.yarn_linear_density * a,
        "residual": found.residual,
        "drift": found.drift,
    }
    if steady.size:
        solved = _dimensionless(cases.take(steady), point.take(steady), Shot(found.rows[:, steady]))
        scales = {"1": np.ones(steady.size), "force": force[steady], "length": a[steady]}
        for name, (value, scale) in solved.items():
            column = np.full(len(cases), np.nan)
            column[steady] = value * scales[scale]
            columns[name] = column
    return columns


def _dimensionless(cases: Cases, point: Point, shot: Shot) -> dict[str, tuple[Array, str]]:
    """Give each result of solved cases with the name of its scale."""
    seen = shape(cases, point)
    flow = cases.feed**2
    bend = np.where(point.contact, point.w[2] / BEND, 0.0)
    guide = np.exp(point.w[0])
    ring, winding = shot.ring_tension + flow, shot.winding_tension + flow
    # From the balance of forces outwards, since N^2 - q_z^2 loses its figures near lift-off.
    radial = cases.mass - shot.pull[0] - shot.winding_tension * np.sqrt(1.0 - cases.cop**2)
    return {
        "guide_tension": (guide + flow, "force"),
        "ring_tension": (ring, "force"),
        "winding_tension": (winding, "force"),
        "winding_ratio": (shot.winding_tension / shot.ring_tension, "1"),
        "traveller_wrap": (shot.wrap, "1"),
        "balloon_length": (seen.length, "length"),
        "largest_radius": (seen.widest, "length"),
        "largest_radius_depth": (seen.widest_depth, "length"),
        "lag": (seen.lag, "1"),
        "ring_force": (shot.normal, "force"),
        "ring_force_radial": (radial, "force"),
        "ring_force_axial": (shot.pull[2], "force"),
        "guide_angle": (point.w[1] / ANGLE, "1"),
        "control_ring_force": (bend * shot.meridian, "force"),
        "control_ring_bend": (bend, "1"),
        "neck_radius": (seen.neck, "length"),
        "neck_depth": (seen.neck_depth, "length"),
    }


def limit_masses(positions: Positions) -> LimitMasses:
    """Follow the taut branch of every position to its end and give the traveller mass at each limit on the way."""
    names = [f.name for f in fields(LimitMasses)]
    columns = {name: np.full(len(positions), np.nan) for name in names}

    def follow_to_the_end(group: Index) -> None:
        part = positions.take(group)
        found: Limits = trace_limits(scaled(part))
        unit = 0.5 * part.yarn_linear_density * part.ring_diameter
        for name in names:
            columns[name][group] = getattr(found, name) * (1.0 if name == "followed" else unit)

    _all(blocks(positions, PROCESSORS), follow_to_the_end)
    return LimitMasses(**{**columns, "followed": columns["followed"] > 0.5})


def threads(positions: Positions, points: int = 96, solutions: Solutions | None = None) -> Threads:
    """Give points along the yarn of each steady balloon, to draw it; solved first where no solutions are given."""
    solutions = solutions or solve(positions)
    count = len(positions)
    depth, radius, azimuth, tension = (np.full((points + 2, count), np.nan) for _ in range(4))
    for group in blocks(positions):
        good = group[solutions.outcome[group] == Outcome.STEADY]
        if not good.size:
            continue
        part, found = positions.take(good), solutions.take(good)
        cases, (a, force) = scaled(part), units_of(part)
        flow, bend = cases.feed**2, found.control_ring_bend
        start = np.stack([np.log(found.guide_tension / force - flow), found.guide_angle * ANGLE, bend * BEND])
        ringed = bool(cases.control_radius[0] > 0.0)
        spans = flight(cases, start, bend > 0.0, points // 2 if ringed else points + 1)
        states = np.concatenate([along for _, along in spans])
        depth[:, good] = np.concatenate([down for down, _ in spans]) * a
        radius[:, good] = np.hypot(states[:, 0], states[:, 1]) * a
        azimuth[:, good] = np.unwrap(np.arctan2(states[:, 1], states[:, 0]), axis=0)
        tension[:, good] = (np.sqrt(np.sum(states[:, 2:5] ** 2, axis=1)) + flow) * force
    return Threads(depth=depth, radius=radius, azimuth=azimuth, tension=tension)
