"""Many candidates solved at once: for each what its limits ask per power of the speed, and its rooms of shape."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from ringwright.economy.breaks import strength_of
from ringwright.improve.demand import Demand, Spun, demands
from ringwright.judgement.inside import tip_height
from ringwright.mill import Limit
from ringwright.physics.cop import profile
from ringwright.physics.outcome import Outcome
from ringwright.physics.position import Positions, Solutions, solve, threads
from ringwright.physics.rails import rail_height
from ringwright.physics.real import Array
from ringwright.physics.spinning_angle import TriangleTension, angle_to_vertical, triangle_tension
from ringwright.physics.traveller_speed import rubbing_speed
from ringwright.setting.choice import Choice
from ringwright.setting.places import Places, Sampling, lay_out
from ringwright.setting.problem import cop_shape, doff_problem, positions, wall

__all__ = ["COARSE", "NONE", "SHAPES", "Bench", "Tried", "bench_for", "join", "try_out"]

COARSE = Sampling(strokes=12, places=4)
"""Foot and top of twelve strokes are among these places; the extremes of a stroke lie there."""
SHAPES = ("steady", "separator", "separator at low friction", "cop", "tube tip")
"""The limits of shape, in the order of the columns of ``Tried.room``."""
POINTS = 40
NONE = -1.0
"""Room [m] that stands for no steady balloon: worse than any room passed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What every candidate of one search shares: the present choice, its places and the limits."""

    choice: Choice
    places: Places
    progress: Array
    up: Array
    limits: Mapping[str, Limit]
    row: int

    @property
    def weights(self) -> Array:
        """Share of the doff's yarn that each stroke sampled stands for, (strokes,)."""
        share = self.places.share[:: self.row]
        edges = np.concatenate(([0.0], (share[1:] + share[:-1]) / 2, [1.0]))
        return np.diff(edges)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """Candidates solved over a coarse doff, c of them.

    ``asks`` holds for each limit the most of each stroke, per power of the speed (c, strokes). ``room`` (c, 5) is the
    room [m] to each limit of shape, in the order of SHAPES, at least 0 where it is kept. ``counting_tension`` (c,
    strokes) is the tension of each stroke that counts for breaks, the root of the mean of T^m over its yarn, per square
    of the speed; ``yarn_power`` (c, strokes) the mean power that the winding yarn takes, per cube of the speed.
    """

    demands: tuple[Demand, ...]
    """Kinds, powers and limits; their own values are not used."""
    asks: tuple[Array, ...]
    room: Array
    counting_tension: Array
    yarn_power: Array

    @property
    def keeps(self) -> npt.NDArray[np.bool_]:
        """Whether each candidate keeps every limit of shape, (c,)."""
        return np.asarray((self.room >= 0).all(axis=1), dtype=np.bool_)

    @property
    def shortfall(self) -> Array:
        """Sum of what each candidate lacks in room [m], 0 for one that keeps all, (c,)."""
        return np.asarray(np.maximum(-self.room, 0).sum(axis=1), dtype=np.float64)

    def envelope(self, relaxed: Mapping[str, float] | None = None) -> Array:
        """Highest speed of each stroke under the limits [rad/s], (c, strokes); ``relaxed`` multiplies limits by key."""
        speeds = [
            (demand.limit * (relaxed or {}).get(demand.kind.key, 1.0) / ask) ** (1 / demand.power)
            for demand, ask in zip(self.demands, self.asks, strict=True)
            if demand.limit is not None
        ]
        return np.asarray(np.minimum.reduce(speeds), dtype=np.float64)

    def ask(self, key: str) -> Array:
        """Give what one limit asks, (c, strokes)."""
        return next(ask for demand, ask in zip(self.demands, self.asks, strict=True) if demand.kind.key == key)


def bench_for(choice: Choice, limits: Mapping[str, Limit], sampling: Sampling = COARSE) -> Bench:
    """Lay out the coarse doff that the candidates share: the cop and the ring rail are the same for all of them."""
    problem = doff_problem(choice)
    places = lay_out(problem, sampling)
    progress = places.foot_height / problem.shape.last_foot
    rail = problem.ring_rail
    up = (places.ring_height - rail.height - rail.climb * progress) / rail.stroke
    return Bench(choice=choice, places=places, progress=progress, up=up, limits=limits, row=sampling.places)


def _places(bench: Bench, choice: Choice) -> Places:
    """Give the places with the guide and the control ring of a candidate."""
    problem = doff_problem(choice)
    ring = problem.control_ring_rail
    return replace(
        bench.places,
        guide_height=rail_height(problem.guide_rail, bench.progress, bench.up),
        control_ring_height=bench.places.control_ring_height
        if ring is None
        else rail_height(ring, bench.progress, bench.up),
    )


def _side_by_side(parts: Sequence[Positions]) -> Positions:
    """Put the positions of the candidates in one, place by place, so that neighbours differ little."""
    return Positions(
        **{
            field.name: np.stack([getattr(part, field.name) for part in parts], axis=1).ravel()
            for field in fields(Positions)
        }
    )


def try_out(bench: Bench, candidates: Sequence[Choice]) -> Tried:
    """Solve the candidates; they should stand in an order in which neighbours are alike."""
    with np.errstate(invalid="ignore"):  # a branch that is lost on the way is told by its outcome
        return _tried(bench, candidates)


def _tried(bench: Bench, candidates: Sequence[Choice]) -> Tried:
    count, places = len(candidates), [_places(bench, choice) for choice in candidates]
    asked = [positions(choice, place) for choice, place in zip(candidates, places, strict=True)]
    solved = solve(_side_by_side(asked), sweep=True)
    guide = np.stack([place.guide_height for place in places], axis=1).ravel()
    diameters = np.array([0.0 if c.frame.control_ring is None else c.frame.control_ring.diameter for c in candidates])
    triangle = _triangle(bench, solved, guide)
    spun = _spun(bench, solved, triangle.most, np.tile(diameters, len(bench.places)))
    held = demands(spun, bench.choice.frame, bench.choice.yarn, bench.limits)
    steady = (solved.outcome == Outcome.STEADY).reshape(-1, count).all(axis=0)
    columns = (
        np.where(steady, 0.0, NONE),
        _separator(bench, solved, steady),
        _low_friction(bench, candidates, places),
        np.where(steady, _cop(bench, solved, guide, count), NONE),
        _tip(bench, candidates, places),
    )
    return Tried(
        demands=tuple(replace(demand, per_speed=np.zeros(0)) for demand in held),
        asks=tuple(_by_stroke(demand.per_speed, bench.row, count) for demand in held),
        room=np.stack(columns, axis=1),
        counting_tension=_counting(bench, triangle.mean / spun.spindle_speed**2, count),
        yarn_power=_by_stroke_mean(_pull(bench, solved) / spun.spindle_speed**2, bench.row, count),
    )


def _triangle(bench: Bench, solved: Solutions, guide: Array) -> TriangleTension:
    frame = bench.choice.frame
    lean = angle_to_vertical(frame.guide.nip_offset, frame.guide.nip_height - guide)
    return triangle_tension(solved.guide_tension, solved.guide_angle, lean, frame.guide.friction)


def _counting(bench: Bench, tension: Array, count: int) -> Array:
    """Root of the mean of tension^m over each stroke, with the m of the yarn's strength; nan without a balloon."""
    yarn = bench.choice.yarn
    shape = strength_of(yarn.strength, yarn.strength_cv).shape
    scale = float(np.nanmax(tension)) if np.isfinite(tension).any() else 1.0
    return scale * _by_stroke_mean((tension / scale) ** shape, bench.row, count) ** (1 / shape)


def _pull(bench: Bench, solved: Solutions) -> Array:
    """Torque of the winding yarn on the spindle [N m]."""
    wound = np.repeat(bench.places.winding_diameter, solved.winding_tension.size // len(bench.places))
    return np.asarray(solved.winding_tension * wound / 2, dtype=np.float64)


def join(one: Tried, other: Tried) -> Tried:
    """Put two lots of candidates of one search together."""
    return Tried(
        demands=one.demands,
        asks=tuple(np.concatenate(pair) for pair in zip(one.asks, other.asks, strict=True)),
        **{
            name: np.concatenate((getattr(one, name), getattr(other, name)))
            for name in ("room", "counting_tension", "yarn_power")
        },
    )


def _by_stroke(values: Array, row: int, count: int) -> Array:
    return np.asarray(np.fmax.reduce(values.reshape(-1, row, count), axis=1).T, dtype=np.float64)


def _by_stroke_mean(values: Array, row: int, count: int) -> Array:
    return np.asarray(values.reshape(-1, row, count).mean(axis=1).T, dtype=np.float64)


def _spun(bench: Bench, solved: Solutions, triangle_most: Array, ring_diameters: Array) -> Spun:
    frame, count = bench.choice.frame, solved.guide_tension.size // len(bench.places)
    traveller = np.repeat(bench.places.traveller_speed, count)
    return Spun(
        spindle_speed=np.repeat(bench.places.spindle_speed, count),
        traveller_speed=traveller,
        triangle_tension=triangle_most,
        winding_tension=solved.winding_tension,
        traveller_heat=frame.ring.friction * solved.ring_force * rubbing_speed(traveller, frame.ring.diameter),
        control_ring_force=solved.control_ring_force,
        control_ring_diameter=ring_diameters,
    )


def _least_room(bench: Bench) -> float:
    stated = bench.limits.get("separator_room")
    return 0.0 if stated is None else stated.value


def _separator(bench: Bench, solved: Solutions, steady: npt.NDArray[np.bool_]) -> Array:
    """Room beyond the least that the mill asks for."""
    widest = np.fmax.reduce(solved.largest_radius.reshape(-1, steady.size), axis=0)
    return np.where(steady, wall(bench.choice.frame) - _least_room(bench) - widest, NONE)


def _low_friction(bench: Bench, candidates: Sequence[Choice], places: Sequence[Places]) -> Array:
    """Room to the plate's face itself at the lowest friction of the ring's band, where the balloon is widest.

    Looked at where the balloon of a frame is widest: at the foot of the first stroke, of that which ends the base, of
    the one half-way and of the last.
    """
    feet = bench.places.foot_height[:: bench.row]
    base = int(np.argmin(np.abs(feet - bench.choice.frame.build.base_height)))
    ends = np.unique([0, base, len(feet) // 2, len(feet) - 1]) * bench.row
    friction = bench.choice.frame.ring.friction_low
    asked = []
    for choice, place in zip(candidates, places, strict=True):
        there = positions(choice, place.take(ends))
        asked.append(replace(there, ring_traveller_friction=np.full(ends.size, friction)))
    solved = solve(_side_by_side(asked), sweep=True)
    steady = (solved.outcome == Outcome.STEADY).reshape(-1, len(candidates)).all(axis=0)
    widest = np.fmax.reduce(solved.largest_radius.reshape(-1, len(candidates)), axis=0)
    return np.where(steady, wall(bench.choice.frame) - widest, NONE)


def _cop(bench: Bench, solved: Solutions, guide: Array, count: int) -> Array:
    """Room between a neck of the balloon and the cop beside it; inf where no balloon is necked."""
    foot = np.repeat(bench.places.foot_height, count)
    beside = profile(cop_shape(bench.choice.frame), foot, guide - solved.neck_depth)
    room = np.where(np.isnan(solved.neck_radius), np.inf, solved.neck_radius - beside / 2)
    return np.asarray(np.fmin.reduce(room.reshape(-1, count), axis=0), dtype=np.float64)


def _tip(bench: Bench, candidates: Sequence[Choice], places: Sequence[Places]) -> Array:
    """Room between the balloon and the tube's tip at the start of the doff, where the guide is lowest."""
    top = int(np.argmax(bench.places.ring_height[: bench.row]))
    ends = np.array([0, top])
    asked = [positions(choice, place.take(ends)) for choice, place in zip(candidates, places, strict=True)]
    drawn = threads(_side_by_side(asked), POINTS)
    depth = np.stack([place.guide_height[ends] for place in places], axis=1).ravel() - tip_height(bench.choice.frame)
    radius = np.array(
        [
            np.interp(down, line, radii, right=np.nan)
            for down, line, radii in zip(depth, drawn.depth.T, drawn.radius.T, strict=True)
        ]
    )
    # Below the ring, or without a balloon, there is no yarn beside the tip; the other columns tell the second case.
    room = np.where(np.isnan(radius), np.inf, radius - bench.choice.frame.tube.top_diameter / 2)
    return np.asarray(room.reshape(2, len(candidates)).min(axis=0), dtype=np.float64)
