"""The verbs that the doors may ask for: plain input in, plain or frozen results out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from ringwright.physics import limit_masses, solve
from ringwright.refusal import Refusal
from ringwright.report import position_rows
from ringwright.setting import position_keys

__all__ = ["solve_positions"]


Answer = dict[str, Any] | Refusal


def solve_positions(given: Sequence[tuple[str, object]], *, with_limits: bool = False) -> list[Answer]:
    """Solve positions given as (where it stands, its keys); a bad one, or a Refusal, gives a Refusal in its place.

    Results have the keys of ``position_rows.rows``; ``assumed`` names the defaults that stood in for keys left out.
    """
    results: list[Answer] = []
    good: list[dict[str, float]] = []
    places: list[int] = []
    for i, (where, keys) in enumerate(given):
        if isinstance(keys, Refusal):
            results.append(keys)
            continue
        try:
            good.append(position_keys.checked(keys, where))
        except Refusal as refusal:
            results.append(refusal)
            continue
        places.append(i)
        results.append({})
    if not good:
        return results
    inputs = position_keys.positions(good)
    limits = limit_masses(inputs) if with_limits else None
    for place, row in zip(places, position_rows.rows(inputs, solve(inputs), limits), strict=True):
        assumed = _assumed(given[place][1])
        if assumed:
            row["assumed"] = assumed
        results[place] = row
    return results


def _assumed(keys: object) -> dict[str, float]:
    """Name the defaults used whose origin is an assumption."""
    stated: Iterable[Any] = keys if isinstance(keys, dict) else ()
    known = set(stated)
    return {
        key.name: key.default
        for key in position_keys.KEYS
        if key.origin == "assumed" and key.default is not None and key.name not in known
    }
