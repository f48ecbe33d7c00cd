"""Fit ring friction, yarn friction and drag of a frame and yarn to tension readings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from itertools import product

import numpy as np

from ringwright.physics.position import Positions, solve
from ringwright.physics.real import Array
from ringwright.physics.spinning_angle import angle_to_vertical, triangle_tension
from ringwright.refusal import Fault, Refusal, nearest
from ringwright.setting.choice import Choice
from ringwright.setting.places import Places
from ringwright.setting.problem import doff_problem, positions
from ringwright.uncertainty.fitting import Fit, fit
from ringwright.uncertainty.readings import Reading, places_of
from ringwright.units import show

__all__ = ["PARAMETERS", "Calibration", "Parameter", "calibrate", "predictor"]

SLACK = 0.1


@dataclass(frozen=True, slots=True)
class Parameter:
    """One that can be fitted: the field of the physics, the key in the mill's file, and its range."""

    name: str
    field: str
    key: str
    low: float
    high: float


PARAMETERS = (
    Parameter("ring friction", "ring_traveller_friction", "ring.friction", 0.02, 0.45),
    Parameter("yarn friction", "yarn_traveller_friction", "traveller_friction", 0.03, 0.75),
    Parameter("drag", "drag_coefficient", "drag_coefficient", 0.25, 2.8),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """A fit with the readings that it came from."""

    choice: Choice
    sought: tuple[Parameter, ...]
    held: dict[str, float]
    before: Array
    """Values of the mill's file that the fit began from."""
    fit: Fit
    readings: tuple[Reading, ...]
    places: Places


def calibrate(choice: Choice, readings: Sequence[Reading], hold: Sequence[str] = ()) -> Calibration:
    """Fit all parameters but those held (by name) to readings of a frame and yarn.

    Raises Refusal for unknown names, for no more readings than parameters, and with every reading that the model
    cannot give for any values in their range. A guide's friction is not fitted: readings at the triangle rest on it.
    """
    known = {p.name: p for p in PARAMETERS}
    faults = [
        Fault(
            where="a parameter to hold", got=f'"{name}"', wants=f"one of {', '.join(known)}", mend=nearest(name, known)
        )
        for name in hold
        if name not in known
    ]
    sought = tuple(p for p in PARAMETERS if p.name not in hold)
    if not faults and not sought:
        faults = [Fault(where="the parameters to fit", got="none", wants="at least one", mend="Hold fewer.")]
    if faults:
        raise Refusal(faults)
    places = places_of(doff_problem(choice), readings)
    predict, before = predictor(choice, readings, places, sought)
    measured = np.array([reading.tension for reading in readings])
    bounds = np.array([(p.low, p.high) for p in sought])
    if len(readings) > len(sought):
        _within_reach(predict, readings, bounds)
    found = fit(predict, measured, before, bounds, [p.name for p in sought])
    stays = {p.name: float(getattr(positions(choice, places), p.field)[0]) for p in PARAMETERS if p.name in hold}
    return Calibration(
        choice=choice, sought=sought, held=stays, before=before, fit=found, readings=tuple(readings), places=places
    )


def predictor(
    choice: Choice, readings: Sequence[Reading], places: Places, sought: Sequence[Parameter]
) -> tuple[Callable[[Array], Array], Array]:
    """Give the model of the readings, (k, p) values to (k, n) tensions [N], and the values of the mill's file (p,)."""
    given = _as_read(positions(choice, places), readings, places)
    count, frame = len(given), choice.frame
    lean = angle_to_vertical(frame.guide.nip_offset, frame.guide.nip_height - places.guide_height)
    at_triangle = np.array([reading.at == "triangle" for reading in readings])

    def predict(values: Array) -> Array:
        sets = len(values)
        columns = {field.name: np.tile(getattr(given, field.name), sets) for field in fields(Positions)}
        columns |= {p.field: np.repeat(values[:, i], count) for i, p in enumerate(sought)}
        solved = solve(Positions(**columns))
        guide = solved.guide_tension.reshape(sets, count)
        above = triangle_tension(guide, solved.guide_angle.reshape(sets, count), lean, frame.guide.friction).mean
        return np.where(at_triangle, above, guide)

    return predict, np.array([float(getattr(given, p.field)[0]) for p in sought])


def _as_read(given: Positions, readings: Sequence[Reading], places: Places) -> Positions:
    """Put in the traveller and the spindle's speed of each reading where they were not as set."""
    mass = np.array([r.traveller or m for r, m in zip(readings, given.traveller_mass, strict=True)])
    # At one place the traveller lags by a fixed share of the spindle's speed, so it follows that speed in proportion.
    ratio = np.array([(r.speed or s) / s for r, s in zip(readings, places.spindle_speed, strict=True)])
    return replace(given, traveller_mass=mass, traveller_speed=given.traveller_speed * ratio)


def _within_reach(predict: Callable[[Array], Array], readings: Sequence[Reading], bounds: Array) -> None:
    """Refuse readings well below or above all that the model gives on a grid over the ranges."""
    each = {1: 25, 2: 13}.get(len(bounds), 7)
    grid = [np.exp(np.linspace(np.log(low), np.log(high), each)) for low, high in bounds]
    found = predict(np.array(list(product(*grid))))
    low, high = np.fmin.reduce(found, axis=0), np.fmax.reduce(found, axis=0)
    low, high = low * (1 - SLACK), high * (1 + SLACK)  # the grid need not meet the very ends
    faults = []
    for reading, least, most in zip(readings, low, high, strict=True):
        if not np.isfinite(least):
            wants = "at a place where the model finds a steady balloon for some friction and drag in their ranges"
            faults.append(Fault(where=reading.where, got="out of the model's reach", wants=wants))
        elif not least <= reading.tension <= most:
            span = " to ".join(show(float(t), "force", "cN", 1) for t in (least, most))
            wants = f"within {span}, all that the model gives there for any friction and drag in their ranges"
            mend = "Look at the unit, the minute and whether it was read at guide or triangle."
            faults.append(
                Fault(
                    where=f"{reading.where}, tension", got=show(reading.tension, "force", "cN"), wants=wants, mend=mend
                )
            )
    if faults:
        raise Refusal(faults)
