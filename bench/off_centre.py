"""What a ring off centre does, over many positions and beyond the linear limit: the numbers of the page on it.

Run from the project's folder as ``python bench/off_centre.py``; takes some five minutes, prints, writes nothing.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np

from ringwright.physics import Positions
from ringwright.physics.motion import Manner, OffsetResponse, Offsets, motion_in_time, offset_response

DELIVERY = 0.31
TURNS = 40
SHARES = (0.5, 0.9, 1.2, 1.6, 2.0, 3.0, 5.0)


def plain(count: int) -> Positions:
    """Give 20 tex on a 40 mm ring at 16,000 rpm with 40 mg, 160 mm of balloon, at full cop, ``count`` times."""
    values = {
        "yarn_linear_density": 20e-6,
        "ring_diameter": 0.040,
        "balloon_height": 0.160,
        "traveller_speed": 16000 * 2 * np.pi / 60,
        "traveller_mass": 40e-6,
        "winding_diameter": 0.036,
        "ring_traveller_friction": 0.1,
        "yarn_traveller_friction": 0.3,
        "fixed_tension_ratio": 0.0,
        "drag_coefficient": 1.0,
        "air_density": 1.2,
        "yarn_density": 1 / 1.1e-3,
        "feed_speed": DELIVERY,
        "gravity": 0.0,
        "control_ring_diameter": 0.0,
        "control_ring_depth": 0.0,
        "control_ring_friction": 0.0,
        "gauge": float("nan"),
    }
    return Positions(**{name: np.full(count, value) for name, value in values.items()})


def with_control_ring(given: Positions, height: float) -> Positions:
    """Fit a control ring of 44 mm at 0.57 of the height."""
    count = len(given)
    return replace(
        given,
        balloon_height=np.full(count, height),
        control_ring_diameter=np.full(count, 0.044),
        control_ring_depth=np.full(count, 0.57 * height),
        control_ring_friction=np.full(count, 0.2),
    )


def survey() -> None:
    """Print how far the quasi-static estimate is off, and from where on the flow stops, over 108 positions."""
    cases = list(product((12.0, 20.0, 40.0), (2.0, 2.6), (0.018, 0.027, 0.036), (0.120, 0.160, 0.200)))
    tex, heavy, wound, height = (np.array(column) for column in zip(*cases, strict=True))
    given = replace(
        plain(len(cases)),
        yarn_linear_density=tex * 1e-6,
        traveller_mass=heavy * tex * 1e-6,
        winding_diameter=wound,
        balloon_height=height,
    )
    ringed = replace(
        with_control_ring(given, 0.2), balloon_height=height + 0.04, control_ring_depth=0.57 * (height + 0.04)
    )
    ratios, limits = [], []
    for positions in (given, ringed):
        answer = offset_response(positions)
        part = answer.ring
        kept = answer.steady
        ratios.append(np.abs(part.guide_tension / part.still_guide_tension)[kept])
        limits.append(answer.valid_below("ring")[kept] * 1e3)
    ratio, limit = np.concatenate(ratios), np.concatenate(limits)
    print(f"{ratio.size} steady positions, ring off centre, guide tension:")
    print(f"  linear over quasi-static: {ratio.min():.1f} to {ratio.max():.0f}, median {np.median(ratio):.0f}")
    print(f"  flow stops each turn above {limit.min():.2f} to {limit.max():.2f} mm, median {np.median(limit):.2f} mm")


def beyond(name: str, position: Positions, stiffness: float) -> None:
    """Print what the motion in time does at offsets below and beyond the limit."""
    answer: OffsetResponse = offset_response(position, axial_stiffness=stiffness)
    limit = float(answer.valid_below("ring")[0])
    swing = float(np.abs(answer.ring.guide_tension[0]))
    print(f"{name}: the limit is {limit * 1e3:.3f} mm; tensions at the guide in cN")
    print(
        "  of limit   steady  linear least..most  in time least..most   mean  least flow/delivery  below a tenth of it"
    )
    for share in SHARES:
        manner = Manner(steps_per_turn=192, axial_stiffness=stiffness)
        seen = motion_in_time(position, DELIVERY, TURNS, offsets=Offsets(ring=share * limit), manner=manner)
        last, steady = seen.last(8), seen.guide_tension[0]
        low, high = (100 * (steady + sign * swing * share * limit) for sign in (-1, 1))
        tension, flow = 100 * last.guide_tension, last.yarn_flow / DELIVERY
        print(
            f"  {share:8.1f} {100 * steady:8.1f}  {low:9.1f}..{high:5.1f}    {tension.min():9.1f}..{tension.max():5.1f}"
            f"  {tension.mean():7.1f} {flow.min():12.2f} {100 * np.mean(flow < 0.1):17.0f} %  {seen.stopped}"
        )


def main() -> None:
    """Print both."""
    survey()
    short = replace(plain(1), balloon_height=np.full(1, 0.120))
    tube = replace(plain(1), winding_diameter=np.full(1, 0.018))
    ringed = with_control_ring(plain(1), 0.220)
    beyond("full cop, 120 mm, no control ring", short, np.inf)
    beyond("empty tube, 160 mm, no control ring", tube, np.inf)
    beyond("full cop, 220 mm, control ring", ringed, np.inf)
    ringed_tube = replace(ringed, winding_diameter=np.full(1, 0.018))
    beyond("empty tube, 220 mm, control ring", ringed_tube, np.inf)
    beyond("the same, yarn that stretches (EA 80 N, assumed)", ringed_tube, 80.0)


if __name__ == "__main__":
    main()
