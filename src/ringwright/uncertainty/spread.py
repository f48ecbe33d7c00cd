"""Carry the spread of the inputs through thousands of solved doffs: an interval for each result, and the ranking."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, fields, replace

import numpy as np

from ringwright.economy.breaks import strength_of
from ringwright.improve.watch import NOBODY, Watch
from ringwright.physics.near import Model, model, solve_near
from ringwright.physics.position import Positions, Solutions
from ringwright.physics.real import Array
from ringwright.physics.spinning_angle import angle_to_vertical, triangle_tension
from ringwright.refusal import Fault, Refusal
from ringwright.setting.choice import Choice
from ringwright.setting.places import Places, Sampling, lay_out
from ringwright.setting.problem import doff_problem, positions, wall
from ringwright.uncertainty.inputs import Input, inputs_of, moves_places, with_values
from ringwright.uncertainty.kept import KeptFit
from ringwright.uncertainty.ranking import Design, Groups, Indices, bound_together, design, indices

__all__ = ["RESULTS", "Result", "SpreadStudy", "sampled_results", "study_spread"]

PLACES = Sampling(strokes=8, places=25)
LEAST_ROWS = 32
BLOCK = 64
"""Doffs solved at once: 12 800 places, which the processor's cache holds."""
WORKERS = 2


@dataclass(frozen=True, slots=True)
class Result:
    """One result of a doff: its name, quantity and unit to show, decimals, and whether its logarithm is ranked."""

    name: str
    quantity: str
    unit: str
    digits: int
    by_logarithm: bool = False


RESULTS = (
    Result("highest tension at the triangle", "force", "cN", 1),
    Result("the same as a share of strength", "share", "%", 1),
    Result("highest winding tension", "force", "cN", 1),
    Result("highest heat at the traveller", "power", "W", 1),
    Result("least room to the separator", "length", "mm", 1),
    Result("breaks that follow tension, times those of the middle", "ratio", "1", 2, by_logarithm=True),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadStudy:
    """What the spread of the inputs does to a doff's results."""

    choice: Choice
    inputs: tuple[Input, ...]
    groups: Groups
    """Numbers of the inputs that are ranked as one."""
    values: Array
    """(results, doffs), nan where some place of the doff has no steady balloon."""
    middle: Array
    """(results,) with every input at its own value."""
    unsteady: int
    """How many of the doffs have a place without a steady balloon."""
    asked: int
    """Doffs that the study was to have; fewer were solved if it was ended early."""
    ranking: tuple[Indices | None, ...]
    """For each result; None if too few rows of the design spin throughout, or nothing varies."""

    @property
    def ranked(self) -> tuple[str, ...]:
        """Names of what is ranked: an input's key, or those of inputs that hang together."""
        return tuple(", ".join(self.inputs[number].key for number in group) for group in self.groups)

    def interval(self, chance: float = 0.95) -> Array:
        """Give the ends (results, 2) between which each result lies with the chance, among steady doffs."""
        ends = [(1 - chance) / 2, (1 + chance) / 2]
        return np.asarray(np.nanquantile(self.values, ends, axis=1).T, dtype=np.float64)


def study_spread(
    choice: Choice, doffs: int = 4000, seed: int = 1, fitted: KeptFit | None = None, watch: Watch = NOBODY
) -> SpreadStudy:
    """Sample about so many doffs of 200 places; Refusal if no input carries a spread or it does not spin.

    ``fitted`` is the fit whose values stand in the choice: its inputs are drawn with its errors, hanging together as
    it says, and are ranked as one. A watcher may end the study early, with the doffs solved by then.
    """
    inputs = inputs_of(choice, fitted)
    if not inputs:
        mend = 'Write one, as spread = { drag_coefficient = "0.75 to 1.3" }.'
        raise Refusal(
            Fault(where="the spread of the inputs", got="nowhere written", wants="of at least one", mend=mend)
        )
    bound = tuple(number for number, one in enumerate(inputs) if one.log_error)
    groups: Groups = ((bound,) if bound else ()) + tuple((i,) for i in range(len(inputs)) if i not in bound)
    plan = design(len(inputs), doffs, seed, groups)
    chances = plan.points if fitted is None or not bound else _bound(plan.points, inputs, bound, fitted)
    drawn = np.stack([one.at(chances[:, i]) for i, one in enumerate(inputs)], axis=1)
    middle = sampled_results(choice, inputs, np.array([[one.value for one in inputs]]))[:, 0]
    if not np.all(np.isfinite(middle)):
        mend = "Try a heavier traveller or a control ring; the doff command says where it fails."
        got, wants = "without a steady balloon at some place of the doff", "one that spins throughout"
        raise Refusal(Fault(where="the setting", got=got, wants=wants, mend=mend))
    values = sampled_results(choice, inputs, drawn, watch)
    solved = values.shape[1]
    values[5], middle[5] = values[5] / middle[5], 1.0
    whole = np.full((len(values), len(drawn)), np.nan)
    whole[:, :solved] = values
    return SpreadStudy(
        choice=choice, inputs=tuple(inputs), groups=groups, values=values, middle=middle,
        unsteady=int(np.sum(~np.isfinite(values[0]))), asked=len(drawn),
        ranking=tuple(_ranked(row, one, plan) for row, one in zip(whole, RESULTS, strict=True)),
    )  # fmt: skip


def _bound(points: Array, inputs: Sequence[Input], members: tuple[int, ...], fitted: KeptFit) -> Array:
    """Make the chances of fitted inputs hang together as the fit's covariance says."""
    at = [fitted.keys.index(inputs[number].key) for number in members]
    told = fitted.log_covariance[np.ix_(at, at)]
    errors = np.sqrt(np.diag(told))
    return bound_together(points, members, told / np.outer(errors, errors))


def _ranked(values: Array, result: Result, plan: Design) -> Indices | None:
    """Rank by the rows of the design that spin throughout, as many as a power of 2 takes; None if under 32 do."""
    table = values.reshape(-1, plan.rows)  # a row of the design is a column here: A, B, and A with each group of B
    whole = np.flatnonzero(np.all(np.isfinite(table), axis=0))
    rows = 2 ** int(np.log2(whole.size)) if whole.size else 0
    kept = table[:, whole[:rows]]
    if rows < LEAST_ROWS or np.ptp(kept) < 1e-12 * float(np.max(np.abs(kept))):
        return None
    part = replace(plan, points=plan.points[: kept.size], rows=rows)
    return indices((np.log(kept) if result.by_logarithm else kept).ravel(), part)


def sampled_results(choice: Choice, inputs: Sequence[Input], drawn: Array, watch: Watch = NOBODY) -> Array:
    """Give the results (results, doffs) of doffs with drawn values (doffs, inputs), fewer if the watcher ends it."""
    places = lay_out(doff_problem(choice), PLACES)
    start = model(positions(choice, places))
    fixed = None if moves_places(inputs) else places

    def block(at: int) -> Array:
        choices = [with_values(choice, inputs, row) for row in drawn[at : at + BLOCK]]
        return _results(choice, choices, start, fixed)

    found: list[Array] = []
    with ThreadPoolExecutor(WORKERS) as pool:  # the compiled kernel works outside Python's lock
        for at in range(0, len(drawn), BLOCK * WORKERS):
            found += pool.map(block, range(at, min(at + BLOCK * WORKERS, len(drawn)), BLOCK))
            watch.tell(f"{min(at + BLOCK * WORKERS, len(drawn))} of {len(drawn)} doffs solved")
            if watch.stopped():
                break
    return np.concatenate(found, axis=1)


def _results(middle: Choice, choices: Sequence[Choice], start: Model, fixed: Places | None) -> Array:
    laid = [fixed or lay_out(doff_problem(choice), PLACES) for choice in choices]
    parts = [positions(choice, places) for choice, places in zip(choices, laid, strict=True)]
    given = Positions(**{f.name: np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(Positions)})
    count = len(laid[0])
    solved = solve_near(given, start, np.tile(np.arange(count), len(choices)))
    return _summed(middle, choices, given, solved, np.concatenate([p.guide_height for p in laid]))


def _summed(
    middle: Choice, choices: Sequence[Choice], given: Positions, solved: Solutions, guide_height: Array
) -> Array:
    """Give the results (results, doffs) of solved places in the order of the doffs."""
    rows = len(choices)

    def column(values: Sequence[float]) -> Array:
        return np.array(values, dtype=np.float64)[:, None]

    def table(values: Array) -> Array:
        return values.reshape(rows, -1)

    guides = [choice.frame.guide for choice in choices]
    rise = column([guide.nip_height for guide in guides]) - table(guide_height)
    lean = angle_to_vertical(column([guide.nip_offset for guide in guides]), rise)
    friction = np.broadcast_to(column([guide.friction for guide in guides]), lean.shape)
    triangle = triangle_tension(table(solved.guide_tension), table(solved.guide_angle), lean, friction)
    strength = column([choice.yarn.strength for choice in choices])
    heat = given.ring_traveller_friction * solved.ring_force * given.traveller_speed * given.ring_diameter / 2
    room = column([wall(choice.frame) for choice in choices]) - table(solved.largest_radius)
    shape = strength_of(middle.yarn.strength, middle.yarn.strength_cv).shape
    highest = np.max(triangle.most, axis=1)  # nan where any place has no value: such a doff has no result
    return np.stack([
        highest,
        highest / strength[:, 0],
        np.max(table(solved.winding_tension), axis=1),
        np.max(table(heat), axis=1),
        np.min(room, axis=1),
        np.mean((triangle.mean / strength) ** shape, axis=1),
    ])  # fmt: skip
