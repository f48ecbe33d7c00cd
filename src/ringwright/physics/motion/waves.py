"""How a small motion exp(rate t) travels down the yarn: coefficients along it, and the passage of a whole span.

In the traveller's frame, with q = (T - u^2) t and v_n the part across the yarn of R_t + k x R, the yarn obeys

    R_tt + 2u R_ts + 2 k x R_t + 2u k x R_s - (x, y, 0) = q_s - P |v_n| v_n + G e_z,    |R_s| = 1 + C (T - T_rest).

A small motion r exp(rate t), with the force p exp(rate t) beside q, then satisfies (r, p)' = A(s; rate) (r, p) with
A of second degree in the rate: docs/explanation/off-centre.md.  C is the yarn's stretch for a unit of tension.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.cases import Cases
from ringwright.physics.motion.rest import Span
from ringwright.physics.real import Array

__all__ = ["Coefficients", "Complex", "along", "force_slope", "passage"]

Complex = NDArray[Any]
"""Complex numbers, or real ones where all that they are made of is real."""

QUARTER_TURN = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 0.0]])
"""k x, as a matrix."""
ACROSS_AXIS = np.diag([1.0, 1.0, 0.0])
TINY = 1e-300


@dataclass(frozen=True, slots=True, kw_only=True)
class Coefficients:
    """A(s; rate) = still + rate first + rate^2 second, each (n, k, 6, 6), by depth instead of s."""

    still: Array
    first: Array
    second: Array

    def at(self, rate: Complex) -> Complex:
        """Give A for the rates (n,)."""
        by = rate[:, None, None, None]
        return self.still + by * (self.first + by * self.second)


def _outer(a: Array, b: Array) -> Array:
    product: Array = a[..., :, None] * b[..., None, :]
    return product


def _through_air(span: Span, t: Array) -> tuple[Array, Array]:
    """Give v_n (n, k, 3) at rest and the part of k x R along the yarn (n, k)."""
    wind = span.place @ QUARTER_TURN.T
    along_yarn = np.sum(wind * t, axis=-1)
    return wind - along_yarn[..., None] * t, along_yarn


def along(cases: Cases, span: Span, stretch: float | Array = 0.0) -> Coefficients:
    """Work out the coefficients at every node of a span; ``stretch`` is C, dimensionless."""
    size = np.linalg.norm(span.force, axis=-1)
    t = span.force / size[..., None]
    lengthwise = _outer(t, t)
    across = np.eye(3) - lengthwise
    v, along_yarn = _through_air(span, t)
    speed = np.linalg.norm(v, axis=-1)[..., None, None]
    compliance = np.broadcast_to(np.asarray(stretch, dtype=float), len(cases))[:, None, None, None]
    direction = across / size[..., None, None]
    slope = direction + compliance * lengthwise
    # d(|v_n| v_n): first by v_n, then v_n by the yarn's velocity and by its direction.
    pull = cases.drag[:, None, None, None] * (speed * np.eye(3) + _outer(v, v) / (speed + TINY))
    by_force = -pull @ (_outer(t, v) + along_yarn[..., None, None] * np.eye(3)) @ direction
    by_speed = pull @ across
    feed = cases.feed[:, None, None, None]
    still, first, second = (np.zeros((*size.shape, 6, 6)) for _ in range(3))
    still[..., :3, 3:] = slope
    still[..., 3:, :3] = by_speed @ QUARTER_TURN - ACROSS_AXIS
    still[..., 3:, 3:] = by_force + 2.0 * feed * (QUARTER_TURN @ slope)
    first[..., 3:, :3] = by_speed + 2.0 * QUARTER_TURN
    first[..., 3:, 3:] = 2.0 * feed * slope
    second[..., 3:, :3] = np.eye(3)
    per_depth = (size / span.force[..., 2])[..., None, None]
    return Coefficients(still=still * per_depth, first=first * per_depth, second=second * per_depth)


def force_slope(cases: Cases, span: Span, node: int) -> tuple[Array, Array]:
    """Give the yarn's direction t and q' = dq/ds at rest, each (n, 3), at a node of the span."""
    here = Span(place=span.place[:, [node]], force=span.force[:, [node]], length=span.length[:, [node]], step=span.step)
    t = here.force / np.linalg.norm(here.force, axis=-1, keepdims=True)
    v, _ = _through_air(here, t)
    drag, feed = cases.drag[:, None, None], cases.feed[:, None, None]
    slope = -here.place @ ACROSS_AXIS + 2.0 * feed * (t @ QUARTER_TURN.T)
    slope += drag * np.linalg.norm(v, axis=-1, keepdims=True) * v
    slope[..., 2] -= cases.gravity[:, None]
    return t[:, 0], slope[:, 0]


def passage(coefficients: Coefficients, span: Span, rate: Complex) -> Complex:
    """Carry (r, p) from the upper end of a span to its lower, (n, 6, 6), at the rates (n,).

    The classical Runge-Kutta method of fourth order, whose steps are matrices: all of them at once, then their product.
    """
    a = coefficients.at(rate)
    first, middle, last = a[:, 0:-1:2], a[:, 1::2], a[:, 2::2]
    h = (2.0 * span.step)[:, None, None, None]
    twice = middle @ first
    thrice = middle @ twice
    steps = (
        np.eye(6)
        + (h / 6.0) * (first + 4.0 * middle + last)
        + (h**2 / 6.0) * (twice + middle @ middle + last @ middle)
        + (h**3 / 12.0) * (thrice + last @ middle @ middle)
        + (h**4 / 24.0) * (last @ thrice)
    )
    while steps.shape[1] % 2 == 0:
        steps = steps[:, 1::2] @ steps[:, 0::2]
    rest: Complex = reduce(lambda done, at: steps[:, at] @ done, range(1, steps.shape[1]), steps[:, 0])
    return rest
