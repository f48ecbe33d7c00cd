"""What candidates can do, in closed form: production at the limits, and the least tension or heat at a production.

Speeds here are those of a drive that follows the envelope from stroke to stroke; a drive of few corners makes a little
less, which the refined answers tell.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ringwright.improve.tried import Tried
from ringwright.judgement.stated import HEAT, STRENGTH
from ringwright.physics.real import Array

__all__ = ["AGAINST", "Against", "least_at", "mean_speed"]

BISECTIONS = 40


@dataclass(frozen=True, slots=True)
class Against:
    """What production is weighed against: the key of a limit, and the power of the speed that it goes with."""

    key: str
    power: int


AGAINST = {"tension": Against(STRENGTH.key, 2), "heat": Against(HEAT.key, 3)}


def mean_speed(envelope: Array, weights: Array) -> Array:
    """Mean speed over the doff's time [rad/s] of envelopes (c, strokes), the strokes weighted by yarn; shape (c,)."""
    return np.asarray(1.0 / (weights / envelope).sum(axis=1), dtype=np.float64)


def least_at(
    tried: Tried, weights: Array, speed: float, against: Against, relaxed: Mapping[str, float] | None = None
) -> Array:
    """Least peak tension [N] or heat [W] at which each candidate runs at a mean speed [rad/s], (c,); inf if it cannot.

    The course is held under one value of the peak throughout, which is the flattest way to the same production.
    """
    envelope, ask = tried.envelope(relaxed), tried.ask(against.key)
    reached = mean_speed(envelope, weights) >= speed * (1 - 1e-12)
    high = (ask * envelope**against.power).max(axis=1)
    low = np.zeros_like(high)
    for _ in range(BISECTIONS):
        middle = (low + high) / 2
        capped = np.minimum(envelope, (middle[:, None] / ask) ** (1 / against.power))
        enough = mean_speed(capped, weights) >= speed * (1 - 1e-12)
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return np.where(reached & tried.keeps, high, np.inf)
