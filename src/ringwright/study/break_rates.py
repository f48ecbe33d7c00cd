"""How many breaks per 1000 spindle-hours? By frame, yarn and shift name; intervals know the scatter of shifts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import stats

from ringwright.findings.finding import Answer, Estimate, Sureness
from ringwright.study.cells import Cells
from ringwright.study.rates import rate_interval

__all__ = ["RateRow", "break_rates", "mill_rate", "rate_rows", "rate_with_scatter"]

Array = npt.NDArray[np.float64]

_SCATTERS: Final = 1.5
"""Dispersion from shift to shift above which the interval of chance alone is not shown, as it is too narrow."""

_CANNOT: Final = (
    "It cannot say what the rate will be under other air, mixing or people than those of these shifts. Ends that were "
    "down and waiting are counted as running, which makes the rate a little low."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RateRow:
    """One rate: whose it is, breaks, 1000 spindle-hours, its estimate, dispersion from shift to shift."""

    frame: str
    of: str
    breaks: int
    exposure: float
    estimate: Estimate
    dispersion: float


def rate_with_scatter(counts: npt.ArrayLike, exposures: npt.ArrayLike) -> tuple[Estimate, float]:
    """Return the rate of shifts with its interval, and Pearson's dispersion from shift to shift.

    Up to a dispersion of 1.5, or with one shift, the interval is the exact one of chance; beyond it, that of the
    logarithm with the dispersion in it and Student's law.
    """
    y, e = np.asarray(counts, np.float64), np.asarray(exposures, np.float64)
    y, e = y[e > 0], e[e > 0]
    total, exposure = int(y.sum()), float(e.sum())
    rate = total / exposure
    low, high = rate_interval(total, exposure)
    freedom = len(y) - 1
    dispersion = float(((y - rate * e) ** 2 / (rate * e)).sum() / freedom) if freedom > 0 and total else float("nan")
    meaning = "exact interval of chance alone"
    if dispersion > _SCATTERS:
        half = float(stats.t.isf(0.025, freedom) * np.sqrt(dispersion / total))
        low, high = rate * float(np.exp(-half)), rate * float(np.exp(half))
        meaning = f"interval with the shifts' scatter in it, {dispersion:.1f} times that of chance"
    unit = "breaks per 1000 spindle-hours"
    return Estimate(value=rate, low=low, high=high, unit=unit, meaning=meaning), dispersion


def mill_rate(frames: Sequence[Cells]) -> Estimate | None:
    """Return the rate of all frames together, the shift of the whole mill being the unit; None without running time."""
    shift, breaks, exposure = (
        np.concatenate([np.asarray(getattr(cells, k)) for cells in frames]) for k in ("shift", "breaks", "exposure")
    )
    if not exposure.sum() > 0:
        return None
    shifts, place = np.unique(shift, return_inverse=True)
    counts = np.bincount(place, breaks, len(shifts))
    return rate_with_scatter(counts, np.bincount(place, exposure, len(shifts)))[0]


def rate_rows(cells: Cells) -> list[RateRow]:
    """Give the rates of a frame: as a whole, by yarn where it has several, by shift name where they have one."""
    whole = np.ones(len(cells.shift), bool)
    parts: list[tuple[str, npt.NDArray[np.bool_]]] = [("whole frame", whole)]
    if len(set(cells.yarn.tolist())) > 1:
        parts += [(f"yarn {name or 'not stated'}", cells.yarn == k) for k, name in enumerate(cells.yarns)]
    labels = np.array([cells.shift_labels.get(int(k), "") for k in cells.shift])
    known = sorted({label for label in labels.tolist() if label})
    if len(known) > 1:
        parts += [(f"shift {label}", labels == label) for label in known]
    return [row for name, part in parts if (row := _row(cells, name, part)) is not None]


def _row(cells: Cells, name: str, part: npt.NDArray[np.bool_]) -> RateRow | None:
    exposure = cells.exposure[part]
    if not exposure.sum() > 0:
        return None
    shifts, place = np.unique(cells.shift[part], return_inverse=True)
    breaks = np.bincount(place, cells.breaks[part], len(shifts))
    estimate, dispersion = rate_with_scatter(breaks, np.bincount(place, exposure, len(shifts)))
    return RateRow(
        frame=cells.frame, of=name, breaks=int(breaks.sum()), exposure=float(exposure.sum()), estimate=estimate,
        dispersion=dispersion,
    )  # fmt: skip


def break_rates(frames: Sequence[Cells]) -> list[Answer]:
    """Answer for each frame how many ends break per 1000 spindle-hours, by yarn and shift name too."""
    answers = []
    for cells in frames:
        rows = rate_rows(cells)
        if not rows or not rows[0].breaks:
            answers.append(_none(cells))
            continue
        first = rows[0].estimate
        others = "; ".join(f"{row.of} {_short(row.estimate)}" for row in rows[1:])
        tail = f" By part: {others}." if others else ""
        answers.append(
            Answer(
                question="rates",
                frame=cells.frame,
                sureness=Sureness.SURE,
                estimate=first,
                cannot_say=_CANNOT,
                sentence=f"{cells.frame}: {_short(first)} breaks per 1000 spindle-hours ({first.meaning}).{tail}",
                data_used=f"{rows[0].breaks} breaks in {1000 * rows[0].exposure:,.0f} spindle-hours",
            )
        )
    return answers


def _none(cells: Cells) -> Answer:
    hours = float(1000 * cells.exposure.sum())
    limit = f" The rate is under {rate_interval(0, hours / 1000)[1]:.1f} per 1000 spindle-hours." if hours else ""
    return Answer(
        question="rates", frame=cells.frame, sureness=Sureness.TOO_EARLY, cannot_say=_CANNOT,
        sentence=f"{cells.frame}: no break is recorded in its running time.{limit}",
        data_used=f"0 breaks in {hours:,.0f} spindle-hours",
    )  # fmt: skip


def _short(estimate: Estimate) -> str:
    return f"{estimate.value:.1f} ({estimate.low:.1f} to {estimate.high:.1f})"
