"""Break rates and their ratios with exact intervals; exposures in any one unit, as 1000 spindle-hours."""

from __future__ import annotations

import numpy as np
from scipy import stats

from ringwright.refusal import Fault, Refusal

__all__ = ["gamma_posterior", "mid_p", "power_of_two_rates", "rate_interval", "ratio_interval"]

Interval = tuple[float, float]


def rate_interval(count: int, exposure: float, chance: float = 0.95) -> Interval:
    """Return the exact interval of a Poisson rate (Garwood 1936); Refusal for counts or exposures that cannot be."""
    _check([count], [exposure])
    rest = (1 - chance) / 2
    low = float(stats.gamma.ppf(rest, count)) if count else 0.0
    return low / exposure, float(stats.gamma.isf(rest, count + 1)) / exposure


def ratio_interval(counts: tuple[int, int], exposures: tuple[float, float], chance: float = 0.95) -> Interval:
    """Return the exact interval of rate 1 over rate 2, given the sum of the counts (Clopper and Pearson 1934).

    The upper end is infinite where the second count is 0. Refusal where neither has a break.
    """
    _check(counts, exposures)
    if not sum(counts):
        raise Refusal(Fault(where="the counts of breaks", got="0 and 0", wants="at least one break to compare rates"))
    found = stats.binomtest(counts[0], sum(counts)).proportion_ci(chance, method="exact")
    scale = exposures[1] / exposures[0]
    high = float("inf") if found.high >= 1 else found.high / (1 - found.high) * scale
    return float(found.low / (1 - found.low) * scale), float(high)


def mid_p(counts: tuple[int, int], exposures: tuple[float, float]) -> float:
    """Return the two-sided p that two rates are one: the smaller tail, half the point itself left out, doubled.

    Its size under no difference stays near its level where the exact test's falls to half of it.
    """
    _check(counts, exposures)
    law = stats.binom(sum(counts), exposures[0] / sum(exposures))
    lower = law.cdf(counts[0]) - law.pmf(counts[0]) / 2
    return float(min(1.0, 2 * min(lower, 1 - lower)))


def power_of_two_rates(rates: tuple[float, float], exposure: float, level: float = 0.05) -> float:
    """Return the chance that the mid-p test tells two Poisson rates apart with equal exposures, by enumeration.

    Only for counts that scatter by chance alone; shifts scatter more.
    """
    means = [rate * exposure for rate in rates]
    total = sum(means)
    sums = np.arange(max(0, int(total - 9 * np.sqrt(total) - 9)), int(total + 9 * np.sqrt(total) + 20))
    share = means[0] / total
    power = 0.0
    for n, chance in zip(sums, stats.poisson.pmf(sums, total), strict=True):
        x = np.arange(n + 1)
        point = stats.binom.pmf(x, n, 0.5)
        lower = np.cumsum(point) - point / 2
        told = 2 * np.minimum(lower, 1 - lower) <= level
        power += float(chance * stats.binom.pmf(x[told], n, share).sum())
    return power


def gamma_posterior(count: int, exposure: float, shape: float, rate: float, chance: float = 0.95) -> tuple[float, ...]:
    """Return mean, low and high of a rate that follows a gamma law (shape, rate) before the count was seen."""
    after = stats.gamma(shape + count, scale=1 / (rate + exposure))
    rest = (1 - chance) / 2
    return float(after.mean()), float(after.ppf(rest)), float(after.isf(rest))


def _check(counts: tuple[int, ...] | list[int], exposures: tuple[float, ...] | list[float]) -> None:
    faults = [
        Fault(where="the count of breaks", got=f"{count}", wants="0 or more") for count in counts if not count >= 0
    ]
    faults += [
        Fault(where="the running time", got=f"{exposure:g}", wants="more than 0", mend="Look at the running records.")
        for exposure in exposures
        if not (exposure > 0 and np.isfinite(exposure))
    ]
    if faults:
        raise Refusal(faults)
