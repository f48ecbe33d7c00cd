"""Cells of an invented frame: 1000 spindles, shifts of 8 h, each cut into half hours since the doff."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ringwright.study.cells import Cells

RATE = 30.0  # breaks per 1000 spindle-hours
LIFE_H = 120.0  # of a set of travellers


def frame_cells(
    rng: np.random.Generator,
    *,
    name: str = "F1",
    shifts: int = 60,
    spread: float = 0.1,
    by_shift: Callable[[np.ndarray], np.ndarray] = np.ones_like,
    by_age: Callable[[np.ndarray], np.ndarray] = np.ones_like,
    by_doff: Callable[[np.ndarray], np.ndarray] = np.ones_like,
    common: np.ndarray | None = None,
) -> Cells:
    """Draw counts whose rate follows the factors given of shift number, travellers' age and hours since the doff."""
    shift = np.repeat(np.arange(shifts), 16)
    since_doff = np.tile((np.arange(16) % 8 + 0.5) * 0.5, shifts)
    age = (shift * 8 + np.tile(np.arange(16) / 2, shifts)) % LIFE_H
    own = rng.gamma(spread**-2, spread**2, shifts) if spread else np.ones(shifts)
    factor = own if common is None else own * common
    mean = RATE * 0.5 * factor[shift] * by_shift(shift.astype(float)) * by_age(age) * by_doff(since_doff)
    return Cells(
        frame=name,
        spindles=1000,
        shift=shift,
        yarn=np.zeros(len(shift), np.int64),
        since_doff=since_doff,
        since_change=np.asarray(age, np.float64),
        hours=np.full(len(shift), 0.5),
        breaks=rng.poisson(mean),
        yarns=("AV30K",),
        shift_names={k: f"shift {k}" for k in range(shifts)},
        shift_labels={k: ("early", "late", "night")[k % 3] for k in range(shifts)},
        changes=int(shifts * 8 // LIFE_H),
    )
