"""How far the solved balloon stays from the plate, and how far a loose end and a neighbour's balloon are apart."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.mill import Mill
from ringwright.physics.position import threads
from ringwright.setting.doff import Doff, solve_doff
from ringwright.setting.places import Sampling
from ringwright.setting.problem import positions, wall

__all__ = ["Clearance", "clearance_of"]

SAMPLING = Sampling(strokes=24, places=9)
POINTS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance:
    """Room about the widest balloon of the doff, all SI; nan where no place has a steady balloon.

    ``radius`` its largest radius, ``minute_time`` when, ``plate_room`` from there to the plate's face, ``between`` from
    balloon to balloon without the plate when both are turned to each other, ``loose_end`` the yarn from guide to
    traveller, ``to_neighbour`` from the spindle's axis to the neighbour's balloon.
    """

    doff: Doff
    radius: float
    minute_time: float
    plate_room: float
    between: float
    loose_end: float
    to_neighbour: float


def clearance_of(mill: Mill, frame_name: str, yarn_name: str) -> Clearance:
    """Solve the doff coarsely and give the room about its widest balloon; refuses as ``solve_doff``."""
    doff = solve_doff(mill, frame_name, yarn_name, sampling=SAMPLING)
    frame, radii = doff.choice.frame, doff.forces.largest_radius
    if not np.isfinite(radii).any():
        nothing = float("nan")
        return Clearance(doff=doff, radius=nothing, minute_time=nothing, plate_room=nothing, between=nothing,
                         loose_end=nothing, to_neighbour=nothing)  # fmt: skip
    place = int(np.nanargmax(radii))
    widest = float(radii[place])
    return Clearance(
        doff=doff,
        radius=widest,
        minute_time=float(doff.places.time[place]),
        plate_room=wall(frame) - widest,
        between=frame.gauge - 2 * widest,
        loose_end=_yarn_length(doff, place),
        to_neighbour=frame.gauge - widest,
    )


def _yarn_length(doff: Doff, place: int) -> float:
    """Give the length of yarn from guide to traveller [m] at one place, along its points."""
    line = threads(positions(doff.choice, doff.places.take(np.array([place]))), POINTS)
    down, radius, turn = line.depth[:, 0], line.radius[:, 0], line.azimuth[:, 0]
    steps = np.diff(down) ** 2 + np.diff(radius) ** 2 + ((radius[1:] + radius[:-1]) / 2 * np.diff(turn)) ** 2
    return float(np.sqrt(steps).sum())
