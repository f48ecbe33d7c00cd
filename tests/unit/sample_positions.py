"""Single positions for tests, in SI, from plain keyword values."""

from __future__ import annotations

from math import pi

import numpy as np

from ringwright.physics import Positions

# 20 tex cotton on a 40 mm ring at 16,000 rpm, the full cop: a plain case far from every limit.
PLAIN = {
    "yarn_linear_density": 20e-6,
    "ring_diameter": 0.040,
    "balloon_height": 0.160,
    "traveller_speed": 16000 * 2 * pi / 60,
    "traveller_mass": 50e-6,
    "winding_diameter": 0.036,
    "ring_traveller_friction": 0.1,
    "yarn_traveller_friction": 0.3,
    "fixed_tension_ratio": 0.0,
    "drag_coefficient": 1.0,
    "air_density": 1.2,
    "yarn_density": 1 / 1.1e-3,
    "feed_speed": 0.0,
    "gravity": 0.0,
    "control_ring_diameter": 0.0,
    "control_ring_depth": 0.0,
    "control_ring_friction": 0.0,
    "gauge": float("nan"),
}
WITH_CONTROL_RING = {
    "balloon_height": 0.220,
    "control_ring_diameter": 0.044,
    "control_ring_depth": 0.125,
    "control_ring_friction": 0.2,
}


def positions(**changes) -> Positions:
    """The plain position with some values changed; a value may be an array, all of one length."""
    values = {**PLAIN, **changes}
    count = max(np.size(value) for value in values.values())
    return Positions(**{name: np.full(count, 1.0) * value for name, value in values.items()})
