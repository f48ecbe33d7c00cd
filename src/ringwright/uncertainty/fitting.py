"""Fit positive parameters of a model to readings by least squares, and say what the readings can and cannot tell.

Parameters are fitted by their logarithms, so that they stay positive and their intervals may lean. All readings weigh
alike; their scatter is judged from what the fit leaves, over the readings to spare.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.special import stdtrit

from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal

__all__ = ["Fit", "fit"]

Predict = Callable[[Array], Array]
STEP = 1e-4
ALIKE = 0.95
"""Correlation from which two parameters count as not told apart."""
VAGUE = 0.5
"""Standard error, as a share of the value, from which a parameter counts as hardly seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """Fitted values of p parameters with what is known of them."""

    names: tuple[str, ...]
    values: Array
    log_covariance: Array
    """Of the values' logarithms, (p, p)."""
    scatter: float
    """Standard deviation of a reading about the fit, in the readings' unit."""
    freedom: int
    """Readings less parameters."""
    residuals: Array
    """Reading less fit, in the order of the readings."""
    at_edge: tuple[str, ...]
    """Parameters that ran to the end of their range; their errors mean nothing."""

    @property
    def standard_errors(self) -> Array:
        """Of the values."""
        return np.asarray(self.values * np.sqrt(np.diag(self.log_covariance)), dtype=np.float64)

    @property
    def correlation(self) -> Array:
        """Between the logarithms of the values, (p, p)."""
        spread = np.sqrt(np.diag(self.log_covariance))
        return np.asarray(self.log_covariance / np.outer(spread, spread), dtype=np.float64)

    def interval(self, chance: float = 0.95) -> Array:
        """Give the interval of each value, (p, 2), by Student's law on its logarithm."""
        half = float(stdtrit(self.freedom, (1 + chance) / 2)) * np.sqrt(np.diag(self.log_covariance))
        return np.stack([self.values * np.exp(-half), self.values * np.exp(half)], axis=1)

    def not_told_apart(self) -> list[tuple[str, str, float]]:
        """List pairs of parameters that the readings cannot tell apart, with their correlation."""
        told, n = self.correlation, len(self.names)
        return [
            (self.names[i], self.names[j], float(told[i, j]))
            for i in range(n)
            for j in range(i + 1, n)
            if abs(told[i, j]) > ALIKE
        ]

    def hardly_seen(self) -> list[str]:
        """List parameters whose standard error is more than half of their value."""
        spread = np.sqrt(np.diag(self.log_covariance))
        return [name for name, s in zip(self.names, spread, strict=True) if s > VAGUE]


def fit(predict: Predict, measured: Array, start: Array, bounds: Array, names: Sequence[str]) -> Fit:
    """Fit p parameters to n readings; ``predict`` gives (k, n) readings for (k, p) parameter values.

    ``bounds`` is (p, 2). Raises Refusal for no more readings than parameters, and where the model has no answer at the
    start. A set of values for which the model has no answer (nan) counts as far off.
    """
    count, parameters = len(measured), len(start)
    if count <= parameters:
        wants = f"more than {parameters}, as {', '.join(names)} are sought and the scatter must be judged too"
        mend = "Take more readings, or hold some of them with --hold."
        raise Refusal(Fault(where="the number of readings", got=str(count), wants=wants, mend=mend))
    low, high = np.log(bounds[:, 0]), np.log(bounds[:, 1])

    def both(x: Array) -> tuple[Array, Array]:
        """Give predictions (n,) and their slopes by the logarithms (n, p), from one call of the model."""
        steps = np.where(x + STEP <= high, STEP, -STEP)
        sets = np.exp(np.vstack([x, x + np.diag(steps)]))
        found = np.nan_to_num(predict(sets), nan=0.0)
        return found[0], ((found[1:] - found[0]) / steps[:, None]).T

    memory: dict[bytes, tuple[Array, Array]] = {}

    def at(x: Array) -> tuple[Array, Array]:
        key = x.tobytes()
        if key not in memory:
            memory.clear()
            memory[key] = both(x)
        return memory[key]

    begin = np.clip(np.log(start), low + 1e-6, high - 1e-6)
    if not np.all(np.isfinite(predict(np.exp(begin)[None, :]))):
        raise Refusal(Fault(where="the setting", got="without a steady balloon at a place of the readings",
                            wants="one that the model can solve where the readings were taken"))  # fmt: skip
    done = least_squares(
        lambda x: at(x)[0] - measured, begin, jac=lambda x: at(x)[1], bounds=(low, high), x_scale=1.0, xtol=1e-10,
        ftol=1e-12, gtol=1e-12, max_nfev=60,
    )  # fmt: skip
    left, slopes = at(done.x)[0] - measured, at(done.x)[1]
    freedom = count - parameters
    scatter = float(np.sqrt(left @ left / freedom))
    curve = slopes.T @ slopes
    covariance: Array = np.asarray(np.linalg.pinv(curve, rcond=1e-14, hermitian=True) * scatter**2, dtype=np.float64)
    edge = (done.x < low + 1e-4) | (done.x > high - 1e-4)
    return Fit(
        names=tuple(names), values=np.exp(done.x), log_covariance=covariance, scatter=scatter, freedom=freedom,
        residuals=-left, at_edge=tuple(name for name, there in zip(names, edge, strict=True) if there),
    )  # fmt: skip
