"""The whole doff: the yarn's tension at every place from empty tube to full cop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from ringwright.mill import Mill
from ringwright.physics.cop import profile
from ringwright.physics.outcome import Outcome
from ringwright.physics.position import Positions, Solutions, solve
from ringwright.physics.real import Array
from ringwright.physics.spinning_angle import angle_to_vertical, triangle_tension
from ringwright.physics.traveller_speed import rubbing_speed
from ringwright.setting.choice import AS_SET, Choice, Trial, choose
from ringwright.setting.places import DoffProblem, Places, Sampling, lay_out
from ringwright.setting.problem import cop_shape, doff_problem, positions, wall
from ringwright.units import show

__all__ = [
    "Comparison",
    "Doff",
    "Envelope",
    "Forces",
    "compare_doffs",
    "forces_of",
    "solve_choices",
    "solve_doff",
    "solve_doffs",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """Least and most of a quantity in each stroke sampled, each (strokes sampled,); nan if no place has a value."""

    least: Array
    most: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Forces:
    """What the physics says at each place (places of the doff,), SI; nan where there is no steady balloon."""

    triangle_tension: Array
    """Tension at the spinning triangle, mean over a turn of the balloon [N]."""
    triangle_least: Array
    triangle_most: Array
    guide_tension: Array
    """Just below the eyelet [N]."""
    ring_tension: Array
    """Where the balloon meets the traveller [N]."""
    winding_tension: Array
    """Between traveller and cop [N]."""
    largest_radius: Array
    separator_room: Array
    """From the widest place of the balloon to the separator's face, or to half the gauge without separators [m]."""
    neck_room: Array
    """From the narrowest place of a necked balloon to the cop or tube beside it [m]; nan where there is no neck."""
    lag_angle: Array
    """By which the traveller trails the yarn at the guide [rad]."""
    control_ring_force: Array
    ring_force: Array
    """Of the traveller on the ring [N]."""
    traveller_heat: Array
    """Rubbing power of the traveller on the ring, friction x force x speed [W]."""
    outcome: npt.NDArray[np.int_]
    """How each solution ended, as a number of Outcome."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doff:
    """One doff as chosen: its problem, its places, and the forces at each."""

    choice: Choice
    problem: DoffProblem
    places: Places
    solutions: Solutions
    forces: Forces
    places_per_stroke: int

    @property
    def notes(self) -> tuple[str, ...]:
        """What a person should know about them; written when asked for, in the units that the reader chose."""
        return (
            *_outcome_notes(self.choice, self.places, self.solutions),
            *_touch_notes("separator, or its neighbour where there is none", self.forces.separator_room),
            *_touch_notes("cop or tube", self.forces.neck_room),
            *_control_ring_notes(self.places),
        )

    @property
    def mean_spindle_speed(self) -> float:
        """Mean speed of the spindle over the doff's time [rad/s]."""
        return 2 * np.pi * self.problem.twist * self.problem.yarn_length / self.problem.doff_time

    @property
    def stroke_time(self) -> Array:
        """Time [s] at which each stroke sampled begins."""
        return self.places.time[:: self.places_per_stroke]

    def envelope(self, quantity: Array) -> Envelope:
        """Give the least and most of a quantity of the places or forces in each stroke sampled."""
        rows = quantity.reshape(-1, self.places_per_stroke)
        return Envelope(least=np.fmin.reduce(rows, axis=1), most=np.fmax.reduce(rows, axis=1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A doff beside the same doff with the guide held still and, where a control ring is fitted, without it."""

    as_chosen: Doff
    guide_fixed: Doff
    without_control_ring: Doff | None


def solve_doff(
    mill: Mill, frame_name: str, yarn_name: str, trial: Trial = AS_SET, sampling: Sampling | None = None
) -> Doff:
    """Solve a doff of a frame and yarn of the mill, by default 80 strokes of 25 places.

    Raises Refusal for what ``choose``, ``Sampling`` and the cop's shape refuse. A place without a steady balloon is not
    refused: its outcome names the limit passed, its forces are nan, and the doff's notes say so.
    """
    return solve_doffs(mill, frame_name, yarn_name, (trial,), sampling)[0]


def solve_doffs(
    mill: Mill, frame_name: str, yarn_name: str, trials: Sequence[Trial], sampling: Sampling | None = None
) -> tuple[Doff, ...]:
    """Solve the doffs of several trials in one sweep, sooner than one by one; refuses as ``solve_doff``."""
    choices = [choose(mill, frame_name, yarn_name, trial) for trial in trials]
    return solve_choices(choices, sampling or Sampling())


def compare_doffs(
    mill: Mill, frame_name: str, yarn_name: str, trial: Trial = AS_SET, sampling: Sampling | None = None
) -> Comparison:
    """Solve a doff, the same with the guide fixed, and the same without control ring; refuses as ``solve_doff``."""

    def doff(one: Trial) -> Doff:
        return solve_doff(mill, frame_name, yarn_name, one, sampling)

    as_chosen = doff(trial)
    fitted = as_chosen.choice.frame.control_ring is not None
    return Comparison(
        as_chosen=as_chosen,
        guide_fixed=doff(replace(trial, guide_fixed=True)),
        without_control_ring=doff(replace(trial, control_ring=False)) if fitted else None,
    )


def solve_choices(choices: Sequence[Choice], sampling: Sampling) -> tuple[Doff, ...]:
    """Solve the doffs of several choices in one sweep; quickest where each is much like the one before."""
    problems = [doff_problem(choice) for choice in choices]
    laid_out = [lay_out(problem, sampling) for problem in problems]
    # Place by place the strokes differ least from one to the next, which makes the sweep quick.
    orders = [np.arange(len(places)).reshape(-1, sampling.places).T.ravel() for places in laid_out]
    asked = [
        positions(choice, places).take(order) for choice, places, order in zip(choices, laid_out, orders, strict=True)
    ]
    together = Positions(
        **{one.name: np.concatenate([getattr(part, one.name) for part in asked]) for one in fields(Positions)}
    )
    found, start, doffs = solve(together, sweep=True), 0, []
    for choice, problem, places, order in zip(choices, problems, laid_out, orders, strict=True):
        solutions = found.take(start + np.argsort(order))
        start += len(places)
        doffs.append(_doff(choice, problem, places, solutions, sampling))
    return tuple(doffs)


def _doff(choice: Choice, problem: DoffProblem, places: Places, solutions: Solutions, sampling: Sampling) -> Doff:
    forces = forces_of(choice, places, solutions)
    return Doff(
        choice=choice,
        problem=problem,
        places=places,
        solutions=solutions,
        forces=forces,
        places_per_stroke=sampling.places,
    )


def forces_of(choice: Choice, places: Places, solutions: Solutions) -> Forces:
    """Give the forces at places from the solutions there."""
    frame = choice.frame
    lean = angle_to_vertical(frame.guide.nip_offset, frame.guide.nip_height - places.guide_height)
    triangle = triangle_tension(solutions.guide_tension, solutions.guide_angle, lean, frame.guide.friction)
    rubbing = rubbing_speed(places.traveller_speed, frame.ring.diameter)
    return Forces(
        triangle_tension=triangle.mean,
        triangle_least=triangle.least,
        triangle_most=triangle.most,
        guide_tension=solutions.guide_tension,
        ring_tension=solutions.ring_tension,
        winding_tension=solutions.winding_tension,
        largest_radius=solutions.largest_radius,
        separator_room=wall(frame) - solutions.largest_radius,
        neck_room=_neck_room(choice, places, solutions),
        lag_angle=solutions.lag,
        control_ring_force=solutions.control_ring_force,
        ring_force=solutions.ring_force,
        traveller_heat=frame.ring.friction * solutions.ring_force * rubbing,
        outcome=solutions.outcome,
    )


def _neck_room(choice: Choice, places: Places, solutions: Solutions) -> Array:
    beside = profile(cop_shape(choice.frame), places.foot_height, places.guide_height - solutions.neck_depth)
    return solutions.neck_radius - beside / 2


def _outcome_notes(choice: Choice, places: Places, solutions: Solutions) -> tuple[str, ...]:
    return tuple(
        _outcome_note(choice, places, solutions, outcome)
        for outcome in Outcome
        if outcome is not Outcome.STEADY and np.any(solutions.outcome == outcome)
    )


def _outcome_note(choice: Choice, places: Places, solutions: Solutions, outcome: Outcome) -> str:
    there = solutions.outcome == outcome
    minutes = places.time[there] / 60
    span = f"between {minutes.min():.0f} and {minutes.max():.0f} min"
    head = f"At {int(there.sum())} of {len(places)} places of the doff, {span}"
    heaviest = float(np.fmax.reduce(solutions.stopped_at_mass[there]))
    if not np.isfinite(heaviest):
        return f"{head}: {outcome.sentence}"
    has, needs = (show(mass, "mass", "mg") for mass in (choice.traveller.mass, heaviest))
    return f"{head}: {outcome.sentence} The traveller has {has}; the limit lies at up to {needs}."


def _touch_notes(what: str, room: Array) -> tuple[str, ...]:
    inside = room[room < 0]
    if not inside.size:
        return ()
    deepest = show(float(-inside.min()), "length", "mm", 1)
    head = f"At {inside.size} of {room.size} places of the doff the balloon reaches up to {deepest} into the {what}"
    return (f"{head}: it rubs there, and the forces given are those of a balloon free to turn.",)


def _control_ring_notes(places: Places) -> tuple[str, ...]:
    above = int(np.sum(places.control_ring_height >= places.guide_height))
    below = int(np.sum(places.control_ring_height <= places.ring_height))
    return tuple(
        f"At {count} of {len(places)} places of the doff the control ring stands {where}, and touches nothing there."
        for count, where in ((above, "at or above the guide"), (below, "at or below the ring"))
        if count
    )
