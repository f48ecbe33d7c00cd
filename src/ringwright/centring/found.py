"""Everything about the centring of a frame and yarn, put together: the round, the rounds before it, and the target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.centring.drift import Dated, Drift, drift_of
from ringwright.centring.effect import Answering, OnePart, answering_of, one_part
from ringwright.centring.judging import Judged, judge_round
from ringwright.centring.kinematic import tension_swing
from ringwright.centring.offsets import Round, offsets_of
from ringwright.centring.readings import PARTS, ReadingsTaken
from ringwright.centring.target import Target, target_of
from ringwright.mill import Frame, Mill
from ringwright.physics.krause import winding_angle

__all__ = ["Found", "TakenRound", "drifts_of", "find", "judged_round"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenRound:
    """One round as taken in: its readings, when it was read (µs UTC), where it comes from, and the text as given."""

    taken: ReadingsTaken
    read_us: int
    origin: str = ""
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """The last round judged, its moment and origin; what each part alone does; drift by part; the pointer's target.

    ``kinematic`` is the swing of the winding tension by geometry alone for a ring at its tolerance, as a share, on the
    full cop and on the bare tube. ``drifts`` is empty with one round only.
    """

    mill: Mill
    frame: Frame
    yarn: str
    judged: Judged
    read_us: int
    origin: str
    rounds: int
    answering: Answering
    parts: tuple[OnePart, ...]
    kinematic: tuple[float, float]
    drifts: tuple[Drift, ...]
    target: Target


def find(mill: Mill, frame: str, yarn: str, rounds: Sequence[TakenRound]) -> Found:
    """Judge the last of one or more rounds of a frame, with a yarn; refuses as ``solve_doff`` and ``target_of``."""
    answering = answering_of(mill, frame, yarn)
    chosen = answering.choice.frame
    last = rounds[-1]
    judged = judge_round(_round(last.taken, chosen), chosen, answering)
    ring, shape = chosen.ring, answering.doff.problem.shape
    tolerance = chosen.centring.ring_tolerance
    swings = [
        tension_swing(tolerance, ring.diameter, float(winding_angle(diameter, ring.diameter)), ring.friction)
        for diameter in (shape.cop_diameter, shape.tube_top_diameter)
    ]
    parts = [part for part in PARTS if part != "control ring" or chosen.control_ring is not None]
    dated = [Dated(judged=judged_round(one.taken, chosen), read_us=one.read_us) for one in rounds[:-1]]
    return Found(
        mill=mill, frame=chosen, yarn=yarn, judged=judged, read_us=last.read_us, origin=last.origin,
        rounds=len(rounds), answering=answering, parts=tuple(one_part(answering, part) for part in parts),
        kinematic=(swings[0], swings[1]), drifts=_drifts([*dated, Dated(judged=judged, read_us=last.read_us)]),
        target=target_of(answering),
    )  # fmt: skip


def drifts_of(frame: Frame, rounds: Sequence[TakenRound]) -> tuple[Drift, ...]:
    """Give the drift of each part from the rounds of a frame, first to last; none where nothing can be said."""
    return _drifts([Dated(judged=judged_round(one.taken, frame), read_us=one.read_us) for one in rounds])


def judged_round(taken: ReadingsTaken, frame: Frame) -> Judged:
    """Judge one round of a frame without the answer of the tension: what stands off, and by how much."""
    return judge_round(_round(taken, frame), frame)


def _round(taken: ReadingsTaken, frame: Frame) -> Round:
    return offsets_of(taken, int(frame.spindles), frame.centring.gauge_repeatability)


def _drifts(dated: Sequence[Dated]) -> tuple[Drift, ...]:
    found = [drift_of(dated, part) for part in PARTS]
    return tuple(one for one in found if one is not None)
