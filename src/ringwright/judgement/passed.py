"""Which limits a doff passes, found without following any branch: quick enough for every value of a slider."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ringwright.judgement.balloon_rooms import inside_rooms, separator_rooms
from ringwright.judgement.batch import threads_at
from ringwright.judgement.inside import inside_of
from ringwright.judgement.stated import stated_rooms
from ringwright.mill import Limit
from ringwright.physics.outcome import Outcome
from ringwright.setting.doff import Doff

__all__ = ["NO_STEADY_BALLOON", "passed"]

NO_STEADY_BALLOON = "no steady balloon"


def passed(doff: Doff, limits: Mapping[str, Limit]) -> tuple[str, ...]:
    """Name what a doff passes at any of its places, a balloon that cannot stand first; empty where all have room.

    The inside of the balloon is measured at foot and top of each stroke.
    """
    names = [NO_STEADY_BALLOON] if np.any(doff.solutions.outcome != Outcome.STEADY) else []
    row = doff.places_per_stroke
    top = int(np.argmax(doff.places.ring_height[:row]))
    feet = np.arange(0, len(doff.places), row, dtype=np.int_)
    at = np.sort(np.concatenate((feet, feet + top)))
    inside = inside_of(doff, threads_at(doff, at), at)
    rooms = (*separator_rooms(doff, limits), *inside_rooms(doff, inside), *stated_rooms(doff, limits))
    return (*names, *(room.name for room in rooms if room.room is not None and room.room < 0))
