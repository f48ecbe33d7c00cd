"""Statistics of counts against R: each value with the function that made it stands in authorities/counts-in-r."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

from ringwright.study.change import one_change
from ringwright.study.rates import gamma_posterior, mid_p, power_of_two_rates, rate_interval, ratio_interval
from ringwright.study.regression import compare, fit_counts, smooth
from ringwright.study.standing_out import Ordinary, fit_ordinary, upper_tail

FILE = Path(__file__).parents[2] / "authorities" / "counts-in-r" / "values.toml"
TABLES: dict[str, list[dict[str, Any]]] = tomllib.loads(FILE.read_text(encoding="utf-8"))
GIVEN = [pytest.param(table, entry, id=f"{table} {entry['name']}") for table in TABLES for entry in TABLES[table]]

# Breaks of warp on 54 looms by wool and tension (Tippett 1950): wool A at low, middle, high tension, then wool B.
WARPBREAKS = [
    26, 30, 54, 25, 70, 52, 51, 26, 67, 18, 21, 29, 17, 12, 18, 35, 30, 36, 36, 21, 24, 18, 10, 43, 28, 15, 26,
    27, 14, 29, 19, 29, 31, 41, 20, 44, 42, 26, 19, 16, 39, 28, 21, 39, 29, 20, 21, 24, 17, 13, 15, 15, 16, 28,
]  # fmt: skip
# Flaws on rolls of cloth of the given lengths (Bissell 1972).
CLOTH_LENGTH = [
    1.22, 1.7, 2.71, 3.71, 3.72, 3.75, 4.17, 4.41, 4.58, 4.91, 4.92, 4.95, 5.22, 5.42, 5.43, 5.51, 6.3, 6.42, 6.45,
    6.51, 6.57, 7.15, 7.16, 7.35, 7.38, 7.49, 8.32, 8.42, 8.68, 8.95, 9.05, 9.52,
]  # fmt: skip
CLOTH_FLAWS = [1, 4, 5, 14, 7, 9, 2, 8, 4, 7, 4, 7, 6, 9, 8, 6, 7, 10, 6, 4, 9, 14, 3, 17, 9, 10, 17, 9, 8, 28, 23, 9]


def warp_design(*, with_interaction: bool) -> np.ndarray:
    """Constant, wool B, middle and high tension, and the products of wool and tension."""
    loom = np.arange(54)
    wool, middle, high = loom >= 27, loom // 9 % 3 == 1, loom // 9 % 3 == 2
    columns = [np.ones(54), wool, middle, high]
    return np.column_stack([*columns, wool & middle, wool & high] if with_interaction else columns).astype(float)


def warpbreaks(given: dict[str, Any]) -> Any:
    larger = given["model"] == "wool * tension"
    fit = fit_counts(WARPBREAKS, warp_design(with_interaction=larger))
    match given["what"]:
        case "coefficients":
            return fit.coefficients
        case "errors":
            return np.sqrt(np.diag(fit.covariance))
        case "widened errors":
            value_low_high = [fit.combination(row) for row in np.eye(len(fit.coefficients))]
            point = stats.t.isf(0.025, fit.freedom)
            return [(high - value) / point for value, _, high, _ in value_low_high]
        case "null deviance":
            return fit_counts(WARPBREAKS, np.ones((54, 1))).deviance
        case "F":
            return compare(fit_counts(WARPBREAKS, warp_design(with_interaction=False)), fit)
        case what:
            return getattr(fit, what.replace(" ", "_"))


def cloth(given: dict[str, Any]) -> Any:
    match given["what"]:
        case "poisson":
            fit = fit_counts(CLOTH_FLAWS, np.ones((32, 1)), CLOTH_LENGTH)
            return [fit.coefficients[0], fit.covariance[0, 0] ** 0.5, fit.deviance, fit.pearson, fit.dispersion]
        case "negative binomial":
            law = fit_ordinary(CLOTH_FLAWS, CLOTH_LENGTH)
            return [np.log(law.mean), law.shape, law.log_likelihood]
        case "shrunken":
            pairs = zip(CLOTH_FLAWS[:6], CLOTH_LENGTH[:6], strict=True)
            return [gamma_posterior(flaws, length, given["shape"], given["rate"])[0] for flaws, length in pairs]
        case "adjusted":
            law = Ordinary(mean=sum(CLOTH_FLAWS) / sum(CLOTH_LENGTH), shape=1e6, log_likelihood=0.0)
            return stats.false_discovery_control(upper_tail(CLOTH_FLAWS, CLOTH_LENGTH, law))
    raise KeyError(given["what"])


def cop(given: dict[str, Any]) -> Any:
    x = np.array(given["places"])
    if given["what"] == "spline":
        rows = smooth(x, tuple(given["knots"]), tuple(given["ends"]))
        return fit_counts(given["counts"], rows, given["exposures"]).deviance
    fit = fit_counts(given["counts"], np.column_stack([np.ones_like(x), x, x**2]), given["exposures"])
    flat = fit_counts(given["counts"], np.ones((len(x), 1)), given["exposures"]).deviance
    c = fit.coefficients
    return [*c, *np.sqrt(np.diag(fit.covariance)), fit.deviance, flat, flat - fit.deviance, -c[1] / 2 / c[2]]


def change(given: dict[str, Any]) -> Any:
    found = one_change(given["counts"], np.ones(len(given["counts"])))
    return [found.after, found.gain, found.before_rate, found.after_rate]


def as_computed(table: str, given: dict[str, Any]) -> Any:
    functions = {"warpbreaks": warpbreaks, "cloth": cloth, "cop": cop, "change": change}
    if table in functions:
        return functions[table](given)
    pairs = {name: tuple(value) if isinstance(value, list) else value for name, value in given.items()}
    plain: dict[str, Any] = {
        "rate_interval": rate_interval, "ratio_interval": ratio_interval, "mid_p": mid_p,
        "power": power_of_two_rates, "gamma_posterior": gamma_posterior,
    }  # fmt: skip
    return plain[table](**pairs)


@pytest.mark.parametrize(("table", "entry"), GIVEN)
def test_our_value_is_that_of_r(table, entry):
    computed = np.asarray(as_computed(table, entry["given"]), float)
    assert computed == pytest.approx(np.asarray(entry["expected"], float), rel=entry["tolerance"], abs=1e-12)


def test_there_are_at_least_sixty_values_from_outside():
    assert len(GIVEN) >= 60
