"""Learn break rates from the mill's own counts: by a factor on the model, or by regression on the tension's logarithm.

Counts of whole shifts scatter more than chance; where they do, the errors given are widened by the root of the
dispersion found, and never narrowed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import gammaincinv, gammaln, stdtrit
from scipy.special import ndtri as normal_point

from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal

__all__ = ["Factor", "Regression", "factor_from_counts", "regress_on_tension"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """What is known of a factor on the modelled rate: a gamma law with shape a and rate b."""

    shape: float
    rate: float

    @property
    def mean(self) -> float:
        """Its mean."""
        return self.shape / self.rate

    def interval(self, chance: float = 0.95) -> tuple[float, float]:
        """Give the interval that holds it with the chance, as much left out below as above."""
        low, high = (float(gammaincinv(self.shape, p)) for p in ((1 - chance) / 2, (1 + chance) / 2))
        return low / self.rate, high / self.rate

    def widened(self, scatter: float) -> Factor:
        """Give the factor as sure as counts that scatter so many times more than chance let it be; never surer."""
        wide = scatter if scatter > 1 else 1.0
        return Factor(shape=self.shape / wide, rate=self.rate / wide)

    def chance_of(self, count: int, expected: float) -> float:
        """Give the chance of so many breaks where the model itself expects ``expected`` (negative binomial)."""
        a, p = self.shape, self.rate / (self.rate + expected)
        return float(
            np.exp(gammaln(a + count) - gammaln(a) - gammaln(count + 1) + a * np.log(p) + count * np.log1p(-p))
        )


def factor_from_counts(
    counts: Sequence[float], expected: Sequence[float], prior_shape: float = 0.5, prior_rate: float = 0.0
) -> Factor:
    """Return the factor by which the mill's counts stand to those that the model expects.

    Observed rate = factor x model, factor ~ gamma(a, b): afterwards gamma(a + sum counts, b + sum expected). The
    standing prior, a = 1/2 and b = 0 (Jeffreys), says next to nothing.
    """
    return Factor(shape=prior_shape + float(np.sum(counts)), rate=prior_rate + float(np.sum(expected)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Regression:
    """ln(breaks per exposure) = level + slope ln(T / reference): the stress-strength model with m free."""

    level: float
    slope: float
    covariance: Array
    """Of level and slope, (2, 2), dispersion included."""
    reference: float
    """Tension [N] at which the level stands."""
    span: tuple[float, float]
    """Lowest and highest tension [N] of the counts."""
    dispersion: float
    """Pearson's chi-square over its degrees of freedom; 1 by chance alone; nan with two counts."""
    freedom: int

    @property
    def standard_errors(self) -> tuple[float, float]:
        """Of level and slope."""
        first, second = np.sqrt(np.diag(self.covariance))
        return float(first), float(second)

    def extrapolates(self, tension: float) -> bool:
        """Say whether a tension lies outside those counted."""
        return not self.span[0] * (1 - 1e-9) <= tension <= self.span[1] * (1 + 1e-9)

    def rate(self, tension: float, chance: float = 0.95) -> tuple[float, float, float]:
        """Give the rate per exposure at a tension [N] with its interval: middle, low, high."""
        at = np.array([1.0, np.log(tension / self.reference)])
        middle, spread = float(at @ [self.level, self.slope]), float(np.sqrt(at @ self.covariance @ at))
        half = float(_point(self.freedom, chance, wide=self.dispersion > 1)) * spread
        return tuple(float(np.exp(x)) for x in (middle, middle - half, middle + half))  # type: ignore[return-value]


def _point(freedom: int, chance: float, *, wide: bool) -> float:
    """Student's point where the dispersion was estimated, the normal one where it was taken as 1."""
    p = (1 + chance) / 2
    return float(stdtrit(freedom, p)) if wide and freedom > 0 else float(normal_point(p))


Prior = tuple[float, float]


def regress_on_tension(
    tensions: Sequence[float] | Array,
    counts: Sequence[float] | Array,
    exposures: Sequence[float] | Array,
    *,
    reference: float | None = None,
    level_prior: Prior | None = None,
    slope_prior: Prior | None = None,
) -> Regression:
    """Return the Poisson regression of counts on ln tension [N], with normal priors (mean, sd) where given.

    The most likely place by Newton, its errors by Laplace: the curvature there. ``exposures`` in any one unit, as 1000
    spindle hours. Raises Refusal for fewer than two different tensions where the slope has no prior, for no break at
    all, and for values that cannot be.
    """
    t, y, e = (np.asarray(values, dtype=np.float64) for values in (tensions, counts, exposures))
    _check(t, y, e, slope_known=slope_prior is not None)
    middle = float(np.exp(np.mean(np.log(t)))) if reference is None else reference
    x = np.stack([np.ones_like(t), np.log(t / middle)])
    means = np.array([p[0] if p else 0.0 for p in (level_prior, slope_prior)])
    weight = np.array([p[1] ** -2 if p else 0.0 for p in (level_prior, slope_prior)])
    b = np.array([np.log((y.sum() + 0.5) / e.sum()), means[1]])
    for _ in range(100):
        mu = e * np.exp(x.T @ b)
        pull = x @ (y - mu) - weight * (b - means)
        curve = (x * mu) @ x.T + np.diag(weight)
        move = np.linalg.solve(curve, pull)
        b = b + np.clip(move, -2.0, 2.0)
        if np.max(np.abs(move)) < 1e-12:
            break
    mu = e * np.exp(x.T @ b)
    freedom = len(t) - 2
    dispersion = float(np.sum((y - mu) ** 2 / mu) / freedom) if freedom > 0 else float("nan")
    covariance = np.linalg.inv((x * mu) @ x.T / max(1.0, np.nan_to_num(dispersion, nan=1.0)) + np.diag(weight))
    return Regression(
        level=float(b[0]), slope=float(b[1]), covariance=covariance, reference=middle,
        span=(float(t.min()), float(t.max())), dispersion=dispersion, freedom=freedom,
    )  # fmt: skip


def _check(t: Array, y: Array, e: Array, *, slope_known: bool) -> None:
    faults = []
    for name, values, holds, wants in (
        ("the tensions", t, t > 0, "more than 0"),
        ("the counts of breaks", y, y >= 0, "0 or more"),
        ("the running times", e, e > 0, "more than 0"),
    ):
        bad = values[~(holds & np.isfinite(values))]
        if bad.size:
            faults.append(Fault(where=name, got=", ".join(f"{b:g}" for b in bad), wants=wants))
    if not faults and y.sum() == 0:
        faults.append(
            Fault(where="the counts of breaks", got="all 0", wants="at least one break", mend="Count longer.")
        )
    apart = t.size and float(np.log(t.max() / t.min())) > 0.01 if not faults else True
    if not apart and not slope_known:
        mend = "Count at two settings some 10 % apart in tension, or give a slope from strength tests."
        wants = "tensions that differ, as the slope cannot be learnt from one"
        faults.append(Fault(where="the counts", got="all at one tension", wants=wants, mend=mend))
    if faults:
        raise Refusal(faults)
