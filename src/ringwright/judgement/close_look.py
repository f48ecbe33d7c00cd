"""A close look at chosen places of a doff: the branch of steady balloons to its end, and the balloon's inside.

To follow a branch takes about a hundred times as long as to solve a place, so it is done at foot and top of some
strokes, and where the plain quantities of the whole doff are at their worst. Several doffs are looked at in one go,
because the physics is quickest with many positions at once. What the doff's own solutions tell is taken from them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ringwright.judgement.batch import Follow, in_one_go, spread, threads_at
from ringwright.judgement.inside import Inside, inside_of
from ringwright.physics.outcome import Outcome
from ringwright.physics.position import LimitMasses, limit_masses
from ringwright.physics.real import Array
from ringwright.setting.doff import Doff
from ringwright.setting.places import Counts

__all__ = ["CloseLook", "look_closely"]

STROKES_FOLLOWED = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseLook:
    """What was found at the places of one doff, each (places of the doff,); nan where not looked or not met."""

    fold: Array
    """Traveller mass at the fold [kg]; also at every place without a steady balloon that a fold stopped."""
    neck: Array
    lift_off: Array
    """Traveller mass at lift-off [kg]; also at every place without a steady balloon that a lift-off stopped."""
    lightest: Array
    """Traveller mass to which the branch was followed [kg]."""
    lost: int
    """Number of places at which the branch could not be followed to its end."""
    radial_force: Array
    """By which the traveller presses outwards on the ring [N]."""
    inside: Inside
    followed_at: npt.NDArray[np.bool_]
    """Where the branch was followed."""
    shapes_at: npt.NDArray[np.bool_]
    """Where the balloon's inside was measured."""


def look_closely(doffs: Sequence[Doff], follow: Follow = limit_masses) -> tuple[CloseLook, ...]:
    """Look closely at one doff, or at several in one go; ``follow`` gives the limits of positions."""
    worst = [_worst(doff) for doff in doffs]
    followed = [np.union1d(_ends(doff, STROKES_FOLLOWED), bad) for doff, bad in zip(doffs, worst, strict=True)]
    shaped = [np.union1d(_ends(doff, len(doff.places)), bad) for doff, bad in zip(doffs, worst, strict=True)]
    masses = in_one_go(follow, doffs, followed)
    looks = []
    for number, doff in enumerate(doffs):
        count, at, shapes = len(doff.places), followed[number], shaped[number]
        fold, lift_off = _with_stopped(doff, at, masses[number])
        looks.append(
            CloseLook(
                fold=fold,
                neck=spread(masses[number].neck, at, count),
                lift_off=lift_off,
                lightest=spread(masses[number].lightest, at, count),
                lost=int(np.sum(~masses[number].followed)),
                radial_force=spread(doff.solutions.ring_force_radial[at], at, count),
                inside=inside_of(doff, threads_at(doff, shapes), shapes),
                followed_at=np.isin(np.arange(count), at),
                shapes_at=np.isin(np.arange(count), shapes),
            )
        )
    return tuple(looks)


def _with_stopped(doff: Doff, at: Counts, masses: LimitMasses) -> tuple[Array, Array]:
    """Give the masses at fold and lift-off, with those that stopped the places without a steady balloon."""
    both = []
    for limit, outcome in ((masses.fold, Outcome.FOLD), (masses.lift_off, Outcome.LIFT_OFF)):
        stopped = doff.solutions.outcome == outcome
        both.append(np.where(stopped, doff.solutions.stopped_at_mass, spread(limit, at, len(doff.places))))
    return both[0], both[1]


def _ends(doff: Doff, strokes: int) -> Counts:
    """Give the foot and the top of so many strokes, evenly spread over those sampled."""
    row = doff.places_per_stroke
    sampled = len(doff.places) // row
    chosen = np.unique(np.round(np.linspace(0, sampled - 1, min(strokes, sampled))).astype(np.int_))
    top = int(np.argmax(doff.places.ring_height[:row]))
    return np.sort(np.concatenate((chosen * row, chosen * row + top)))


def _worst(doff: Doff) -> Counts:
    """Give the places where a plain quantity of the doff is at its worst."""
    forces = doff.forces
    least_first = (-forces.largest_radius, forces.winding_tension, forces.ring_force, -doff.places.balloon_height)
    known = [quantity for quantity in least_first if np.isfinite(quantity).any()]
    return np.unique(np.array([np.nanargmin(quantity) for quantity in known], dtype=np.int_))
