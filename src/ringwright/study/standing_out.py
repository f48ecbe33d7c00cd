"""Which few of many like things stand out: a negative binomial law of the ordinary ones, false discoveries held down.

The ordinary ones differ among themselves, so a Poisson law would blame many. The law is fitted without those that
stand out, as they would widen it and hide themselves.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import optimize, stats
from scipy.special import gammaln

__all__ = ["Ordinary", "StandingOut", "fit_ordinary", "stand_out", "upper_tail"]

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_POISSON: Final = 1e6
"""A shape so large that the law is a Poisson law."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ordinary:
    """The law of the ordinary ones: rates follow a gamma law with this mean and shape; log likelihood of the fit."""

    mean: float
    shape: float
    log_likelihood: float

    @property
    def spread(self) -> float:
        """Coefficient of variation of the true rates; 0 where they do not differ."""
        return 0.0 if self.shape >= _POISSON else float(self.shape**-0.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingOut:
    """The law found, p of each count from above, and which were left out of the fit as too high or too low.

    ``silent`` are those with so few that one would be found in a hundred sets of ordinary ones.
    """

    ordinary: Ordinary
    p: Array
    too_high: Mask
    too_low: Mask
    silent: Mask


def fit_ordinary(counts: npt.ArrayLike, exposures: npt.ArrayLike) -> Ordinary:
    """Fit mean rate and shape of a negative binomial law by maximum likelihood."""
    y, e = np.asarray(counts, np.float64), np.asarray(exposures, np.float64)
    # Many spindles share a count and an exposure: each pair is reckoned once.
    pairs, many = np.unique(np.stack([y, e]), axis=1, return_counts=True)

    def negative(logs: Array) -> float:
        (n, t), m, k = pairs, np.exp(logs[0]), np.exp(logs[1])
        terms = gammaln(n + k) - gammaln(k) - gammaln(n + 1) - k * np.log1p(m * t / k) + n * np.log(m * t / (k + m * t))
        return -float(many @ terms)

    mean = float(max(y.sum(), 0.5) / e.sum())
    extra = float(np.var(y - mean * e) - mean * e.mean()) / float(np.mean((mean * e) ** 2))
    poisson = float(stats.poisson.logpmf(y, mean * e).sum())
    if extra <= 0:
        return Ordinary(mean=mean, shape=_POISSON, log_likelihood=poisson)
    if np.ptp(e) == 0:  # then the mean is the counts' own
        level = float(np.log(mean))
        one = optimize.minimize_scalar(lambda log: negative(np.array([level, log])), bounds=(-5, np.log(_POISSON)),
                                       method="bounded", options={"xatol": 1e-8})  # fmt: skip
        shape = float(np.exp(one.x))
        return _law(mean, shape, -float(one.fun), poisson)
    start = np.array([np.log(mean), -np.log(max(extra, 1e-4))])
    found = optimize.minimize(negative, start, method="L-BFGS-B", bounds=[(None, None), (-5, np.log(_POISSON))],
                              options={"ftol": 1e-14, "gtol": 1e-9})  # fmt: skip
    m, k = (float(v) for v in np.exp(found.x))
    return _law(m, k, -float(found.fun), poisson)


def _law(mean: float, shape: float, log_likelihood: float, poisson: float) -> Ordinary:
    """Give the law, or the Poisson law where it is as likely."""
    if log_likelihood <= poisson:
        return Ordinary(mean=mean, shape=_POISSON, log_likelihood=poisson)
    return Ordinary(mean=mean, shape=shape, log_likelihood=log_likelihood)


def upper_tail(counts: npt.ArrayLike, exposures: npt.ArrayLike, law: Ordinary) -> Array:
    """Return the chance of so many breaks or more under the law of the ordinary ones."""
    y, mu = np.asarray(counts, np.float64), law.mean * np.asarray(exposures, np.float64)
    if law.shape >= _POISSON:
        return np.asarray(stats.poisson.sf(y - 1, mu), np.float64)
    return np.asarray(stats.nbinom.sf(y - 1, law.shape, law.shape / (law.shape + mu)), np.float64)


def _lower_tail(y: Array, e: Array, law: Ordinary) -> Array:
    return 1 - upper_tail(y + 1, e, law)


def stand_out(counts: npt.ArrayLike, exposures: npt.ArrayLike, rounds: int = 20) -> StandingOut:
    """Fit the law of the ordinary ones, without those that half of one would be expected beyond, to rest.

    Both tails are left out of the fit: a spindle that never ran would widen the law too. Source of the method: fit,
    trim at 0.5/N and refit is our own; it was held to simulated frames with known bad spindles.
    """
    y, e = np.asarray(counts, np.float64), np.asarray(exposures, np.float64)
    kept = np.ones(len(y), bool)
    law = fit_ordinary(y, e)
    for _ in range(rounds):
        high, low = upper_tail(y, e, law), _lower_tail(y, e, law)
        stays = (high > 0.5 / len(y)) & (low > 0.5 / len(y))
        if np.array_equal(stays, kept) or stays.sum() < 0.5 * len(y):
            break
        kept = stays
        law = fit_ordinary(y[kept], e[kept])
    high, low = upper_tail(y, e, law), _lower_tail(y, e, law)
    limit = 0.5 / len(y)
    return StandingOut(ordinary=law, p=high, too_high=high <= limit, too_low=low <= limit, silent=low <= 0.01 / len(y))
