"""Random spinning positions such as a mill might set, and some that no mill would."""

from __future__ import annotations

import numpy as np

from ringwright.physics import Positions

# ISO 3, series R20 (from memory), the travellers from 10 to 250 mg.
PREFERRED = "10 11.2 12.5 14 16 18 20 22.4 25 28 31.5 35.5 40 45 50 56 63 71 80 90 100 112 125 140 160 180 200 224 250"
SERIES = np.array([float(mass) for mass in PREFERRED.split()])
MG, MM, TEX, RPM = 1e-6, 1e-3, 1e-6, 2 * np.pi / 60


def plausible(count: int, seed: int) -> Positions:
    """Draw positions: 5 to 60 tex, rings 36 to 60 mm, heights 100 to 300 mm, 6,000 to 25,000 rpm, any traveller.

    A third have a control ring, half take account of feed and gravity, a tenth have a fixed tension ratio.
    """
    draw = np.random.default_rng(seed)
    ring = draw.uniform(36, 60, count)
    winding = draw.uniform(0.4, 0.92, count) * ring
    height = draw.uniform(100, 300, count)
    ringed = draw.random(count) < 1 / 3
    control = np.maximum(draw.uniform(0.9, 1.4, count) * ring, 1.02 * winding)
    small_terms = draw.random(count) < 0.5
    return Positions(
        yarn_linear_density=np.exp(draw.uniform(np.log(5), np.log(60), count)) * TEX,
        ring_diameter=ring * MM,
        balloon_height=height * MM,
        traveller_speed=draw.uniform(6000, 25000, count) * RPM,
        traveller_mass=draw.choice(SERIES, count) * MG,
        winding_diameter=winding * MM,
        ring_traveller_friction=draw.uniform(0.06, 0.16, count),
        yarn_traveller_friction=draw.uniform(0.1, 0.5, count),
        fixed_tension_ratio=np.where(draw.random(count) < 0.1, draw.uniform(1.2, 1.8, count), 0.0),
        drag_coefficient=draw.uniform(0.5, 1.5, count),
        air_density=draw.uniform(1.0, 1.25, count),
        yarn_density=draw.uniform(700, 1100, count),
        feed_speed=np.where(small_terms, draw.uniform(0.1, 0.6, count), 0.0),
        gravity=np.where(small_terms, 9.81, 0.0),
        control_ring_diameter=np.where(ringed, control, 0.0) * MM,
        control_ring_depth=np.where(ringed, draw.uniform(0.3, 0.85, count) * height, 0.0) * MM,
        control_ring_friction=np.where(ringed, draw.uniform(0.05, 0.35, count), 0.0),
        gauge=np.where(draw.random(count) < 0.5, draw.uniform(1.5, 1.9, count) * ring, np.nan) * MM,
    )
