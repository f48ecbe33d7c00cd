"""Offset vectors of a frame: repeated readings averaged, readings that contradict set aside."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from ringwright.centring.readings import PARTS, Reading, ReadingsTaken
from ringwright.events.round_table import AsideLine
from ringwright.physics.real import Array
from ringwright.units import chosen, in_unit, show, show_number

__all__ = ["Offsets", "Round", "offsets_of"]

APART = 3.0 * np.sqrt(2.0)
"""Two readings of one place differ by sqrt 2 of the gauge's standard deviation; three of those is a contradiction."""

FEWEST_PAIRS = 10
_DOUBT = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Offsets:
    """Where one part stands off the spindle's axis at each spindle of a frame (spindles,), nan where it was not read.

    ``along`` towards the higher number and ``out`` to the front [m]; ``weight`` the readings behind each.
    """

    part: str
    along: Array
    out: Array
    weight: Array

    @property
    def vectors(self) -> Array:
        """Both parts of the vectors, (spindles, 2)."""
        return np.stack((self.along, self.out), axis=-1)

    @property
    def amount(self) -> Array:
        """Length of each vector [m]."""
        return np.hypot(self.along, self.out)

    @property
    def read(self) -> int:
        """Number of spindles at which the part was read."""
        return int(np.isfinite(self.along).sum())


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One round as it is judged: offsets by part, lines set aside, notes, and the gauge's standard deviation [m].

    ``repeatability`` is the mill's own, or what the round's repeated readings show where they show more;
    ``repeats`` is the number of differences behind the latter, with the deviation they show (nan for none).
    """

    name: str
    offsets: Mapping[str, Offsets]
    set_aside: tuple[AsideLine, ...]
    notes: tuple[str, ...]
    repeatability: float
    repeats: int
    repeats_show: float

    @property
    def readings(self) -> int:
        """Number of vectors."""
        return sum(one.read for one in self.offsets.values())


def offsets_of(taken: ReadingsTaken, spindles: int, repeatability: float) -> Round:
    """Average the readings of each part of each spindle; ``repeatability`` is the gauge's on one axis [m].

    Readings of one place that stand farther apart on an axis than three standard deviations of a difference
    contradict. Of two that do, neither is used. Of three or more, those that far from the median are set aside, if at
    least two others and more than half agree; else none is used. Lines written twice count once.
    """
    places: dict[tuple[str, int], list[Reading]] = defaultdict(list)
    twice = []
    for one in taken.readings:
        there = places[one.part, one.spindle]
        if any(one.text.strip() == other.text.strip() for other in there):
            twice.append(one.line)
        else:
            there.append(one)
    set_aside, kept = list(taken.set_aside), {}
    for key, there in places.items():
        good, bad = _agreed(there, APART * repeatability)
        set_aside += [_told(one, there, taken.name, APART * repeatability) for one in bad]
        if good:
            kept[key] = good
    pairs, shows = _repeats([good for good in kept.values() if len(good) > 1])
    notes = list(taken.notes)
    if twice:
        many = "a line stands" if len(twice) == 1 else f"{len(twice)} lines stand"
        notes.append(f"{taken.name}: {many} there twice word for word, counted once (line {twice[0]} first).")
    # One-sided chi-square: only repeats that show more than the stated deviation, beyond chance, replace it.
    more = pairs >= FEWEST_PAIRS and stats.chi2.sf(pairs * (shows / repeatability) ** 2, pairs) < _DOUBT
    return Round(
        name=taken.name, offsets={part: _array(part, kept, spindles) for part in PARTS}, notes=tuple(notes),
        set_aside=tuple(sorted(set_aside, key=lambda one: one.line)), repeats=pairs, repeats_show=shows,
        repeatability=shows if more else repeatability,
    )  # fmt: skip


def _agreed(there: Sequence[Reading], apart: float) -> tuple[list[Reading], list[Reading]]:
    """Part the readings of one place into those that agree and those that contradict."""
    if len(there) == 1:
        return list(there), []
    values = np.array([(one.along, one.out) for one in there])
    far = np.abs(values - np.median(values, axis=0)).max(axis=1) > (apart / 2 if len(there) == 2 else apart)
    good = [one for one, is_far in zip(there, far, strict=True) if not is_far]
    if len(good) < 2 or 2 * len(good) <= len(there):
        return [], list(there)
    return good, [one for one, is_far in zip(there, far, strict=True) if is_far]


def _told(one: Reading, there: Sequence[Reading], name: str, apart: float) -> AsideLine:
    others = [other for other in there if other.line != one.line][:4]
    lines = ", ".join(f"{_pair(other)} in line {other.line}" for other in others)
    reason = (
        f"{name}, line {one.line}, the {one.part} of spindle {one.spindle} is read as {_pair(one)}, which contradicts "
        f"{lines}; readings of one place must agree within {show(apart, 'length', 'mm', 2)} on each axis. "
        f"Read this spindle again."
    )
    return AsideLine(line=one.line, text=one.text, reason=reason)


def _pair(one: Reading) -> str:
    unit, decimals = chosen("mm"), 2 if chosen("mm") == "mm" else 4
    along, out = (show_number(in_unit(way, "length", unit), decimals) for way in (one.along, one.out))
    return f"{along} and {out} {unit}"


def _repeats(places: Sequence[Sequence[Reading]]) -> tuple[int, float]:
    """Give the degrees of freedom of the repeated readings and the standard deviation of one reading [m]."""
    freedom, total = 0, 0.0
    for there in places:
        values = np.array([(one.along, one.out) for one in there])
        weight = np.array([one.weight for one in there])[:, None]
        mean = (weight * values).sum(axis=0) / weight.sum()
        total += float((weight * (values - mean) ** 2).sum())
        freedom += 2 * (len(there) - 1)
    return freedom, float(np.sqrt(total / freedom)) if freedom else float("nan")


def _array(part: str, kept: Mapping[tuple[str, int], Sequence[Reading]], spindles: int) -> Offsets:
    along, out, weight = np.full(spindles, np.nan), np.full(spindles, np.nan), np.zeros(spindles)
    for (of, spindle), there in kept.items():
        if of == part:
            many = np.array([one.weight for one in there])
            along[spindle - 1] = np.average([one.along for one in there], weights=many)
            out[spindle - 1] = np.average([one.out for one in there], weights=many)
            weight[spindle - 1] = many.sum()
    return Offsets(part=part, along=along, out=out, weight=weight)
