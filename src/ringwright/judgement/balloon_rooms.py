"""Room to the limits of the balloon itself: fold, neck, lift-off, and what it may touch outside and inside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from ringwright.judgement.close_look import CloseLook
from ringwright.judgement.inside import Inside, tip_height
from ringwright.judgement.least import Against, least_room
from ringwright.judgement.room import BALLOON, Authority, Kind, Room
from ringwright.judgement.stated import authority_of
from ringwright.mill import Limit
from ringwright.physics.real import Array
from ringwright.setting.doff import Doff
from ringwright.setting.problem import wall
from ringwright.units import show

__all__ = ["branch_rooms", "inside_rooms", "separator_rooms"]

NO_BALLOON = "not known: there is no steady balloon at any place that was looked at"
DRAWN = Authority(
    source="the frame's measures and the computed shape of the balloon", owner="physics", origin="computed"
)


def _mass(key: str, name: str) -> Kind:
    return Kind(key=key, name=name, quantity="mass", unit="mg", measured="traveller", more="lighter")


def branch_rooms(doff: Doff, look: CloseLook) -> tuple[Room, ...]:
    """Give the rooms to fold, neck and lift-off as traveller mass, and to lift-off as the radial force left."""
    mass = doff.choice.traveller.mass
    lost = f"{_lost(look).capitalize()}." if look.lost else ""
    masses = (("fold", "Fold", look.fold), ("neck", "Neck", look.neck), ("lift_off", "Lift-off", look.lift_off))
    rooms = [
        least_room(
            doff,
            _mass(key, name),
            BALLOON,
            Against(value=np.where(np.isfinite(limit), mass, np.nan), limit=limit, scale=mass, ceiling=False),
            not_met=_not_met(key, look),
            remark=lost if np.isfinite(limit).any() else "",
        )
        for key, name, limit in masses
    ]
    return (*rooms, _radial_room(doff, look))


def _radial_room(doff: Doff, look: CloseLook) -> Room:
    places, radius = doff.places, doff.choice.frame.ring.diameter / 2
    thrown = doff.choice.traveller.mass * places.traveller_speed**2 * radius
    return least_room(
        doff,
        Kind(
            key="lift_off_force",
            name="Lift-off, force",
            quantity="force",
            unit="cN",
            measured="traveller presses outwards with",
            more="left",
        ),
        BALLOON,
        Against(value=look.radial_force, limit=0.0, scale=thrown, ceiling=False),
        not_met=NO_BALLOON,
    )


def _lost(look: CloseLook) -> str:
    places = int(look.followed_at.sum())
    return f"at {look.lost} of {places} places looked at the balloon could not be followed to the end"


def _not_met(key: str, look: CloseLook) -> str:
    """Say which end of the branch comes before the limit that is nowhere met."""
    if look.lost:
        return f"not found: {_lost(look)}"
    folds = key != "fold" and bool(np.isfinite(look.fold).any())
    lifts = key != "lift_off" and bool(np.isfinite(look.lift_off).any())
    before = {
        "fold": "before the balloon folds",
        "neck": "before it necks" if folds else "before the balloon necks",
        "lift_off": "before the traveller lifts off",
    }[key]
    if folds and lifts:
        return f"not met: the balloon folds, or the traveller lifts off, {before}"
    if folds:
        return f"not met: the balloon folds {before}"
    if lifts:
        return f"not met: the traveller lifts off {before}"
    lightest = show(float(np.nanmax(look.lightest)), "mass", "mg", 1)
    return f"not met down to a traveller of {lightest}, where the search ends"


def separator_rooms(doff: Doff, limits: Mapping[str, Limit]) -> tuple[Room, ...]:
    """Give the room between the balloon's widest place and the plate's face, and to the mill's own least room."""
    frame = doff.choice.frame
    fitted = frame.separators.fitted
    name = "Separator" if fitted else "Neighbour"
    kind = Kind(key="separator", name=name, quantity="length", unit="mm", measured="balloon's largest radius")
    face, ring = wall(frame), frame.ring.diameter / 2
    radius = doff.forces.largest_radius
    # Beyond the ring's own radius the balloon has this much to spread in: the scale of both rooms.
    touching = Against(value=radius, limit=face, scale=face - ring, ceiling=True)
    rooms = [least_room(doff, kind, DRAWN, touching, not_met=NO_BALLOON, remark=_rubs(radius, face, fitted=fitted))]
    stated = limits.get("separator_room")
    if stated is not None:
        own = replace(kind, key="separator_room", name=f"{name}, least room", measured="clearance")
        clear = Against(value=face - radius, limit=stated.value, scale=face - ring, ceiling=False)
        rooms.append(least_room(doff, own, authority_of(stated), clear, not_met=NO_BALLOON))
    return tuple(rooms)


def _rubs(radius: Array, face: float, *, fitted: bool) -> str:
    count = int(np.sum(radius > face))
    if not count:
        return ""
    against = "the plate" if fitted else "its neighbour"
    return f"At {count} of {radius.size} places it rubs on {against}; forces given there are those of a free balloon."


def inside_rooms(doff: Doff, inside: Inside) -> tuple[Room, ...]:
    """Give the rooms between the balloon's inside and the tube with its tip, and the cop's nose."""
    frame = doff.choice.frame
    ring, cop = frame.ring.diameter / 2, frame.build.cop_diameter / 2
    tube_kind = Kind(key="tube", name="Tube", quantity="length", unit="mm", measured="balloon's radius")
    against = Against(value=inside.balloon_at_tube, limit=inside.tube, scale=ring - inside.tube, ceiling=False)
    tube = least_room(doff, tube_kind, DRAWN, against, not_met=NO_BALLOON)
    if tube.place is not None:
        height = float(inside.tube_height[tube.place.index])
        at_tip = height >= tip_height(frame)
        where = f"Nearest {'at the tip' if at_tip else 'on the bare tube'}, {show(height, 'length', 'mm', 0)} up."
        remark = f"{where} {_enters(inside.balloon_at_tube - inside.tube)}".rstrip()
        tube = replace(tube, kind=replace(tube_kind, name="Tube tip" if at_tip else "Tube"), remark=remark)
    gap = show(ring - cop, "length", "mm", 1)
    not_met = f"not met: above the ring the balloon comes nowhere nearer the cop than the traveller, {gap} at full cop"
    cop_kind = Kind(key="cop", name="Cop", quantity="length", unit="mm", measured="balloon's radius")
    nose = Against(value=inside.balloon_at_cop, limit=inside.cop, scale=ring - cop, ceiling=False)
    known = bool(np.isfinite(inside.balloon_at_tube).any())
    remark = _enters(inside.balloon_at_cop - inside.cop)
    return tube, least_room(doff, cop_kind, DRAWN, nose, not_met=not_met if known else NO_BALLOON, remark=remark)


def _enters(gap: Array) -> str:
    count, looked = int(np.sum(gap < 0)), int(np.isfinite(gap).sum())
    if not count:
        return ""
    return f"At {count} of {looked} places the yarn rubs there; forces given are those of a free balloon."
