"""The room between the inside of the balloon and what stands in it: the tube with its tip, and the cop's nose."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ringwright.judgement.batch import spread
from ringwright.mill.frame import Frame
from ringwright.physics.cop import profile, tube_diameter
from ringwright.physics.position import Threads
from ringwright.physics.real import Array
from ringwright.setting.doff import Doff
from ringwright.setting.places import Counts
from ringwright.setting.problem import cop_shape

__all__ = ["Inside", "inside_of", "tip_height"]


Known = npt.NDArray[np.bool_]
ROUNDING = 1e-7
"""Length [m] by which two distances must differ to count as different."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Inside:
    """Distances across, at right angles to the spindle [m], each (places of the doff,); nan where not looked."""

    balloon_at_tube: Array
    """Radius of the balloon where it comes nearest the tube."""
    tube: Array
    """Radius of the tube there."""
    tube_height: Array
    """Height there above the ring rail's lowest place."""
    balloon_at_cop: Array
    """Radius of the balloon nearest the wound cop above the ring; nan if nowhere nearer than at the ring."""
    cop: Array


def tip_height(frame: Frame) -> float:
    """Height of the tube's tip above the ring rail's lowest place [m]."""
    return frame.tube.length - frame.tube.bare_bottom


def inside_of(doff: Doff, threads: Threads, at: Counts) -> Inside:
    """Measure the inside of the balloons (k, n) of the n places ``at`` of the doff."""
    places, frame, shape = doff.places.take(at), doff.choice.frame, cop_shape(doff.choice.frame)
    heights = places.guide_height - threads.depth
    wound = (heights > places.foot_height) & (heights < places.foot_height + shape.chase)
    tip = tip_height(frame)
    with_tip, radii = _with_tip(heights, threads.radius, places.guide_height, tip)
    bare = (with_tip <= tip) & (with_tip >= places.foot_height + shape.chase)
    tubes = tube_diameter(shape, with_tip) / 2
    row, known = _nearest(np.where(bare, radii - tubes, np.nan))
    cops = profile(shape, places.foot_height, heights) / 2
    # The yarn at the traveller is as near as the ring is to the cop: that is the frame's, not the balloon's.
    at_ring = frame.ring.diameter / 2 - places.winding_diameter / 2
    gap = threads.radius - cops
    cop_row, near = _nearest(np.where(wound & (gap < at_ring - ROUNDING), gap, np.nan))
    column = np.arange(len(at))
    count = len(doff.places)

    def put(values: Array, rows: Counts, there: Known) -> Array:
        return spread(np.where(there, values[rows, column], np.nan), at, count)

    return Inside(
        balloon_at_tube=put(radii, row, known),
        tube=put(tubes, row, known),
        tube_height=put(with_tip, row, known),
        balloon_at_cop=put(threads.radius, cop_row, near),
        cop=put(cops, cop_row, near),
    )


def _with_tip(heights: Array, radii: Array, guide: Array, tip: float) -> tuple[Array, Array]:
    """Add to the points of each balloon (k, n) the one beside the tube's tip; nan where the balloon is not there."""
    beside = np.array(
        [
            np.interp(top - tip, top - line, radius, left=np.nan, right=np.nan)
            for top, line, radius in zip(guide, heights.T, radii.T, strict=True)
        ]
    )
    return np.vstack((heights, np.full(heights.shape[1], tip))), np.vstack((radii, beside))


def _nearest(gaps: Array) -> tuple[Counts, Known]:
    """Give the row of the least gap in each column, and whether there is one."""
    known: Known = np.asarray(np.isfinite(gaps).any(axis=0), dtype=np.bool_)
    return np.argmin(np.where(np.isnan(gaps), np.inf, gaps), axis=0), known
