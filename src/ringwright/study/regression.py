"""Counts on a design with exposures: Poisson regression whose errors carry the scatter found, and smooth curves."""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import statsmodels.api as sm
from scipy import stats
from statsmodels.tools.sm_exceptions import ConvergenceWarning, PerfectSeparationWarning

from ringwright.refusal import Fault, Refusal

__all__ = ["Fit", "compare", "fit_counts", "smooth"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A fitted Poisson regression; ``covariance`` is that of counts that scatter by chance alone."""

    coefficients: Array
    covariance: Array
    deviance: float
    pearson: float
    freedom: int
    log_likelihood: float

    @property
    def dispersion(self) -> float:
        """Pearson's chi-square over its degrees of freedom: 1 for chance alone."""
        return self.pearson / self.freedom if self.freedom > 0 else float("nan")

    @property
    def scatter(self) -> float:
        """The dispersion that errors are widened by: as found, and never under 1."""
        return max(1.0, self.dispersion) if self.freedom > 0 else 1.0

    def combination(
        self, weights: npt.ArrayLike, chance: float = 0.95, scatter: float | None = None
    ) -> tuple[float, float, float, float]:
        """Give a weighted sum of the coefficients: value, low, high and two-sided p (Student's law, scatter in).

        ``scatter`` stands in for ``Fit.scatter`` where the caller wants the dispersion as it was found.
        """
        w = np.asarray(weights, np.float64)
        wide = self.scatter if scatter is None else scatter
        value, error = float(w @ self.coefficients), float(np.sqrt(max(float(w @ self.covariance @ w), 0.0) * wide))
        half = float(stats.t.isf((1 - chance) / 2, self.freedom)) * error
        p = float(2 * stats.t.sf(abs(value) / error, self.freedom)) if error > 0 else 1.0
        return value, value - half, value + half, p

    def band(self, rows: npt.ArrayLike, chance: float = 0.95) -> Array:
        """Give value, low and high of many combinations at once (n, 3), as ``combination`` does of one."""
        w = np.asarray(rows, np.float64)
        value = w @ self.coefficients
        error = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", w, self.covariance, w), 0) * self.scatter)
        half = float(stats.t.isf((1 - chance) / 2, self.freedom)) * error
        return np.stack([value, value - half, value + half], axis=1)


def fit_counts(counts: npt.ArrayLike, design: npt.ArrayLike, exposures: npt.ArrayLike | None = None) -> Fit:
    """Fit counts by Poisson regression on a design (n, k) with the exposures' logarithm as offset.

    Refusal if the fit does not settle, as where a column of the design goes with no break at all.
    """
    y, x = np.asarray(counts, np.float64), np.asarray(design, np.float64)
    offset = None if exposures is None else np.log(np.asarray(exposures, np.float64))
    with warnings.catch_warnings():
        # Counts that a design meets exactly are rare but right; the library warns as of a fault.
        warnings.simplefilter("ignore", PerfectSeparationWarning)
        warnings.simplefilter("ignore", ConvergenceWarning)
        # The usual stop, by the deviance, leaves errors in the sixth digit.
        model = sm.GLM(y, x, family=sm.families.Poisson(), offset=offset)
        found = model.fit(tol=1e-10, tol_criterion="params", maxiter=100)
    if not found.converged or not np.all(np.isfinite(found.params)):
        wants = "counts with breaks under every condition that is compared"
        raise Refusal(Fault(where="the regression of the counts", got="without an answer", wants=wants))
    return Fit(
        coefficients=np.asarray(found.params, np.float64),
        covariance=np.asarray(found.cov_params(), np.float64),
        deviance=float(found.deviance),
        pearson=float(found.pearson_chi2),
        freedom=int(found.df_resid),
        log_likelihood=float(found.llf),
    )


def compare(smaller: Fit, larger: Fit) -> tuple[float, float]:
    """Return F and p of what a larger fit adds to a smaller one, over the scatter of the larger."""
    gained = smaller.freedom - larger.freedom
    f = (smaller.deviance - larger.deviance) / gained / larger.scatter
    return float(f), float(stats.f.sf(f, gained, larger.freedom))


def smooth(x: npt.ArrayLike, knots: tuple[float, ...], ends: tuple[float, float]) -> Array:
    """Return the columns of a natural cubic spline (n, knots + 2) that span the constant; straight beyond the ends.

    The knots are given, as programs place them differently for the same number of columns. Truncated powers:
    d_k(x) = ((x - t_k)+^3 - (x - t_K)+^3) / (t_K - t_k), columns 1, x and d_k - d_(K-1); t the ends and knots, x taken
    to 0..1 between the ends. Source: the usual construction of textbooks, from memory; held to R's splines.
    """
    low, high = ends
    inside = (np.clip(np.asarray(x, np.float64), low, high) - low) / (high - low)
    t = (np.array([low, *knots, high]) - low) / (high - low)
    cubes = np.maximum(inside[:, None] - t, 0) ** 3
    d = (cubes[:, :-1] - cubes[:, -1:]) / (t[-1] - t[:-1])
    return np.column_stack([np.ones_like(inside), inside, d[:, :-1] - d[:, -1:]])
