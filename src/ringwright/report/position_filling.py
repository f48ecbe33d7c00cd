"""Fill the drawing of one spinning position from a solved doff: which number goes where."""

from __future__ import annotations

from typing import Any

import numpy as np

from ringwright.mill import Roving, origin_of
from ringwright.physics import threads
from ringwright.physics.cop import CopShape, profile
from ringwright.report.number import Number, Origin
from ringwright.report.position_inputs import (
    Balloon,
    Callout,
    ControlRing,
    Drafting,
    Height,
    Package,
    PositionFigure,
    Separators,
)
from ringwright.setting.doff import Doff
from ringwright.setting.problem import cop_shape, positions

__all__ = ["drawn_place", "mill_number", "position_figure"]

EARLIER = (0.2, 0.4, 0.6, 0.8)


def mill_number(entry: Any, key: str, unit: str, **more: Any) -> Number:  # noqa: ANN401 - any table of the mill
    """Give a value of the mill at a dotted key, with the origin that the mill states for it."""
    value: Any = entry
    for part in key.split("."):
        value = getattr(value, part)
    return Number(value=float(value), unit=unit, origin=Origin(origin_of(entry, key)[0]), **more)


def drawn_place(doff: Doff) -> int:
    """Choose the place that the card draws: the foot of the stroke half-way through the doff."""
    strokes = len(doff.places) // doff.places_per_stroke
    return (strokes // 2) * doff.places_per_stroke


def position_figure(doff: Doff, roving: Roving, index: int) -> PositionFigure:
    """Fill the drawing for the place with this number."""
    frame, places, forces = doff.choice.frame, doff.places, doff.forces
    guide = doff.problem.guide_rail
    last = guide.height + guide.climb
    part = "foot" if places.phase[index] == 0.0 else "part"
    return PositionFigure(
        moment=f"Minute {places.time[index] / 60:.0f}: {part} of a stroke.",
        ring_diameter=frame.ring.diameter,
        ring_height=float(places.ring_height[index]),
        guide_height=float(places.guide_height[index]),
        other_guide_height=last + guide.stroke if guide.climb > 0 else None,
        winding_diameter=float(places.winding_diameter[index]),
        winding_tension=float(np.nan_to_num(forces.winding_tension[index])),
        triangle_tension=float(np.nan_to_num(forces.triangle_tension[index])),
        wharve_diameter=frame.spindle.wharve_diameter,
        balloon=_balloon(doff, index),
        package=_package(doff, index),
        drafting=Drafting(
            front_diameter=frame.drafting.front_roller_diameter,
            middle_diameter=frame.drafting.middle_roller_diameter,
            back_diameter=frame.drafting.back_roller_diameter,
            nip_height=frame.guide.nip_height,
            nip_offset=frame.guide.nip_offset,
        ),
        control_ring=_control_ring(doff, index),
        separators=Separators(gauge=frame.gauge, thickness=frame.separators.thickness)
        if frame.separators.fitted
        else None,
        heights=_heights(doff),
        callouts=_callouts(doff, roving, index),
    )


def _balloon(doff: Doff, index: int) -> Balloon | None:
    yarn = threads(positions(doff.choice, doff.places.take(np.array([index]))), points=72)
    if np.isnan(yarn.radius).any():
        return None
    return Balloon(
        depth=yarn.depth[:, 0].tolist(),
        radius=yarn.radius[:, 0].tolist(),
        azimuth=(yarn.azimuth[:, 0] - yarn.azimuth[-1, 0]).tolist(),
        tension=yarn.tension[:, 0].tolist(),
    )


def _package(doff: Doff, index: int) -> Package:
    frame, shape = doff.choice.frame, cop_shape(doff.choice.frame)
    foot = float(doff.places.foot_height[index])
    return Package(
        tube_foot=-frame.tube.bare_bottom,
        tube_length=frame.tube.length,
        tube_bottom_diameter=frame.tube.bottom_diameter,
        tube_top_diameter=frame.tube.top_diameter,
        cop=_outline(shape, foot),
        earlier_cops=[_outline(shape, foot * share) for share in EARLIER] if foot > 0.02 else [],
    )


def _outline(shape: CopShape, foot: float) -> list[tuple[float, float]]:
    """Give the cop's outline as (height, radius), with its corners among the points."""
    corners = [0.0, min(shape.base_height, foot), foot, foot + shape.chase]
    heights = np.unique(np.concatenate([np.linspace(0.0, foot + shape.chase, 25), corners]))
    return [(float(z), float(profile(shape, np.array([foot]), np.array([z]))[0]) / 2) for z in heights]


def _control_ring(doff: Doff, index: int) -> ControlRing | None:
    ring, height = doff.choice.frame.control_ring, float(doff.places.control_ring_height[index])
    return None if ring is None or np.isnan(height) else ControlRing(diameter=ring.diameter, height=height)


def _heights(doff: Doff) -> list[Height]:
    frame, guide = doff.choice.frame, doff.problem.guide_rail
    tip = frame.tube.length - frame.tube.bare_bottom
    rows = [Height(name="tube tip", number=Number(value=tip, unit="mm", origin=Origin.COMPUTED))]
    rows.append(Height(name="lappet, start", number=mill_number(frame, "guide.height", "mm")))
    if guide.climb > 0:
        end = guide.height + guide.climb + guide.stroke
        rows.append(Height(name="lappet, end", number=Number(value=end, unit="mm", origin=Origin.COMPUTED)))
    if frame.control_ring is not None and doff.problem.control_ring_rail is not None:
        rows.insert(0, Height(name="control ring, start", number=mill_number(frame, "control_ring.height", "mm")))
    return rows


def _callouts(doff: Doff, roving: Roving, index: int) -> list[Callout]:
    frame, forces = doff.choice.frame, doff.forces
    rows = [
        Callout(part="creel", name="Roving", number=mill_number(roving, "count", "hank")),
        Callout(
            part="drafting", name="Break draft", number=mill_number(frame, "drafting.break_draft", "times", step=0.01)
        ),
        Callout(part="ring", name="Ring", number=mill_number(frame, "ring.diameter", "mm"), note="across"),
        Callout(
            part="wharve", name="Wharve", number=mill_number(frame, "spindle.wharve_diameter", "mm"), note="across"
        ),
        Callout(part="lappet", name="Lappet", number=mill_number(frame, "guide.lift", "mm"), note="travel"),
    ]
    if np.isfinite(forces.triangle_tension[index]):
        tension = Number(value=float(forces.triangle_tension[index]), unit="cN", origin=Origin.COMPUTED)
        rows.append(Callout(part="triangle", name="Triangle", number=tension, note="tension"))
    if frame.separators.fitted:
        rows.append(
            Callout(part="separators", name="Separators", number=mill_number(frame, "gauge", "mm"), note="gauge")
        )
    if _control_ring(doff, index) is not None:
        number = mill_number(frame, "control_ring.diameter", "mm")
        rows.append(Callout(part="control ring", name="Control ring", number=number, note="across"))
    return rows
