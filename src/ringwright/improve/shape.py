"""The limits that no speed mends: steady balloon, room to the separator, to the cop and to the tube's tip."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ringwright.judgement.batch import threads_at
from ringwright.judgement.inside import inside_of
from ringwright.judgement.room import Place, place_of
from ringwright.mill import Limit
from ringwright.physics.outcome import Outcome
from ringwright.refusal import Fault, Refusal
from ringwright.setting.doff import Doff
from ringwright.units import show

__all__ = ["Breach", "refuse_unsteady", "shape_breaches"]

STROKES_DRAWN = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """A limit of the balloon's shape that is passed: its name, by how much [m], and where it is passed most."""

    key: str
    name: str
    by: float
    place: Place

    @property
    def words(self) -> str:
        """Say what is passed, where, and that no speed mends it."""
        return (
            f"{self.name}: passed by {show(self.by, 'length', 'mm', 1)} at {self.place.words}. "
            "No speed mends this: the balloon's shape does not depend on the speed."
        )


def refuse_unsteady(doff: Doff) -> None:
    """Raise Refusal if a place of the doff has no steady balloon, as no speed gives it one."""
    without = np.flatnonzero(doff.forces.outcome != Outcome.STEADY)
    if not without.size:
        return
    word = Outcome(int(doff.forces.outcome[without[0]])).word
    first = place_of(doff, int(without[0]))
    choice = doff.choice
    got = f"without a steady balloon at {without.size} of {len(doff.places)} places ({word}, first at {first.words})"
    mend = (
        "No speed mends this, because the balloon's shape does not depend on the speed: "
        "take a heavier traveller, or move guide or control ring."
    )
    raise Refusal(
        Fault(
            where=f"the doff of {choice.frame.name} with {choice.yarn.name}, traveller "
            f"{show(choice.traveller.mass, 'mass', 'mg')}, ring friction {choice.frame.ring.friction:g},",
            got=got,
            wants="steady throughout",
            mend=mend,
        )
    )


def shape_breaches(doff: Doff, limits: Mapping[str, Limit]) -> tuple[Breach, ...]:
    """Give the limits of shape that a steady doff passes, at the places solved; the inside at ten strokes' ends."""
    row, forces = doff.places_per_stroke, doff.forces
    strokes = np.unique(np.round(np.linspace(0, len(doff.places) // row - 1, STROKES_DRAWN)).astype(np.int_))
    top = int(np.argmax(doff.places.ring_height[:row]))
    at = np.sort(np.concatenate((strokes * row, strokes * row + top)))
    inside = inside_of(doff, threads_at(doff, at), at)
    stated = limits.get("separator_room")
    least = 0.0 if stated is None else stated.value
    outside = "Separator" if doff.choice.frame.separators.fitted else "Neighbour"
    rooms = (
        ("separator", f"{outside}, least room {show(least, 'length', 'mm')}", forces.separator_room - least),
        ("tube", "Tube and its tip", inside.balloon_at_tube - inside.tube),
        ("cop", "Cop", np.fmin(forces.neck_room, inside.balloon_at_cop - inside.cop)),
    )
    found = []
    for key, name, room in rooms:
        if np.isfinite(room).any() and float(np.nanmin(room)) < 0:
            worst = int(np.nanargmin(room))
            found.append(Breach(key=key, name=name, by=float(-room[worst]), place=place_of(doff, worst)))
    return tuple(found)
