"""Room to the limits that the mill or the frame states: tension, traveller, control ring and spindle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from ringwright.judgement.least import Against, least_room
from ringwright.judgement.room import Authority, Kind, Room, place_of, told
from ringwright.mill import Limit, origin_of
from ringwright.physics.real import Array
from ringwright.physics.traveller_speed import rubbing_speed
from ringwright.setting.doff import Doff

__all__ = ["authority_of", "stated_rooms"]

STRENGTH = Kind(
    key="strength_share", name="Yarn strength", quantity="force", unit="cN",
    measured="largest tension at the spinning triangle",
)  # fmt: skip
WINDING = Kind(
    key="winding_share", name="Winding tension", quantity="force", unit="cN",
    measured="largest tension between traveller and cop",
)  # fmt: skip
SPEED = Kind(
    key="traveller_speed", name="Traveller speed", quantity="speed", unit="m/s", measured="traveller on the ring"
)
HEAT = Kind(
    key="traveller_heat", name="Traveller heat", quantity="power", unit="W", measured="traveller rubs on the ring with"
)
CONTROL_RING_HEAT = Kind(
    key="control_ring_heat", name="Control-ring heat", quantity="power", unit="W",
    measured="yarn rubs on the control ring with",
)  # fmt: skip
SPINDLE = Kind(key="spindle", name="Spindle", quantity="rotation", unit="rpm", measured="spindle at")
SPINDLE_RULE = Kind(
    key="spindle_speed", name="Spindle, mill's rule", quantity="rotation", unit="rpm", measured="spindle at"
)
SLIP = Kind(
    key="drive_slip", name="Drive slip", quantity="share", unit="%", measured="speed lost between drum and wharve"
)


def authority_of(limit: Limit) -> Authority:
    """Give who says where a limit of the mill lies."""
    origin, source = limit.origin
    return Authority(source=source, owner=limit.owner, origin=origin)


def stated_rooms(doff: Doff, limits: Mapping[str, Limit]) -> tuple[Room, ...]:
    """Give the rooms to the limits stated; where a limit is wanted and not stated, say so with the most there is."""
    forces, places, frame = doff.forces, doff.places, doff.choice.frame
    strength = doff.choice.yarn.strength
    rubbing = rubbing_speed(places.traveller_speed, frame.ring.diameter)
    rooms = [
        _ceiling(doff, STRENGTH, forces.triangle_most, limits, strength),
        _ceiling(doff, SPEED, rubbing, limits),
        _ceiling(doff, HEAT, forces.traveller_heat, limits),
        _spindle_room(doff),
        _slip_room(doff, limits),
    ]
    if WINDING.key in limits:
        rooms.append(_ceiling(doff, WINDING, forces.winding_tension, limits, strength))
    if SPINDLE_RULE.key in limits:
        rooms.append(_ceiling(doff, SPINDLE_RULE, places.spindle_speed, limits))
    thermoplastic = any(fibre.thermoplastic for fibre in doff.choice.yarn.fibres)
    if frame.control_ring is not None and (thermoplastic or CONTROL_RING_HEAT.key in limits):
        rooms.append(_ceiling(doff, CONTROL_RING_HEAT, _control_ring_heat(doff), limits))
    return tuple(rooms)


def _ceiling(doff: Doff, kind: Kind, value: Array, limits: Mapping[str, Limit], unit: float = 1.0) -> Room:
    """Give the room below a limit of the mill, which is a share of ``unit`` where that is given."""
    stated = limits.get(kind.key)
    if stated is None:
        return Room(kind=kind, authority=_nobody(), not_met=_without_limit(doff, kind, value))
    limit = stated.value * unit
    against = Against(value=value, limit=limit, scale=limit, ceiling=True)
    return least_room(doff, kind, authority_of(stated), against, not_met=_NO_VALUE)


_NO_VALUE = "not known: there is no steady balloon at any place of the doff"


def _nobody() -> Authority:
    return Authority(source="none is stated", owner="not stated", origin="assumed")


def _without_limit(doff: Doff, kind: Kind, value: Array) -> str:
    if not np.isfinite(value).any():
        return _NO_VALUE
    index = int(np.flatnonzero(value >= np.nanmax(value) * (1 - 1e-7))[0])
    most = told(float(value[index]), kind)
    return f"no limit is stated; {kind.measured} at most {most}, at {place_of(doff, index).words}"


def _control_ring_heat(doff: Doff) -> Array:
    """Rubbing power of the yarn on the control ring [W]: friction x force x speed round it, 0 where it is free."""
    ring = doff.choice.frame.control_ring
    if ring is None:
        return np.full(len(doff.places), np.nan)
    return ring.friction * doff.forces.control_ring_force * rubbing_speed(doff.places.traveller_speed, ring.diameter)


def _slip_room(doff: Doff, limits: Mapping[str, Limit]) -> Room:
    """Give the room to the limit on slip: the frame's own figure, alike at every place of the doff."""
    frame = doff.choice.frame
    room = _ceiling(doff, SLIP, np.full(len(doff.places), frame.drive.slip), limits)
    word, _ = origin_of(frame, "drive.slip")
    return replace(
        room,
        place=None if room.place is None else replace(room.place, throughout=True),
        remark=f"The slip of {frame.name} itself is {word}; it takes twist with the speed.",
    )


def _spindle_room(doff: Doff) -> Room:
    frame = doff.choice.frame
    origin, note = origin_of(frame, "spindle.highest_speed")
    authority = Authority(
        source=note or "the highest speed that the spindle is built for",
        owner=f"spindles of {frame.name}",
        origin=origin,
    )
    most = frame.spindle.highest_speed
    against = Against(value=doff.places.spindle_speed, limit=most, scale=most, ceiling=True)
    return least_room(doff, SPINDLE, authority, against, not_met=_NO_VALUE)
