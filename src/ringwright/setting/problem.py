"""From the mill to the physics: which number goes where. Everything here is SI on both sides."""

from __future__ import annotations

import numpy as np

from ringwright.mill.frame import Frame
from ringwright.mill.setting import Setting
from ringwright.mill.yarn import Yarn
from ringwright.physics.cop import CopShape
from ringwright.physics.delivery import Course
from ringwright.physics.position import Positions
from ringwright.physics.rails import Rail, fixed
from ringwright.physics.real import Array
from ringwright.physics.twist import twist
from ringwright.setting.choice import Choice
from ringwright.setting.places import DoffProblem, Places

__all__ = ["cop_shape", "delivery_course", "doff_problem", "positions", "wall"]


def doff_problem(choice: Choice) -> DoffProblem:
    """Give what the layout of the doff needs; a fixed guide stays at its height at the start of the doff."""
    frame, yarn, build, ring = choice.frame, choice.yarn, choice.frame.build, choice.frame.control_ring
    guide = Rail(height=frame.guide.height, climb=frame.guide.lift, stroke=frame.guide.stroke)
    return DoffProblem(
        shape=cop_shape(frame),
        ring_rail=Rail(height=0.0, climb=build.lift - build.chase, stroke=build.chase),
        guide_rail=fixed(guide) if choice.setting.guide_fixed else guide,
        control_ring_rail=None if ring is None else Rail(height=ring.height, climb=ring.lift, stroke=ring.stroke),
        course=delivery_course(choice.setting, yarn),
        twist=twist(yarn.twist_multiplier, yarn.count),
        linear_density=yarn.count,
        package_density=build.package_density,
        yarn_per_stroke=build.yarn_per_stroke,
        rise_share=build.rise_share,
    )


def cop_shape(frame: Frame) -> CopShape:
    """Give the shape of the frame's cop; the tube's taper is read off at the rail's lowest place and at its highest."""
    tube, build = frame.tube, frame.build
    taper = (tube.top_diameter - tube.bottom_diameter) / tube.length
    return CopShape(
        tube_foot_diameter=tube.bottom_diameter + taper * tube.bare_bottom,
        tube_top_diameter=tube.bottom_diameter + taper * (tube.bare_bottom + build.lift),
        cop_diameter=build.cop_diameter,
        chase=build.chase,
        base_height=build.base_height,
        lift=build.lift,
    )


def delivery_course(setting: Setting, yarn: Yarn) -> Course:
    """Give the speed of the yarn as wound over the doff: spindle turns per second over the yarn's turns per metre.

    The spindle runs from its start speed through its base speed, half-way through the base, to its main speed at the
    end of the base; it holds that until the tip, and there comes down to its tip speed at the end of the doff.
    """
    turns_per_metre = twist(yarn.twist_multiplier, yarn.count)
    speeds = (setting.start_speed, setting.base_speed, setting.main_speed, setting.main_speed, setting.tip_speed)
    shares = (0.0, setting.base_until / 2, setting.base_until, setting.tip_from, 1.0)
    return Course(shares, tuple(speed / (2 * np.pi * turns_per_metre) for speed in speeds))


def wall(frame: Frame) -> float:
    """Give the radius [m] at which a balloon meets the plate's face, or without plates its neighbour's room."""
    return (frame.gauge - (frame.separators.thickness if frame.separators.fitted else 0.0)) / 2


def positions(choice: Choice, places: Places) -> Positions:
    """Give the spinning positions of a doff's places (n,).

    Feed speed and gravity are left out of the balloon (they move its tension by some 0.03 % and 0.01 % at 20 tex and
    16 000 rpm). A control ring that is not between ring and guide touches nothing, and is left out at that place.
    """
    frame, yarn, ring = choice.frame, choice.yarn, choice.frame.control_ring
    depth = places.guide_height - places.control_ring_height
    between = (depth > 0) & (depth < places.balloon_height)

    def same(value: float) -> Array:
        return np.full(len(places), value)

    return Positions(
        yarn_linear_density=same(yarn.count),
        ring_diameter=same(frame.ring.diameter),
        balloon_height=places.balloon_height,
        traveller_speed=places.traveller_speed,
        traveller_mass=same(choice.traveller.mass),
        winding_diameter=places.winding_diameter,
        ring_traveller_friction=same(frame.ring.friction),
        yarn_traveller_friction=same(yarn.traveller_friction),
        fixed_tension_ratio=same(0.0),
        drag_coefficient=same(yarn.drag_coefficient),
        air_density=same(choice.air_density),
        yarn_density=same(yarn.density),
        feed_speed=same(0.0),
        gravity=same(0.0),
        control_ring_diameter=np.where(between, 0.0 if ring is None else ring.diameter, 0.0),
        control_ring_depth=np.where(between, depth, 0.0),
        control_ring_friction=np.where(between, 0.0 if ring is None else ring.friction, 0.0),
        gauge=same(2 * wall(frame)),
    )
