"""Which input matters most: Sobol's indices from a sample built for them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import qmc, sobol_indices

from ringwright.physics.real import Array

__all__ = ["Design", "Indices", "design", "indices"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Quasi-random points in the unit cube, rows A, B and A with one column of B: (d + 2) n points of d inputs."""

    points: Array
    """((d + 2) n, d)"""
    rows: int
    """n, a power of 2."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Indices:
    """For each input the share of the variance that it makes alone, and in all with what it makes together."""

    first: Array
    total: Array
    total_error: Array
    """Standard error of the total shares as if the rows were drawn at random; quasi-random rows do better."""


def design(inputs: int, wanted: int, seed: int = 1) -> Design:
    """Lay out about ``wanted`` points, the nearest number that the design allows, at least 32 rows."""
    rows = 2 ** max(5, round(np.log2(wanted / (inputs + 2))))
    both = qmc.Sobol(2 * inputs, rng=np.random.default_rng(seed)).random(rows)
    a, b = both[:, :inputs], both[:, inputs:]
    mixed = np.repeat(a[None], inputs, axis=0)
    for i in range(inputs):
        mixed[i, :, i] = b[:, i]
    return Design(points=np.concatenate([a, b, mixed.reshape(-1, inputs)]), rows=rows)


def indices(values: Array, plan: Design) -> Indices:
    """Give the indices from the values at the design's points, ((d + 2) n,), all finite and not all equal.

    Estimators of Saltelli and others 2010, through scipy.
    """
    n, count = plan.rows, plan.points.shape[1]
    if count == 1:  # one input makes all of the variance; scipy's estimators want two
        return Indices(first=np.ones(1), total=np.ones(1), total_error=np.zeros(1))
    centred = values - values[: 2 * n].mean()
    found = sobol_indices(
        func={
            "f_A": centred[None, :n],
            "f_B": centred[None, n : 2 * n],
            "f_AB": centred[2 * n :].reshape(count, 1, n),
        },
        n=n,
    )
    apart = 0.5 * (centred[:n] - centred[2 * n :].reshape(count, n)) ** 2  # whose mean over the rows is the total share
    error = np.std(apart, axis=1, ddof=1) / np.sqrt(n) / np.var(centred[: 2 * n])
    first, total = np.atleast_1d(found.first_order), np.atleast_1d(found.total_order)
    return Indices(first=first, total=total, total_error=np.asarray(error, dtype=np.float64))
