"""A solved doff run at another course of speeds, by similarity and without a new solution."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ringwright.improve.drive import SpeedCourse
from ringwright.physics.delivery import Course, speed_at, time_at
from ringwright.setting.doff import Doff

__all__ = ["respun"]


def respun(doff: Doff, course: SpeedCourse) -> Doff:
    """Give the doff at a course of spindle speeds: forces by the square of the speed's ratio, rubbing by its cube.

    Exact as far as the doff's model goes, which leaves feed and gravity out of the balloon. The solutions are kept as
    they were; the choice keeps the parts and the setting that were solved.
    """
    problem, places, forces = doff.problem, doff.places, doff.forces
    made = Course(course.shares, tuple(speed / (2 * np.pi * problem.twist) for speed in course.speeds))
    speed = speed_at(made, places.share)
    ratio = speed / places.yarn_speed
    pulls = {
        name: getattr(forces, name) * ratio**2
        for name in (
            "triangle_tension", "triangle_least", "triangle_most", "guide_tension", "ring_tension", "winding_tension",
            "control_ring_force", "ring_force",
        )
    }  # fmt: skip
    return replace(
        doff,
        problem=replace(problem, course=made),
        places=replace(
            places,
            time=time_at(made, places.share, problem.yarn_length),
            spindle_speed=places.spindle_speed * ratio,
            yarn_speed=speed,
            traveller_lag=places.traveller_lag * ratio,
        ),
        forces=replace(forces, **pulls, traveller_heat=forces.traveller_heat * ratio**3),
    )
