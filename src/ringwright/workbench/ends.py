"""The forbidden ends of a slider: where, all else as it is tried, a limit is passed or the balloon cannot stand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

import numpy as np

from ringwright.judgement.passed import passed
from ringwright.mill import Mill
from ringwright.setting.choice import choose
from ringwright.setting.doff import solve_choices
from ringwright.setting.places import Sampling
from ringwright.units import from_unit
from ringwright.workbench.field import field_at
from ringwright.workbench.tried import Tried, read_tried, with_value

__all__ = ["End", "ends_of"]

SAMPLING = Sampling(strokes=20, places=4)
"""The strokes at which the rooms are looked for, with foot, top and two places between."""
COARSE, FINE = 11, 9
"""Values tried over the whole slider, and between two of them where what is passed begins."""


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """A part of a slider where something is passed, in SI, and what is passed nearest its inner edge.

    ``below`` says that the part is the slider's lower end, ``above`` its upper end; both, that it is all of it.
    """

    low: float
    high: float
    below: bool
    above: bool
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Sample:
    value: float
    names: tuple[str, ...]


def ends_of(mill: Mill, frame: str, yarn: str, words: Mapping[str, str], key: str) -> tuple[End, ...]:
    """Find where on the slider of a field something is passed, with the other fields as they are tried."""
    tried, field = read_tried(mill, frame, yarn, words), field_at(key)
    if tried.choice is None:
        return ()
    low, high, _ = field.span(choose(mill, frame, yarn))
    ends = [from_unit(end, field.quantity, field.unit) for end in (low, high)]
    samples = _samples(mill, tried, key, np.linspace(ends[0], ends[1], COARSE).tolist())
    between = [
        value
        for one, other in pairwise(samples)
        if bool(one.names) != bool(other.names)
        for value in np.linspace(one.value, other.value, FINE + 2)[1:-1].tolist()
    ]
    if between:
        samples = sorted([*samples, *_samples(mill, tried, key, between)], key=lambda one: one.value)
    return _runs(samples)


def _samples(mill: Mill, tried: Tried, key: str, values: Sequence[float]) -> list[_Sample]:
    """Try values; one that is refused, as a rule of the frame forbids it, counts as passed."""
    trials = [with_value(mill, tried, key, value) for value in values]
    choices = [one.choice for one in trials if one.choice is not None]
    told = iter([passed(doff, mill.limits) for doff in solve_choices(choices, SAMPLING)] if choices else [])
    return [
        _Sample(value, next(told) if one.choice is not None else ("a rule of the frame",))
        for value, one in zip(values, trials, strict=True)
    ]


def _runs(samples: Sequence[_Sample]) -> tuple[End, ...]:
    found, start = [], 0
    for bad, run in groupby(samples, key=lambda one: bool(one.names)):
        inside = list(run)
        end = start + len(inside)
        if bad:
            first, last = start == 0, end == len(samples)
            low = samples[0].value if first else (samples[start - 1].value + samples[start].value) / 2
            high = samples[-1].value if last else (samples[end - 1].value + samples[end].value) / 2
            names = inside[-1].names if first and not last else inside[0].names
            found.append(End(low=low, high=high, below=first, above=last, names=names))
        start = end
    return tuple(found)
