"""The pointer's target for a frame and yarn: where the eyelet's inner edge is to stand, over the doff."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ringwright.centring.effect import Answering
from ringwright.centring.pointer import mean_bearing, pointer_inside
from ringwright.physics.position import solve
from ringwright.physics.spinning_angle import angle_to_vertical
from ringwright.setting.problem import positions

__all__ = ["Target", "target_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """How far inside the eyelet's inner edge, on the front rollers' side, the pointer stands [m], over the doff.

    ``middle`` is the doff's middle value with its ``least`` and ``most``; nan without a steady balloon. ``bore`` and
    ``yarn_diameter`` [m] are what it was worked out from, ``lean`` [rad] the yarn's angle to the vertical above.
    """

    middle: float
    least: float
    most: float
    bore: float
    yarn_diameter: float
    lean: float


def target_of(answering: Answering) -> Target:
    """Give the target for a frame and yarn; Refusal if the yarn does not pass through the eyelet."""
    doff, choice = answering.doff, answering.choice
    guide, bore = choice.frame.guide, choice.frame.centring.eyelet_bore
    diameter = math.sqrt(4 * choice.yarn.count / (math.pi * choice.yarn.density))
    lean = angle_to_vertical(guide.nip_offset, guide.nip_height - doff.places.guide_height)
    angle = solve(positions(choice, doff.places), sweep=True).guide_angle
    ratio = doff.forces.triangle_tension / doff.forces.guide_tension
    there = np.isfinite(angle) & np.isfinite(ratio)
    inside = pointer_inside(bore, diameter, mean_bearing(lean[there], angle[there], ratio[there]))
    found = (float(np.median(inside)), float(inside.min()), float(inside.max())) if there.any() else (math.nan,) * 3
    return Target(
        middle=found[0], least=found[1], most=found[2], bore=bore, yarn_diameter=diameter, lean=float(np.median(lean))
    )
