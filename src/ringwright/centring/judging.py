"""A round judged: what a rail has in common, which single spindles to correct, by which vector, in which order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ringwright.centring.correcting import Gauge, Move, moves_of, named_in, tolerance_of
from ringwright.centring.effect import Answering, Effects, Grade, effects_of
from ringwright.centring.offsets import Offsets, Round
from ringwright.centring.rails import RailOffset, rail_of
from ringwright.centring.side import Sides, sides_of
from ringwright.centring.walk import in_stops
from ringwright.mill import Frame

__all__ = ["Correction", "Judged", "PartCount", "RailShift", "judge_round"]

WORTH = 0.05
"""A rail is shifted if that spares single corrections at this share of its spindles, ten at least: our own choice."""
FEWEST_SPARED = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """One spindle to correct: its moves, its swing [N] and share, and its highest tension in the doff [N].

    All by the linear answer, which ``grade`` says how far to trust; where it is not held the tension is ``at_least``
    so much. All are nan, and the grade None, where no answer was worked out.
    """

    spindle: int
    side: int
    moves: tuple[Move, ...]
    swing: float = float("nan")
    share: float = float("nan")
    peak: float = float("nan")
    at_least: float = float("nan")
    grade: Grade | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RailShift:
    """A rail that stands off as a whole, the move of it at its first and last spindle, and how many it spares."""

    rail: RailOffset
    first: Move
    last: Move
    spared: int

    @property
    def alike(self) -> bool:
        """Whether both ends are moved by the same vector."""
        return (self.first.along, self.first.out) == (self.last.along, self.last.out)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartCount:
    """Of one part: spindles read, read beyond the tolerance, and beyond it for certain (before any rail is shifted)."""

    part: str
    tolerance: float
    read: int
    over: int
    named: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A round judged: rails, shifts of rails, corrections in stops (worst stop first), counts and effects.

    ``left`` are the offsets that stay once the rails are shifted; ``effects`` is of the offsets as read, ``after`` of
    those that stay, both None where no answer was worked out.
    """

    frame: Frame
    sides: Sides
    round: Round
    rails: tuple[RailOffset, ...]
    shifts: tuple[RailShift, ...]
    stops: tuple[tuple[Correction, ...], ...]
    counts: tuple[PartCount, ...]
    left: Mapping[str, Offsets]
    effects: Effects | None = None
    after: Effects | None = None
    answering: Answering | None = None

    @property
    def corrections(self) -> tuple[Correction, ...]:
        """All single corrections in the order of the stops."""
        return tuple(one for stop in self.stops for one in stop)

    def of_side(self, side: int) -> int:
        """Count the single corrections of a side."""
        return sum(one.side == side for one in self.corrections)


def judge_round(given: Round, frame: Frame, answering: Answering | None = None) -> Judged:
    """Judge a round of a frame; without ``answering`` the order follows the amounts over their tolerances.

    First comes what whole sides have in common, and rails are to be shifted where that spares many single
    corrections; single spindles are then judged by what stays.
    """
    sides = sides_of(frame)
    gauge = Gauge(deviation=given.repeatability, tests=given.readings)
    offsets = {part: one for part, one in given.offsets.items() if one.read}
    rails = _rails(offsets, sides)
    shifts = tuple(shift for rail in rails if (shift := _shift(rail, offsets, sides, frame, gauge)) is not None)
    left = _shifted(offsets, shifts, sides)
    effects = after = None
    if answering is not None and offsets:
        effects, after = effects_of(answering, offsets, sides), effects_of(answering, left, sides)
    found = _corrections(moves_of(left, frame, gauge), after, sides)
    weights = [_weight(one, frame) for one in found.values()]
    stops = in_stops(list(found), weights, max(1, round(frame.centring.spindles_per_stop)), sides)
    return Judged(
        frame=frame, sides=sides, round=given, rails=rails, shifts=shifts, left=left, effects=effects, after=after,
        answering=answering, stops=tuple(tuple(found[spindle] for spindle in stop) for stop in stops),
        counts=tuple(_count(one, frame, gauge) for one in offsets.values()),
    )  # fmt: skip


def _rails(offsets: Mapping[str, Offsets], sides: Sides) -> tuple[RailOffset, ...]:
    found = [rail_of(one, side, sides) for one in offsets.values() for side in range(1, sides.sides + 1)]
    return tuple(one for one in found if one is not None)


def _shift(
    rail: RailOffset, offsets: Mapping[str, Offsets], sides: Sides, frame: Frame, gauge: Gauge
) -> RailShift | None:
    """Give the shift of a rail if it spares enough single corrections; None else."""
    at = sides.numbers(rail.side) - 1
    vectors, deviation = offsets[rail.part].vectors[at], gauge.deviation_of(offsets[rail.part])[at]
    before = named_in(vectors, deviation, rail.part, frame, gauge).sum()
    spared = int(before - named_in(vectors - rail.line, deviation, rail.part, frame, gauge).sum())
    if spared < max(FEWEST_SPARED, WORTH * rail.read):
        return None
    ends = [Move(what=f"{rail.part} rail", along=-float(x), out=-float(y)) for x, y in (rail.line[0], rail.line[-1])]
    return RailShift(rail=rail, first=ends[0], last=ends[1], spared=spared)


def _shifted(offsets: Mapping[str, Offsets], shifts: Sequence[RailShift], sides: Sides) -> dict[str, Offsets]:
    """Give the offsets that stay once the rails are shifted."""
    left = dict(offsets)
    for shift in shifts:
        one, at = left[shift.rail.part], sides.numbers(shift.rail.side) - 1
        along, out = one.along.copy(), one.out.copy()
        along[at] -= shift.rail.line[:, 0]
        out[at] -= shift.rail.line[:, 1]
        left[shift.rail.part] = replace(one, along=along, out=out)
    return left


def _corrections(moves: Mapping[int, tuple[Move, ...]], effects: Effects | None, sides: Sides) -> dict[int, Correction]:
    found = {}
    for spindle, of_spindle in moves.items():
        one = Correction(spindle=spindle, side=sides.side(spindle), moves=of_spindle)
        found[spindle] = one if effects is None else _told(one, effects)
    return found


def _told(one: Correction, effects: Effects) -> Correction:
    """Add what the effects say of a spindle."""
    at = one.spindle - 1
    grade = int(effects.grade[at])
    return replace(
        one, swing=float(effects.swing[at]), share=float(effects.share[at]), peak=float(effects.peak[at]),
        at_least=float(effects.at_least[at]), grade=Grade(grade) if grade >= 0 else None,
    )  # fmt: skip


def _weight(one: Correction, frame: Frame) -> float:
    """Give what a correction is worth in the order: its swing, else its amount over the tolerance."""
    if np.isfinite(one.swing):
        return one.swing
    return max(move.amount / tolerance_of(frame, "ring" if move.what == "spindle" else move.what) for move in one.moves)


def _count(one: Offsets, frame: Frame, gauge: Gauge) -> PartCount:
    tolerance = tolerance_of(frame, one.part)
    named = named_in(one.vectors, gauge.deviation_of(one), one.part, frame, gauge)
    with np.errstate(invalid="ignore"):
        over = int((one.amount > tolerance).sum())
    return PartCount(part=one.part, tolerance=tolerance, read=one.read, over=over, named=int(named.sum()))
