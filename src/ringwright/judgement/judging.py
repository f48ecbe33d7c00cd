"""A doff held against its limits: the room to each, over the band of ring friction, and what must be said first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from ringwright.judgement.balloon_rooms import branch_rooms, inside_rooms, separator_rooms
from ringwright.judgement.batch import Follow
from ringwright.judgement.close_look import CloseLook, look_closely
from ringwright.judgement.notes import band_words, method_notes, thermoplastic_notes, unsteady_notes
from ringwright.judgement.room import Room, nearest_first
from ringwright.judgement.stated import stated_rooms
from ringwright.mill import Limit, Mill
from ringwright.physics.position import limit_masses
from ringwright.setting.choice import AS_SET, Trial, choose
from ringwright.setting.doff import Doff, solve_doffs
from ringwright.setting.places import Sampling

__all__ = ["SAMPLING", "Judgement", "judge", "rooms"]

SAMPLING = Sampling(strokes=20, places=13)
SAME = 1e-9
"""Share of the scale within which two rooms are the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """The rooms of one setting, nearest first, with what must be known to read them.

    ``notes`` begin with the places that have no steady balloon, if there are any. ``places_solved`` counts the places
    of all doffs solved, one for each of ``frictions`` [1], low to high; ``places_followed`` and ``places_drawn`` count
    those of one doff at which fold, neck and lift-off, and the balloon's inside, were looked for.
    """

    rooms: tuple[Room, ...]
    notes: tuple[str, ...]
    doff: Doff
    """The doff at the frame's own ring friction, or at the one tried."""
    places_solved: int
    places_followed: int
    places_drawn: int
    frictions: tuple[float, ...]
    band: str
    """What the intervals span, in words."""


def judge(
    mill: Mill, frame_name: str, yarn_name: str, trial: Trial = AS_SET, *, follow: Follow = limit_masses
) -> Judgement:
    """Hold a setting against its limits, at the frame's ring friction and at the ends of its band.

    A ring friction that is tried has no band. ``follow`` gives the limits of positions, and may remember them.
    Raises Refusal for what ``choose`` and the doff's layout refuse.
    """
    ring = choose(mill, frame_name, yarn_name, trial).frame.ring
    ends = () if trial.ring_friction is not None else (ring.friction_low, ring.friction_high)
    others = [replace(trial, ring_friction=friction) for friction in sorted({*ends} - {ring.friction})]
    doffs = solve_doffs(mill, frame_name, yarn_name, (trial, *others), SAMPLING)
    usual, looks = doffs[0], look_closely(doffs, follow)
    found = [_rooms(doff, look, mill.limits) for doff, look in zip(doffs, looks, strict=True)]
    frictions = tuple(sorted(doff.choice.frame.ring.friction for doff in doffs))
    band = band_words(frictions, tried=trial.ring_friction is not None)
    banded = [_with_band(same, band) for same in zip(*found, strict=True)]
    return Judgement(
        rooms=nearest_first(banded),
        notes=(*unsteady_notes(doffs, looks), *thermoplastic_notes(usual), *method_notes(usual, looks[0], frictions)),
        doff=usual,
        places_solved=sum(len(doff.places) for doff in doffs),
        places_followed=int(looks[0].followed_at.sum()),
        places_drawn=int(looks[0].shapes_at.sum()),
        frictions=frictions,
        band=band,
    )


def rooms(doff: Doff, limits: Mapping[str, Limit]) -> tuple[Room, ...]:
    """Give the room to each limit of one doff, nearest first, without the friction band."""
    return nearest_first(_rooms(doff, look_closely((doff,))[0], limits))


def _rooms(doff: Doff, look: CloseLook, limits: Mapping[str, Limit]) -> tuple[Room, ...]:
    """Give the rooms in a fixed order, the same limits for every doff of one frame and yarn."""
    return (
        *branch_rooms(doff, look),
        *separator_rooms(doff, limits),
        *inside_rooms(doff, look.inside),
        *stated_rooms(doff, limits),
    )


def _with_band(same: tuple[Room, ...], band: str) -> Room:
    """Give the first of the rooms to one limit with the interval of them all."""
    first = same[0]
    known = [room.room for room in same if room.room is not None]
    if first.room is None:
        met = next((room.words for room in same if room.room == min(known)), "") if known else ""
        return replace(first, remark=_joined(first.remark, f"At an end of {band} it is met: {met}.")) if met else first
    if len(known) < len(same):
        first = replace(first, remark=_joined(first.remark, f"At an end of {band} it is not met."))
    if max(known) - min(known) <= SAME * abs(first.scale):
        return first
    return replace(first, low=min(known), high=max(known), band=band)


def _joined(*sentences: str) -> str:
    return " ".join(sentence for sentence in sentences if sentence)
