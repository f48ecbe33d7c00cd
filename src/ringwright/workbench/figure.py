"""Fill the drawing of the bench from one solved place; quick, as it is drawn anew for each move of a slider."""

from __future__ import annotations

import numpy as np

from ringwright.physics.cop import profile
from ringwright.report.position_inputs import Balloon, ControlRing, Drafting, Package, PositionFigure, Separators
from ringwright.setting.choice import Choice
from ringwright.setting.problem import cop_shape
from ringwright.workbench.place import Place
from ringwright.workbench.solving import Line

__all__ = ["balloon_of", "place_figure"]

EARLIER = (0.2, 0.4, 0.6, 0.8)


def place_figure(place: Place) -> PositionFigure:
    """Fill the drawing for a solved place; without a steady balloon it has none."""
    here = place.here
    frame, places, forces = here.choice.frame, here.places, here.forces
    ring, control_height = frame.control_ring, float(places.control_ring_height[0])
    plates = Separators(gauge=frame.gauge, thickness=frame.separators.thickness)
    return PositionFigure(
        moment="",
        ring_diameter=frame.ring.diameter,
        ring_height=float(places.ring_height[0]),
        guide_height=float(places.guide_height[0]),
        other_guide_height=None,
        winding_diameter=float(places.winding_diameter[0]),
        winding_tension=float(np.nan_to_num(forces.winding_tension[0])),
        triangle_tension=float(np.nan_to_num(forces.triangle_tension[0])),
        wharve_diameter=frame.spindle.wharve_diameter,
        balloon=None if place.line is None else balloon_of(place.line),
        package=_package(here.choice, float(places.foot_height[0])),
        drafting=Drafting(
            front_diameter=frame.drafting.front_roller_diameter,
            middle_diameter=frame.drafting.middle_roller_diameter,
            back_diameter=frame.drafting.back_roller_diameter,
            nip_height=frame.guide.nip_height,
            nip_offset=frame.guide.nip_offset,
        ),
        control_ring=None if ring is None else ControlRing(diameter=ring.diameter, height=control_height),
        separators=plates if frame.separators.fitted else None,
        heights=(),
        callouts=(),
    )


def balloon_of(line: Line) -> Balloon:
    """Give the traced yarn as the drawing takes it."""
    return Balloon(
        depth=line.depth.tolist(),
        radius=line.radius.tolist(),
        azimuth=line.azimuth.tolist(),
        tension=line.tension.tolist(),
    )


def _package(choice: Choice, foot: float) -> Package:
    tube, shape = choice.frame.tube, cop_shape(choice.frame)
    feet = np.array([foot, *(foot * share for share in EARLIER)] if foot > 0.01 else [foot])
    heights = np.unique(
        np.concatenate([np.linspace(0.0, foot + shape.chase, 13), [min(shape.base_height, foot), foot]])
    )
    outlines = profile(shape, feet[:, None], heights[None, :]) / 2
    runs = [
        [(float(z), float(r)) for z, r in zip(heights, row, strict=True) if z <= end + shape.chase]
        for row, end in zip(outlines, feet, strict=True)
    ]
    return Package(
        tube_foot=-tube.bare_bottom,
        tube_length=tube.length,
        tube_bottom_diameter=tube.bottom_diameter,
        tube_top_diameter=tube.top_diameter,
        cop=runs[0],
        earlier_cops=runs[1:],
    )
