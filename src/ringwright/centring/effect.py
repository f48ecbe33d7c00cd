"""What offsets do to the tension: the linear answer of balloon and traveller at a few places of the doff.

The answer is linear, so it is worked out once for a frame and yarn and then applied to every spindle's vectors. It
ends where the yarn would flow back through the traveller once in each turn; beyond that only an order is told.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

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

__all__ = ["Answering", "Effects", "OnePart", "answering_of", "effects_of", "one_part"]

SAMPLING = Sampling(strokes=8, places=5)
"""The places of the doff at which the answer is worked out; its strongest is within 4 % of that of 180 places."""


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
    number. ``reversal`` is the largest swing of the yarn's flow through the traveller over its mean: above 1 the linear
    answer has ended, and ``held`` is the swing [N] at which it ends on the way to this offset, at the worst place.
    ``usual`` and ``usual_reversal`` are swing [N] and reversal at the middle one of the doff's places.
    """

    swing: Array
    share: Array
    place: npt.NDArray[np.int_]
    reversal: Array
    held: Array
    usual: Array
    usual_reversal: Array


def answering_of(mill: Mill, frame: str, yarn: str) -> Answering:
    """Work out how a frame and yarn of the mill answer; refuses as ``solve_doff``."""
    doff = solve_doff(mill, frame, yarn, sampling=SAMPLING)
    return Answering(doff=doff, response=offset_response(positions(doff.choice, doff.places), doff.places.yarn_speed))


def effects_of(answering: Answering, offsets: Mapping[str, Offsets], sides: Sides) -> Effects:
    """Apply the answer to the offsets of every spindle; a part that was not read is taken as centred."""
    hands = np.array([sides.hand(spindle) for spindle in range(1, sides.spindles + 1)])
    turned = {part: _turned(offsets[part], hands, clockwise=answering.clockwise) for part in PARTS if part in offsets}
    read = ~np.all([np.isnan(one) for one in turned.values()], axis=0)
    centred = np.zeros(sides.spindles, dtype=np.complex128)
    known = {part.replace(" ", "_"): np.nan_to_num(turned.get(part, centred))[:, None] for part in PARTS}
    steady = np.isfinite(answering.response.ring.guide_tension)
    if not read.any() or not steady.any():
        nothing = np.full(sides.spindles, np.nan)
        return Effects(swing=nothing, share=nothing, place=np.zeros(sides.spindles, np.int_), reversal=nothing,
                       held=nothing, usual=nothing, usual_reversal=nothing)  # fmt: skip
    swing = np.abs(answering.response.together("guide_tension", **known))[:, steady]
    flow = np.asarray(answering.response.reversal(**known), dtype=np.float64)[:, steady]
    most = np.argmax(swing, axis=1)
    row, place = np.arange(len(most)), np.flatnonzero(steady)[most]

    def known_only(values: Array) -> Array:
        return np.where(read, values, np.nan)

    return Effects(
        swing=known_only(swing[row, most]), place=place, reversal=known_only(flow.max(axis=1)),
        share=known_only(swing[row, most] / answering.doff.forces.guide_tension[place]),
        held=known_only((swing / np.maximum(flow, 1.0)).max(axis=1)), usual=known_only(np.median(swing, axis=1)),
        usual_reversal=known_only(np.median(flow, axis=1)),
    )  # fmt: skip


def _turned(offsets: Offsets, hands: Array, *, clockwise: bool) -> npt.NDArray[np.complex128]:
    """Give the vectors as x + i y, x to y being the way in which the traveller turns, seen from above.

    Clockwise is from the right hand to the front, so x is right and y is front; else y is away.
    """
    return np.asarray(hands * offsets.along + (1j if clockwise else -1j) * offsets.out, dtype=np.complex128)


@dataclass(frozen=True, slots=True, kw_only=True)
class OnePart:
    """What an offset of one part alone does, strongest and usual.

    ``swing`` is the strongest swing at the guide per metre [N/m], at the place ``place`` of the doff, ``usual`` the
    middle one of the doff's; ``valid`` the offset [m] at which the linear answer ends first, ``usual_valid`` in the
    middle one of the places; ``still`` the strongest quasi-static estimate [N/m], for comparison.
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
