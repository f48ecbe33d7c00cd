"""Which input matters most: Sobol's indices from a sample built for them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import cholesky
from scipy.special import ndtr, ndtri
from scipy.stats import qmc, sobol_indices

from ringwright.physics.real import Array

__all__ = ["Design", "Groups", "Indices", "bound_together", "design", "indices"]

Groups = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Quasi-random points in the unit cube: rows A, B, and A with the columns of one group from B."""

    points: Array
    """((g + 2) n, d) for g groups of the d inputs"""
    rows: int
    """n, a power of 2."""
    groups: tuple[tuple[int, ...], ...]
    """Numbers of the inputs that are ranked as one; most groups are a single input."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Indices:
    """For each group of inputs the share of the variance that it makes alone, and with all it makes together."""

    first: Array
    total: Array
    total_error: Array
    """Standard error of the total shares as if the rows were drawn at random; quasi-random rows do better."""


def design(inputs: int, wanted: int, seed: int = 1, groups: Groups | None = None) -> Design:
    """Lay out about ``wanted`` points, the nearest number that the design allows, at least 32 rows.

    Inputs that hang together must stand in one group: apart, their shares of the variance have no meaning.
    """
    whole = tuple((i,) for i in range(inputs)) if groups is None else groups
    rows = 2 ** max(5, round(np.log2(wanted / (len(whole) + 2))))
    both = qmc.Sobol(2 * inputs, rng=np.random.default_rng(seed)).random(rows)
    a, b = both[:, :inputs], both[:, inputs:]
    mixed = np.repeat(a[None], len(whole), axis=0)
    for i, group in enumerate(whole):
        mixed[i][:, group] = b[:, group]
    return Design(points=np.concatenate([a, b, mixed.reshape(-1, inputs)]), rows=rows, groups=whole)


def bound_together(chances: Array, members: Sequence[int], correlation: Array) -> Array:
    """Give chances (k, d), drawn apart, such that those of some inputs hang together as Gaussian variables do.

    The normal points of the ``members`` are mixed by the lower root of their ``correlation`` (m, m): a Gaussian copula.
    """
    bound = chances.copy()
    inside = np.clip(chances[:, members], 1e-12, 1 - 1e-12)
    bound[:, members] = ndtr(ndtri(inside) @ _root(correlation).T)
    return bound


def _root(correlation: Array) -> Array:
    """Give the lower root; a correlation of 1 to the last figure is bent by a hair so that it has one."""
    size = len(correlation)
    bent = (1 - 1e-9) * correlation + 1e-9 * np.eye(size)
    return np.asarray(cholesky(bent, lower=True), dtype=np.float64)


def indices(values: Array, plan: Design) -> Indices:
    """Give the indices of the groups from the values at the design's points, ((g + 2) n,), finite and not all equal.

    Estimators of Saltelli and others 2010, through scipy.
    """
    n, count = plan.rows, len(plan.groups)
    if count == 1:  # one group makes all of the variance; scipy's estimators want two
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
