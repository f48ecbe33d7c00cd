"""What offsets do to the tension: the linear answer of balloon and traveller at a few places of the doff.

The answer is linear, so it is worked out once for a frame and yarn and then applied to every spindle's vectors. From
a limit on, the yarn stops on the traveller for part of each turn. The highest tension was then held against the motion
in time, and is told up to ``TESTED`` times the limit; beyond that a lower bound only.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from ringwright.centring.offsets import Offsets
from ringwright.centring.readings import PARTS
from ringwright.centring.side import Sides
from ringwright.mill import Mill
from ringwright.physics.motion import OffsetResponse, offset_response
from ringwright.physics.real import Array
from ringwright.setting.choice import Choice
from ringwright.setting.doff import Doff, solve_doff
from ringwright.setting.places import Sampling
from ringwright.setting.problem import positions

Mask = npt.NDArray[np.bool_]

__all__ = [
    "AGREES", "SLACK", "TESTED", "Answering", "Effects", "Grade", "OnePart", "answering_of", "effects_of", "one_part",
    "turned",
]  # fmt: skip

SAMPLING = Sampling(strokes=8, places=5)
"""The places of the doff at which the answer is worked out; its strongest is within 4 % of that of 180 places."""
TESTED = 2.0
"""Times the limit up to which the highest tension by the linear answer was held against the motion in time."""
AGREES = 0.20
"""How far the two lay apart up to there at most, as a share; docs/explanation/off-centre.md has what was measured."""
BOUNDED, SLACK = 5.0, 0.10
"""Up to ``BOUNDED`` times the limit the motion in time rose at least as high as the linear answer less ``SLACK``."""


class Grade(IntEnum):
    """How far the linear answer is to be trusted for the highest tension."""

    LINEAR = 0
    """The yarn runs through the whole turn: the answer holds."""
    STOPS = 1
    """The yarn stops for part of each turn: the highest tension holds to ``AGREES``, the lowest lies higher."""
    BEYOND = 2
    """More than ``TESTED`` times the limit, or the yarn would leave the control ring: only a lower bound is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answering:
    """How a frame and yarn answer to offsets at the places of a doff; ``response`` is per metre of offset."""

    doff: Doff
    response: OffsetResponse

    @property
    def choice(self) -> Choice:
        """Frame, yarn and setting."""
        return self.doff.choice

    @property
    def clockwise(self) -> bool:
        """Whether the spindle turns clockwise seen from above, as it does for Z twist."""
        return self.choice.yarn.twist_direction == "Z"


@dataclass(frozen=True, slots=True, kw_only=True)
class Effects:
    """What the offsets of each spindle do (spindles,); nan where no part was read.

    ``swing`` is how far the tension at the guide swings to either side once in each turn [N], at the place of the doff
    where that is most by the linear answer, ``share`` the same over the mean tension there, ``place`` the place's
    number. ``reversal`` is the largest swing of the yarn's flow through the traveller over its mean: above 1 the yarn
    stops for part of each turn. ``peak`` is the highest tension at the guide in the doff by the linear answer [N], at
    the place ``peak_place``, ``at_least`` what it is at least where the answer is not held. ``grades`` (spindles,
    steady places) says how far the answer is to be trusted, by ``Grade``; -1 where nothing was read. ``usual`` is the
    swing [N] at the middle one of the places.
    """

    swing: Array
    share: Array
    place: npt.NDArray[np.int_]
    reversal: Array
    peak: Array
    peak_place: npt.NDArray[np.int_]
    at_least: Array
    usual: Array
    grades: npt.NDArray[np.int_]

    @property
    def grade(self) -> npt.NDArray[np.int_]:
        """Grade in the worst place of the doff, (spindles,)."""
        return np.asarray(self.grades.max(axis=1, initial=-1), dtype=np.int_)

    @property
    def usual_grade(self) -> npt.NDArray[np.int_]:
        """Grade in the middle one of the places, (spindles,)."""
        if not self.grades.shape[1]:
            return self.grade
        return np.asarray(np.sort(self.grades, axis=1)[:, self.grades.shape[1] // 2], dtype=np.int_)


def answering_of(mill: Mill, frame: str, yarn: str) -> Answering:
    """Work out how a frame and yarn of the mill answer; refuses as ``solve_doff``."""
    doff = solve_doff(mill, frame, yarn, sampling=SAMPLING)
    return Answering(doff=doff, response=offset_response(positions(doff.choice, doff.places), doff.places.yarn_speed))


def effects_of(answering: Answering, offsets: Mapping[str, Offsets], sides: Sides) -> Effects:
    """Apply the answer to the offsets of every spindle; a part that was not read is taken as centred."""
    hands = np.array([sides.hand(spindle) for spindle in range(1, sides.spindles + 1)])
    given = {part: offsets[part] for part in PARTS if part in offsets}
    vectors = {part: turned(one.along, one.out, hands, answering) for part, one in given.items()}
    read = ~np.all([np.isnan(one) for one in vectors.values()], axis=0)
    centred = np.zeros(sides.spindles, dtype=np.complex128)
    known = {part.replace(" ", "_"): np.nan_to_num(vectors.get(part, centred))[:, None] for part in PARTS}
    steady = np.isfinite(answering.response.ring.guide_tension)
    if not read.any() or not steady.any():
        nothing = np.full(sides.spindles, np.nan)
        return Effects(swing=nothing, share=nothing, place=np.zeros(sides.spindles, np.int_), reversal=nothing,
                       peak=nothing, peak_place=np.zeros(sides.spindles, np.int_), at_least=nothing, usual=nothing,
                       grades=np.full((sides.spindles, 0), -1))  # fmt: skip
    swing = np.abs(answering.response.together("guide_tension", **known))[:, steady]
    flow = np.asarray(answering.response.reversal(**known), dtype=np.float64)[:, steady]
    mean, lifted = answering.doff.forces.guide_tension[steady], _lifted(answering, known, steady)
    most = np.argmax(swing, axis=1)
    row, place = np.arange(len(most)), np.flatnonzero(steady)[most]
    grades = np.where((flow > TESTED) | (lifted > 1), Grade.BEYOND, np.where(flow > 1, Grade.STOPS, Grade.LINEAR))

    held = swing / np.maximum(1.0, np.maximum(flow / BOUNDED, lifted))

    def known_only(values: Array) -> Array:
        return np.where(read, values, np.nan)

    return Effects(
        swing=known_only(swing[row, most]), place=place, reversal=known_only(flow.max(axis=1)),
        share=known_only(swing[row, most] / mean[most]), peak=known_only((mean + swing).max(axis=1)),
        peak_place=np.flatnonzero(steady)[np.argmax(mean + swing, axis=1)],
        at_least=known_only((1 - SLACK) * (mean + held).max(axis=1)),
        usual=known_only(np.median(swing, axis=1)), grades=np.where(read[:, None], grades, -1),
    )  # fmt: skip


def _lifted(answering: Answering, known: Mapping[str, npt.NDArray[np.complex128]], steady: Mask) -> Array:
    """Give the swing of the yarn's bend on the control ring over the bend (spindles, places); above 1 it leaves it."""
    bend = answering.response.bend[steady]
    turned = np.abs(answering.response.together("control_ring_bend", **known))[:, steady]
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(bend > 0.0, turned / bend, 0.0)


def turned(along: Array, out: Array, hands: Array, answering: Answering) -> npt.NDArray[np.complex128]:
    """Give vectors along the frame and out to the front [m], with each side's hand, as x + i y [m].

    x to y is the way in which the traveller turns, seen from above. Clockwise is from the right hand to the front, so
    x is right and y is front; else y is away.
    """
    return np.asarray(hands * along + (1j if answering.clockwise else -1j) * out, dtype=np.complex128)


@dataclass(frozen=True, slots=True, kw_only=True)
class OnePart:
    """What an offset of one part alone does, strongest and usual.

    ``swing`` is the strongest swing at the guide per metre [N/m], at the place ``place`` of the doff, ``usual`` the
    middle one of the doff's; ``valid`` the offset [m] from which the yarn stops in each turn first,
    ``usual_valid`` that in the middle one of the places; ``still`` the strongest quasi-static estimate [N/m],
    for comparison.
    """

    part: str
    swing: float
    place: int
    usual: float
    valid: float
    usual_valid: float
    still: float


def one_part(answering: Answering, part: str) -> OnePart:
    """Tell what an offset of one part alone does; nan all through where the doff has no steady balloon."""
    name = part.replace(" ", "_")
    one = getattr(answering.response, name)
    swing, still = np.abs(one.guide_tension), np.abs(one.still_guide_tension)
    valid = np.asarray(answering.response.valid_below(name), dtype=np.float64)
    if not np.isfinite(swing).any():
        nan = float("nan")
        return OnePart(part=part, swing=nan, place=0, usual=nan, valid=nan, usual_valid=nan, still=nan)
    place = int(np.nanargmax(swing))
    return OnePart(
        part=part, swing=float(swing[place]), place=place, usual=float(np.nanmedian(swing)),
        valid=float(np.nanmin(valid)), usual_valid=float(np.nanmedian(valid)), still=float(np.nanmax(still)),
    )  # fmt: skip
