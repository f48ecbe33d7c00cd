"""The solved balloon's shape: widest place, neck, lag, and points along the yarn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ringwright.physics import kernel
from ringwright.physics.cases import Array, Cases
from ringwright.physics.family import Point
from ringwright.physics.shoot import flight

__all__ = ["Shape", "shape"]

ROUNDS = 9
LEVEL = 1e-9
"""Slope of r^2/2 at which an extreme counts as found: its depth is then good to about as much."""


@dataclass(frozen=True, slots=True)
class Shape:
    """Shape of each balloon, dimensionless (ring radii), each (n,)."""

    widest: Array
    """Largest radius anywhere, the ring and the control ring included."""
    widest_depth: Array
    neck: Array
    """Least radius at an inner minimum (nan where there is none)."""
    neck_depth: Array
    lag: Array
    """Azimuth swept from the guide to the traveller, radians."""
    length: Array


def _nodes(cases: Cases, point: Point, steps: int) -> tuple[Array, Array]:
    """Give depths (k, n) and states (k, 6, n) of all nodes, the control ring's twice (above and below its bend)."""
    spans = flight(cases, point.w, point.contact, steps)
    return np.concatenate([depth for depth, _ in spans]), np.concatenate([states for _, states in spans])


def _outward(states: Array) -> Array:
    """Half the slope of r^2 in depth."""
    return (states[..., 0, :] * states[..., 2, :] + states[..., 1, :] * states[..., 3, :]) / states[..., 4, :]


def shape(cases: Cases, point: Point) -> Shape:
    """Measure the balloons of solved points, each with the steps that its solution used."""
    parts = np.full((6, len(cases)), np.nan)
    for steps in np.unique(point.steps):
        group = np.flatnonzero(point.steps == steps)
        parts[:, group] = _measure(cases.take(group), point.take(group), int(steps))
    return Shape(*parts)


def _measure(cases: Cases, point: Point, steps: int) -> Array:
    depths, states = _nodes(cases, point, steps)
    square = states[:, 0] ** 2 + states[:, 1] ** 2
    out = _outward(states)
    with np.errstate(all="ignore"):
        azimuth = np.arctan2(states[1:, 1], states[1:, 0])
    lag = np.unwrap(np.concatenate([np.zeros((1, len(cases))), azimuth]), axis=0)[-1]
    at_node = np.argmax(square, axis=0)
    everyone = np.arange(len(cases))
    widest, widest_depth = np.sqrt(square[at_node, everyone]), depths[at_node, everyone]
    neck, neck_depth = np.full(len(cases), np.nan), np.full(len(cases), np.nan)
    inside = np.diff(depths, axis=0) > 0.0
    for maximum in (True, False):
        turns = inside & ((out[:-1] > 0.0) & (out[1:] < 0.0) if maximum else (out[:-1] < 0.0) & (out[1:] >= 0.0))
        which = np.flatnonzero(turns.any(axis=0))
        if not which.size:
            continue
        sign = 1.0 if maximum else -1.0
        best, best_depth = (widest, widest_depth) if maximum else (neck, neck_depth)
        for place in _likeliest(sign * square, sign * out, depths, turns)[:, which]:
            told, interval = which[place >= 0], place[place >= 0]
            if not told.size:
                continue
            radius, depth = _extreme(cases.take(told), depths, states, interval, told)
            better = np.isnan(best[told]) | (sign * radius > sign * best[told])
            best[told[better]], best_depth[told[better]] = radius[better], depth[better]
    return np.stack([widest, widest_depth, neck, neck_depth, lag, states[-1, 5]])


def _likeliest(square: Array, out: Array, depths: Array, turns: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Rank the intervals with a maximum by a cubic through r^2: the two likeliest (2, n), -1 where there is none."""
    size = np.diff(depths, axis=0)
    first, last, rise = 2.0 * out[:-1] * size, 2.0 * out[1:] * size, np.diff(square, axis=0)
    with np.errstate(all="ignore"):
        t = np.where(turns, first / (first - last), 0.0)
    cubic = square[:-1] + t * (first + t * ((3.0 * rise - 2.0 * first - last) + t * (first + last - 2.0 * rise)))
    ranked = np.argsort(np.where(turns, -cubic, np.inf), axis=0)[:2]
    ranked_turns = np.take_along_axis(turns, ranked, axis=0)
    return np.where(ranked_turns, ranked, -1)


def _extreme(
    cases: Cases, depths: Array, states: Array, interval: NDArray[np.intp], which: NDArray[np.intp]
) -> tuple[Array, Array]:
    """Find the extreme of r between two nodes by integrating part of the step again, with a bracketing secant."""
    start = states[interval, :, which].T
    size = depths[interval + 1, which] - depths[interval, which]
    low, high = np.zeros_like(size), size.copy()
    at_low, at_high = _outward(start), _outward(states[interval + 1, :, which].T)
    middle, state = high, start
    for _ in range(ROUNDS):
        with np.errstate(all="ignore"):
            middle = low - at_low * (high - low) / (at_high - at_low)
        middle = np.where((middle > low) & (middle < high), middle, 0.5 * (low + high))
        state = kernel.span(np.stack([cases.drag, cases.feed, cases.gravity, middle]), start, 1, 0)[0]
        at = _outward(state)
        if np.max(np.abs(at)) < LEVEL:
            break
        up = at * at_low > 0.0
        # Anderson and Bjorck's damping of the end that stays.
        with np.errstate(all="ignore"):
            keep = np.where(up, 1.0 - at / at_low, 1.0 - at / at_high)
        keep = np.where((keep > 0.0) & np.isfinite(keep), keep, 0.5)
        at_high, at_low = np.where(up, at_high * keep, at), np.where(up, at, at_low * keep)
        high, low = np.where(up, high, middle), np.where(up, middle, low)
    return np.hypot(state[0], state[1]), depths[interval, which] + middle
