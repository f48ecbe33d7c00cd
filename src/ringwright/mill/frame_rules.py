"""What must hold between the parts of a ring frame: plain geometry, and one trade rule, the room beside the cop."""

from __future__ import annotations

from ringwright.mill.rule import Rule

__all__ = ["FRAME_RULES"]

COP_ROOM = 2e-3
"""Least difference of ring and cop diameter; common practice leaves 3 mm to 4 mm, no source."""

FRAME_RULES = (
    Rule(
        "spindles", "at most", ("spindles", "sides"), lambda spindles, sides: spindles - spindles % sides,
        "a whole number of spindles on each side", ("ratio", "1"),
    ),
    Rule(
        "gauge", "more than", ("ring.diameter", "ring.flange"), lambda ring, flange: ring + 2 * flange,
        "the ring with its flange on both sides",
    ),
    Rule("tube.bottom_diameter", "less than", ("ring.diameter",), lambda ring: ring, "the ring's diameter"),
    Rule("tube.top_diameter", "at most", ("tube.bottom_diameter",), lambda foot: foot, "the tube's foot"),
    Rule(
        "build.cop_diameter", "at most", ("ring.diameter",), lambda ring: ring - COP_ROOM,
        "the ring's diameter less 2 mm, so that the traveller clears the cop",
    ),
    Rule("build.cop_diameter", "more than", ("tube.bottom_diameter",), lambda foot: foot, "the tube's foot"),
    Rule("build.chase", "less than", ("build.lift",), lambda lift: lift, "the lift"),
    Rule(
        "build.base_height", "at most", ("build.lift", "build.chase"), lambda lift, chase: lift - chase,
        "the lift less the chase, where the last stroke has its foot",
    ),
    Rule(
        "build.lift", "at most", ("tube.length", "tube.bare_bottom", "tube.bare_top"),
        lambda length, foot, tip: length - foot - tip, "the tube's length less what is left bare at both ends",
    ),
    Rule(
        "guide.height", "more than", ("tube.length", "tube.bare_bottom"), lambda length, foot: length - foot,
        "the height of the tube's tip above the ring rail's lowest place",
    ),
    Rule(
        "guide.height", "more than", ("build.lift", "guide.lift", "guide.stroke"),
        lambda lift, guide_lift, stroke: lift - guide_lift - stroke,
        "what keeps the guide above the ring to the last stroke",
    ),
    Rule("guide.stroke", "at most", ("build.chase",), lambda chase: chase, "the stroke of the ring rail"),
    Rule(
        "guide.nip_height", "more than", ("guide.height", "guide.lift", "guide.stroke"),
        lambda height, lift, stroke: height + lift + stroke, "the highest place of the thread guide",
    ),
    Rule("control_ring.diameter", "more than", ("build.cop_diameter",), lambda cop: cop, "the full cop's diameter"),
    Rule("control_ring.diameter", "less than", ("gauge",), lambda gauge: gauge, "the gauge"),
    Rule("control_ring.height", "less than", ("guide.height",), lambda guide: guide, "the height of the guide"),
    Rule(
        "control_ring.height", "more than", ("build.chase", "control_ring.stroke"),
        lambda chase, stroke: chase - stroke,
        "what keeps the control ring above the ring rail at the top of the first stroke",
    ),
    Rule(
        "control_ring.lift", "less than", ("guide.height", "guide.lift", "control_ring.height"),
        lambda guide, lift, height: guide + lift - height,
        "what keeps the control ring under the guide to the end of the doff",
    ),
    Rule(
        "control_ring.lift", "more than", ("build.lift", "control_ring.height", "control_ring.stroke"),
        lambda lift, height, stroke: lift - height - stroke,
        "what keeps the control ring above the ring rail at the top of the last stroke",
    ),
    Rule("ring.friction", "at least", ("ring.friction_low",), lambda low: low, "the lowest friction", ("ratio", "1")),
    Rule("ring.friction", "at most", ("ring.friction_high",), lambda top: top, "the highest friction", ("ratio", "1")),
)  # fmt: skip
