"""The places of a doff: strokes sampled from empty tube to full cop, and in each stroke its places up and down."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from ringwright.physics.cop import CopShape, foot_at, full_volume, tube_diameter, winding_diameter
from ringwright.physics.delivery import Course, speed_at, time_at
from ringwright.physics.rails import Rail, rail_height, stroke_share, yarn_share_laid
from ringwright.physics.real import Array
from ringwright.physics.traveller_speed import missing_twist, traveller_lag
from ringwright.refusal import Fault, Refusal

__all__ = ["DoffProblem", "Places", "Sampling", "lay_out", "place_at", "whole_strokes"]

Counts = npt.NDArray[np.int_]


@dataclass(frozen=True, slots=True, kw_only=True)
class DoffProblem:
    """What the layout of a doff needs, all SI: the cop, the rails, the yarn and how it is delivered."""

    shape: CopShape
    ring_rail: Rail
    guide_rail: Rail
    control_ring_rail: Rail | None
    course: Course
    """Speed of the yarn as wound [m/s] over the share of the doff."""
    twist: float
    """[turns/m]"""
    linear_density: float
    """[kg/m]"""
    package_density: float
    """Mass of yarn to the volume it fills on the cop [kg/m3]."""
    yarn_per_stroke: float
    """[m]"""
    rise_share: float

    @property
    def content(self) -> float:
        """Mass of yarn on the full cop [kg]."""
        return self.package_density * full_volume(self.shape)

    @property
    def yarn_length(self) -> float:
        """Length of yarn on the full cop [m]."""
        return self.content / self.linear_density

    @property
    def strokes(self) -> float:
        """Number of strokes of the doff; the part of a stroke at its end counts as such."""
        return self.yarn_length / self.yarn_per_stroke

    @property
    def doff_time(self) -> float:
        """Spinning time of the doff [s]."""
        return float(time_at(self.course, 1.0, self.yarn_length))


@dataclass(frozen=True, slots=True)
class Sampling:
    """How finely a doff is sampled: strokes spread evenly from the first to the last, and places in each of them."""

    strokes: int = 80
    places: int = 25

    def __post_init__(self) -> None:
        faults = [
            Fault(where=f"the number of {name}", got=str(number), wants=f"between 2 and {most}")
            for name, number, most in (
                ("strokes sampled", self.strokes, 2000),
                ("places in a stroke", self.places, 500),
            )
            if not 2 <= number <= most
        ]
        if faults:
            raise Refusal(faults)


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """The places of a doff in the order of time, SI, each field (strokes sampled x places in a stroke,).

    Heights count from the ring rail's lowest place [m]; the control ring's is nan where none is fitted.
    """

    stroke: Counts
    """Number of the stroke, 0 the first."""
    phase: Array
    """Share of the stroke's yarn already laid, 0 at its foot."""
    share: Array
    """Share of the doff's yarn already wound."""
    time: Array
    """Since the start of the doff [s]."""
    foot_height: Array
    ring_height: Array
    guide_height: Array
    control_ring_height: Array
    winding_diameter: Array
    """[m]"""
    spindle_speed: Array
    """[rad/s]"""
    yarn_speed: Array
    """Speed at which yarn is made and wound [m/s], after its twist has shortened it."""
    traveller_lag: Array
    """How much slower than the spindle the traveller turns [rad/s]."""
    missing_twist: Array
    """Twist that the yarn on the cop lacks against spindle turns [turns/m]."""

    def __len__(self) -> int:
        """Count the places."""
        return int(self.stroke.shape[0])

    @property
    def balloon_height(self) -> Array:
        """Height from ring to guide [m]."""
        return self.guide_height - self.ring_height

    @property
    def traveller_speed(self) -> Array:
        """Speed of the traveller [rad/s]."""
        return self.spindle_speed - self.traveller_lag

    def take(self, index: Counts) -> Places:
        """Pick some of the places."""
        return Places(**{field.name: getattr(self, field.name)[index] for field in fields(self)})


def lay_out(problem: DoffProblem, sampling: Sampling) -> Places:
    """Lay out the places of a doff; raises Refusal if the cop is full before one stroke is done.

    A stroke's foot stands where its first yarn finds the cop, and stays there for the stroke. The rails' motion within
    a stroke is shaped for the cone of the body half-way up the tube, and is the same in all strokes.
    """
    return _laid_out(problem, *_grid(problem, sampling))


def place_at(problem: DoffProblem, share: float, up: float) -> Places:
    """Lay out one place: in the stroke that winds the share 0 to 1 of the yarn, at a height 0 to 1 of its slow rise.

    The last whole stroke stands for a part of one at the end. Raises Refusal if the cop is full before one stroke.
    """
    shape = problem.shape
    stroke = min(int(share * problem.strokes * (1 + 1e-12)), whole_strokes(problem) - 1)
    half_way = float(tube_diameter(shape, shape.lift / 2))
    phase = problem.rise_share * yarn_share_laid(up, shape.cop_diameter, half_way)
    return _laid_out(problem, np.array([stroke]), phase.reshape(1))


def _laid_out(problem: DoffProblem, stroke: Counts, phase: Array) -> Places:
    shape, length = problem.shape, problem.yarn_length
    foot = foot_at(shape, stroke.astype(np.float64) * (full_volume(shape) / problem.strokes))
    up = stroke_share(phase, problem.rise_share, shape.cop_diameter, float(tube_diameter(shape, shape.lift / 2)))
    progress, share = foot / shape.last_foot, (stroke + phase) / problem.strokes
    wound_on, speed = winding_diameter(shape, foot, up), speed_at(problem.course, share)
    ring = problem.control_ring_rail
    return Places(
        stroke=stroke,
        phase=phase,
        share=share,
        time=time_at(problem.course, share, length),
        foot_height=foot,
        ring_height=rail_height(problem.ring_rail, progress, up),
        guide_height=rail_height(problem.guide_rail, progress, up),
        control_ring_height=np.full_like(foot, np.nan) if ring is None else rail_height(ring, progress, up),
        winding_diameter=wound_on,
        spindle_speed=2 * np.pi * problem.twist * speed,
        yarn_speed=speed,
        traveller_lag=traveller_lag(speed, wound_on),
        missing_twist=missing_twist(wound_on),
    )


def whole_strokes(problem: DoffProblem) -> int:
    """Count the whole strokes of a doff; raises Refusal if the cop is full before one is done."""
    whole = int(problem.strokes)
    if whole < 1:
        got = f"{problem.yarn_per_stroke:.4g} m"
        wants = f"less than the {problem.yarn_length:.4g} m on the full cop"
        raise Refusal(Fault(where="the yarn of one stroke", got=got, wants=wants))
    return whole


def _grid(problem: DoffProblem, sampling: Sampling) -> tuple[Counts, Array]:
    """Give number and phase of every place; the foot and the top of a stroke are always among its places."""
    whole = whole_strokes(problem)
    sampled = np.unique(np.round(np.linspace(0, whole - 1, min(sampling.strokes, whole))).astype(np.int_))
    rising = min(max(round(sampling.places * problem.rise_share), 1), sampling.places - 1)
    phase = np.concatenate(
        (
            np.linspace(0.0, problem.rise_share, rising, endpoint=False),
            np.linspace(problem.rise_share, 1.0, sampling.places - rising, endpoint=False),
        )
    )
    return np.repeat(sampled, len(phase)), np.tile(phase, len(sampled))
