"""A rate along an axis (hours, share of the cop) as a smooth curve with its band, held against a flat one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ringwright.findings.finding import Estimate
from ringwright.findings.picture import Curve
from ringwright.study.regression import Fit, compare, fit_counts, smooth

__all__ = ["RateCurve", "rate_curve"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class RateCurve:
    """A fitted curve: its knots and ends, the fit, and the chance (F test, scatter in) that the rate is flat."""

    fit: Fit
    knots: tuple[float, ...]
    ends: tuple[float, float]
    p_flat: float

    def ratio(self, at: float, against: float, meaning: str, chance: float = 0.95) -> Estimate:
        """Give the rate at one place against that at another, with its interval."""
        columns = smooth([at, against], self.knots, self.ends)
        value, low, high, _ = self.fit.combination(columns[0] - columns[1], chance)
        value, low, high = (float(v) for v in np.exp([value, low, high]))
        return Estimate(value=value, low=low, high=high, unit="times", meaning=meaning, chance=chance)

    def relative(self, at: npt.ArrayLike) -> Array:
        """Give the fitted rate at places, as a multiple of its geometric mean over them; 1 where a place is nan."""
        places = np.asarray(at, np.float64)
        known = np.isfinite(places)
        logs = np.zeros(len(places))
        logs[known] = smooth(places[known], self.knots, self.ends) @ self.fit.coefficients
        logs[known] -= logs[known].mean() if known.any() else 0.0
        return np.asarray(np.exp(logs), np.float64)

    def extremes(self) -> tuple[float, float]:
        """Give the places of the highest and the lowest fitted rate."""
        at = np.linspace(*self.ends, 201)
        logs = smooth(at, self.knots, self.ends) @ self.fit.coefficients
        return float(at[np.argmax(logs)]), float(at[np.argmin(logs)])

    def picture(self, title: str, axis: str, counted: tuple[Array, Array]) -> Curve:
        """Draw the curve with its band, and the rates as counted in bins (places, rates)."""
        at = np.linspace(*self.ends, 61)
        bands = np.exp(self.fit.band(smooth(at, self.knots, self.ends)))
        return Curve(
            title=title, axis=axis, at=tuple(at.tolist()), rate=tuple(bands[:, 0].tolist()),
            low=tuple(bands[:, 1].tolist()), high=tuple(bands[:, 2].tolist()),
            counted_at=tuple(counted[0].tolist()), counted=tuple(counted[1].tolist()),
        )  # fmt: skip


def rate_curve(x: npt.ArrayLike, counts: npt.ArrayLike, exposures: npt.ArrayLike) -> RateCurve | None:
    """Fit a natural spline with two inner knots at the thirds of the exposure; None where the places are too few."""
    at, y, e = (np.asarray(values, np.float64) for values in (x, counts, exposures))
    good = np.isfinite(at) & (e > 0)
    at, y, e = at[good], y[good], e[good]
    if len(np.unique(at)) < 6 or y.sum() < 50:
        return None
    order = np.argsort(at, kind="stable")
    shares = np.cumsum(e[order]) / e.sum()
    # The outermost exposure is thin; the curve ends where a hundredth of it lies beyond.
    places = at[order][np.searchsorted(shares, [0.01, 1 / 3, 2 / 3, 0.99])]
    if len(np.unique(places)) < 4:
        return None
    ends, knots = (float(places[0]), float(places[3])), (float(places[1]), float(places[2]))
    fit = fit_counts(y, smooth(at, knots, ends), e)
    flat = fit_counts(y, np.ones((len(at), 1)), e)
    return RateCurve(fit=fit, knots=knots, ends=ends, p_flat=compare(flat, fit)[1])
