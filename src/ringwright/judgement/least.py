"""The least room over the places of a doff."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.judgement.room import Authority, Kind, Room, place_of
from ringwright.physics.real import Array
from ringwright.setting.doff import Doff

__all__ = ["Against", "least_room"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Against:
    """What stands against a limit at each place of a doff, SI: arrays (places,) with nan where not known, or numbers.

    ``scale`` is the whole way to the limit. ``ceiling`` is true where the value must stay below the limit.
    """

    value: Array | float
    limit: Array | float
    scale: Array | float
    ceiling: bool

    @property
    def room(self) -> Array:
        """Room at each place, negative where the limit is passed."""
        sign = 1.0 if self.ceiling else -1.0
        return np.asarray(sign * (np.asarray(self.limit) - self.value), dtype=np.float64)


def least_room(
    doff: Doff, kind: Kind, authority: Authority, against: Against, *, not_met: str, remark: str = ""
) -> Room:
    """Give the room at the place where it is least; ``not_met`` is the reason to give if no place has one."""
    room = np.broadcast_to(against.room, (len(doff.places),))
    if not np.isfinite(room).any():
        return Room(kind=kind, authority=authority, not_met=not_met, remark=remark)
    least = np.nanmin(room)
    # The first of the places that are least but for rounding, so that every machine names the same one.
    index = int(np.flatnonzero(room <= least + 1e-7 * abs(least))[0])

    def there(values: Array | float) -> float:
        return float(np.broadcast_to(values, room.shape)[index])

    return Room(
        kind=kind,
        authority=authority,
        place=place_of(doff, index),
        room=float(room[index]),
        value=there(against.value),
        limit=there(against.limit),
        scale=there(against.scale),
        remark=remark,
    )
